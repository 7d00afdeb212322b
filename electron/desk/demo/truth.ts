import { matrixOf, phoneCamera, placeAgainst, project, type Matrix34 } from './camera.ts'
import { eventsOf, inclinationDeg, peakHeadSpeed, positionOrder, shaftAngles, type PositionName } from './events.ts'
import { swingOf, type Pose, type Swing } from './motion.ts'
import { shutter, type Shot } from './plan.ts'
import { mat, stickEnds } from './scene/backdrop.ts'
import { swivelOf } from './twoBone.ts'
import { degrees, mix, type Vec } from './vec.ts'

/** Ticks a second of the kit's clips: 30, 60 and 120 go into it. */
export const timescale = 90_000

/** What was filmed, beside the clip; lengths in metres, pixels as in the points file. */
export interface ClipTruth {
  readonly format: 'crossbearing-demo-truth'
  readonly version: 1
  readonly clip: string
  readonly view: 'face-on' | 'down-the-line'
  readonly handedness: 'right' | 'left'
  readonly statureM: number
  readonly club: { readonly kind: string; readonly lengthM: number }
  readonly widthPx: number
  readonly heightPx: number
  readonly matrix: Matrix34
  readonly camera: {
    readonly yawDeg: number
    readonly offsetFromHandLineM: number
    readonly offsetFromTargetLineM: number
    readonly heightM: number
    readonly distanceM: number
    readonly bearingToTopHandsDeg: number
  }
  readonly captureRate: number
  readonly playRate: number
  readonly timescale: number
  readonly shutterS: number
  /** The swing's time at the first frame, seconds from the takeaway. */
  readonly startS: number
  readonly mat: typeof mat
  readonly stick: readonly [Vec, Vec]
  /** Positions that lie within the clip: seconds from the takeaway, tick of the clip, nearest frame. */
  readonly events: Partial<Record<PositionName, ClipEvent>>
  readonly swing: SwingTruth
  readonly frames: readonly { readonly tick: number; readonly t: number; readonly world: Points3; readonly pixel: Points2 }[]
}
export interface ClipEvent {
  readonly t: number
  readonly tick: number
  readonly frame: number
}
type Points3 = Readonly<Record<string, Vec>>
type Points2 = Readonly<Record<string, readonly [number, number]>>

/** What holds of the swing whoever films it. */
export interface SwingTruth {
  readonly backswingS: number
  readonly downswingS: number
  readonly tempoRatio: number
  readonly shaftAzimuthTopDeg: number
  readonly shaftElevationTopDeg: number
  readonly shortOfLevelDeg: number
  readonly trailElbowSwivelTopDeg: number
  readonly inclinationAddressDeg: number
  readonly inclinationImpactDeg: number
  readonly headSwayTopM: number
  readonly peakHeadSpeedMS: number
}

export function swingTruth(swing: Swing): SwingTruth {
  const { top, impact } = swing.times
  const at = swing.poseAt(top)
  const shaft = shaftAngles(swing, top)
  return {
    backswingS: top,
    downswingS: impact - top,
    tempoRatio: top / (impact - top),
    shaftAzimuthTopDeg: shaft.azimuthDeg,
    shaftElevationTopDeg: shaft.elevationDeg,
    shortOfLevelDeg: swing.spec.shortOfLevelDeg,
    trailElbowSwivelTopDeg: degrees(swivelOf(at.trail.shoulder, at.trail.elbow, at.trail.wrist)),
    inclinationAddressDeg: inclinationDeg(swing, 0),
    inclinationImpactDeg: inclinationDeg(swing, impact),
    headSwayTopM: swing.poseAt(0).trunk.head[0] - at.trunk.head[0],
    peakHeadSpeedMS: peakHeadSpeed(swing).mS,
  }
}

/** The named points of a pose, in the world. */
export function pointsOf(swing: Swing, pose: Pose): Record<string, Vec> {
  const { trunk, lead, trail, leadLeg, trailLeg, club } = pose
  return {
    head: trunk.head,
    crown: [0, 1, 2].map((i) => trunk.head[i]! + trunk.skull.up[i]! * swing.body.crownAboveEars) as unknown as Vec,
    leadShoulder: lead.shoulder,
    trailShoulder: trail.shoulder,
    leadElbow: lead.elbow,
    trailElbow: trail.elbow,
    leadWrist: lead.wrist,
    trailWrist: trail.wrist,
    leadHip: leadLeg.hip,
    trailHip: trailLeg.hip,
    leadKnee: leadLeg.knee,
    trailKnee: trailLeg.knee,
    leadAnkle: leadLeg.foot.ankle,
    trailAnkle: trailLeg.foot.ankle,
    spineTop: trunk.shoulders,
    spineBase: trunk.hips,
    hands: mix(lead.grip, trail.grip, 0.5),
    butt: club.butt,
    shaftEnd: club.shaftEnd,
    clubhead: club.clubhead,
    ball: pose.ball,
  }
}

const round = (x: number, places: number): number => Math.round(x * 10 ** places) / 10 ** places

export function clipTruth(shot: Shot, scale: number): ClipTruth {
  const swing = swingOf(shot.spec)
  const camera = phoneCamera(shot.setting, scale)
  const matrix = matrixOf(camera)
  const events = eventsOf(swing)
  const slow = shot.captureRate / shot.playRate
  const within: Partial<Record<PositionName, ClipEvent>> = {}
  for (const name of positionOrder) {
    const frame = Math.round((events[name] - shot.startS) * shot.captureRate)
    if (frame < 0 || frame >= shot.frames) continue
    within[name] = { t: round(events[name], 6), tick: Math.round((events[name] - shot.startS) * slow * timescale), frame }
  }
  const address = swing.poseAt(0)
  const byHands = placeAgainst(camera, address.club.hands)
  const byBall = placeAgainst(camera, address.ball)
  const frames = Array.from({ length: shot.frames }, (_, i) => {
    const t = shot.startS + i / shot.captureRate
    const world: Record<string, Vec> = {}
    const pixel: Record<string, readonly [number, number]> = {}
    for (const [name, p] of Object.entries(pointsOf(swing, swing.poseAt(t)))) {
      world[name] = p.map((x) => round(x, 5)) as unknown as Vec
      const seen = project(matrix, p)
      if (seen && seen[0] >= 0 && seen[1] >= 0 && seen[0] <= camera.widthPx && seen[1] <= camera.heightPx)
        pixel[name] = [round(seen[0], 2), round(seen[1], 2)]
    }
    return { tick: Math.round((i / shot.playRate) * timescale), t: round(t, 6), world, pixel }
  })
  return {
    format: 'crossbearing-demo-truth',
    version: 1,
    clip: shot.fileName,
    view: shot.setting.view,
    handedness: shot.spec.handedness,
    statureM: shot.spec.statureM,
    club: { kind: shot.spec.club.kind, lengthM: shot.spec.club.lengthM },
    widthPx: camera.widthPx,
    heightPx: camera.heightPx,
    matrix,
    camera: {
      yawDeg: byHands.yawDeg,
      offsetFromHandLineM: byHands.offsetM,
      offsetFromTargetLineM: byBall.offsetM,
      heightM: camera.place[1],
      distanceM: shot.setting.view === 'face-on' ? camera.place[2] : -camera.place[0],
      bearingToTopHandsDeg: placeAgainst(camera, swing.poseAt(swing.times.top).club.hands).bearingDeg,
    },
    captureRate: shot.captureRate,
    playRate: shot.playRate,
    timescale,
    shutterS: shutter,
    startS: shot.startS,
    mat,
    stick: stickEnds({ ballX: address.ball[0], ballZ: address.ball[2] }),
    events: within,
    swing: swingTruth(swing),
    frames,
  }
}

/** The points file of a pair of clips: every true point that is in the picture, to a hundredth of a pixel; `sigmaPx` is a careful hand's. */
export function pointsFile(truths: readonly ClipTruth[], sameSwing: boolean): object {
  const first = truths[0]!
  const positionsOf = (truth: ClipTruth) => Object.fromEntries(Object.entries(truth.events).map(([name, event]) => [name, { t: event.t }]))
  return {
    format: 'crossbearing-points',
    version: 1,
    handedness: first.handedness,
    statureM: first.statureM,
    club: first.club,
    sameSwing,
    ...(sameSwing
      ? {
          syncSigmaS: 0.0005,
          positions: positionsOf([...truths].sort((a, b) => Object.keys(b.events).length - Object.keys(a.events).length)[0]!),
        }
      : {}),
    views: truths.map((truth) => {
      const seen = (p: Vec): [number, number] | null => {
        const at = project(truth.matrix, p)
        return at && at[0] >= 0 && at[1] >= 0 && at[0] <= truth.widthPx && at[1] <= truth.heightPx
          ? [round(at[0], 2), round(at[1], 2)]
          : null
      }
      const ends = truth.stick.map(seen)
      return {
        view: truth.view,
        widthPx: truth.widthPx,
        heightPx: truth.heightPx,
        captureRate: truth.captureRate,
        sigmaPx: 0.5,
        readoutS: 0,
        camera: { matrix: truth.matrix },
        ...(ends[0] && ends[1] ? { guides: { targetLine: ends } } : {}),
        frames: truth.frames.map((frame) => ({ t: frame.t, points: frame.pixel })),
        ...(sameSwing ? {} : { positions: positionsOf(truth) }),
      }
    }),
  }
}
