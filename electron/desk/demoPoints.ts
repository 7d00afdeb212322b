import type { Clip } from '../../shared/contract/clip.ts'
import { guideId, heardId, landmarkId, matId, positionId, type Digitised, type GuideName } from '../../shared/contract/digitising.ts'
import type { PointName } from '../../shared/contract/pointsFile.ts'
import { imagePoint, type ImagePoint } from '../../shared/geometry/vec.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { levelLines } from '../../shared/swing/assemble.ts'
import { project } from './demo/camera.ts'
import { ballRadius } from './demo/motion.ts'
import type { ClipTruth } from './demo/truth.ts'
import type { Vec } from './demo/vec.ts'

/**
 * A careful hand's error on a picture 1920 long, pixels. The demo knows its points to a hundredth; they are put off by as much as they say
 * that they are, so that errors, residuals and what is made of them look as they do where somebody has placed the points.
 */
export const demoSigmaPx = 0.5
/** Of the strike as heard, seconds: the demo's two sounds are made from one instant. */
const heardSigmaS = 0.0005

/** Frames that get points: seconds before the takeaway and after the shaft is level through, and how far apart, but all of them near a position. */
const before = 0.25
const after = 0.05
const apart = 1 / 60
const apartToFinish = 0.1
const nearPosition = 0.05

/** What the program that made a clip of the demo can place on it: points, positions, the strike as heard, the stick, a plumb line, the ball, the mat. */
export function demoPoints(truth: ClipTruth, clip: Pick<Clip, 'id' | 'frames' | 'width' | 'height'>): Digitised[] {
  const clipId = clip.id
  const sigmaPx = (demoSigmaPx * Math.max(clip.width, clip.height)) / 1920
  const random = seededRandom([...truth.clip].reduce((sum, letter) => (sum * 31 + letter.codePointAt(0)!) | 0, 11))
  const off = ([x, y]: readonly [number, number]): ImagePoint => imagePoint(round(x + sigmaPx * random.normal()), round(y + sigmaPx * random.normal()))
  const isSeen = ([x, y]: readonly [number, number]): boolean => x >= 0 && y >= 0 && x <= clip.width && y <= clip.height
  const placed = (p: Vec): ImagePoint | null => {
    const at = project(truth.matrix, p)
    const put = at && off(at)
    return put && isSeen(put) ? put : null
  }
  const tickOf = (frame: number): number => clip.frames.ticks[frame]!

  const landmarks = chosenFrames(truth).flatMap((i): Digitised[] =>
    Object.entries(truth.frames[i]!.pixel).flatMap(([point, at]): Digitised[] => {
      const put = off(at)
      const tick = tickOf(i)
      const name = point as PointName
      return isSeen(put) ? [{ kind: 'landmark', id: landmarkId(clipId, tick, name), clipId, tick, point: name, at: put, sigmaPx, placed: 1, by: 'program' }] : []
    }),
  )
  const positions = Object.entries(truth.events).map(([key, event]): Digitised => {
    const name = key as keyof ClipTruth['events']
    // What a level line defines is left to the points of the two frames that it falls between; anything else is on the nearest frame.
    const first = truth.frames.findLastIndex(({ t }) => t <= event.t)
    const isBetween = levelLines[name] !== undefined && first >= 0 && first + 1 < truth.frames.length
    return { kind: 'position', id: positionId(clipId, name), clipId, name, tick: tickOf(isBetween ? first : event.frame), falls: isBetween ? 'between' : 'on', sigmaS: null, by: 'program' }
  })
  const guide = (name: GuideName, from: Vec, to: Vec): Digitised[] => {
    const [a, b] = [placed(from), placed(to)]
    return a && b ? [{ kind: 'guide', id: guideId(clipId, name), clipId, name, ends: [a, b], metres: null, by: 'program' }] : []
  }
  const { impact } = truth.events
  const heard: Digitised[] = impact
    ? [{ kind: 'heard', id: heardId(clipId), clipId, at: tickOf(0) + Math.round((impact.tick / truth.timescale) * clip.frames.timescale), sigmaS: heardSigmaS, by: 'program' }]
    : []
  const { ball, hands } = truth.frames[0]!.world as Record<'ball' | 'hands', Vec>
  // The ball's edges square to the line of sight, both as high as its middle.
  const across: Vec = truth.view === 'face-on' ? [ballRadius, 0, 0] : [0, 0, ballRadius]
  const edge = (sign: 1 | -1): Vec => [ball[0] + sign * across[0], ball[1], ball[2] + sign * across[2]]
  const { fromX, toX, fromZ, toZ } = truth.mat
  const corners = ([[fromX, fromZ], [toX, fromZ], [toX, toZ], [fromX, toZ]] as const).map(([x, z]) => placed([x, 0, z]))
  const [a, b, c, d] = corners
  return [
    ...landmarks, ...positions, ...heard,
    ...guide('targetLine', ...truth.stick), ...guide('plumb', [hands[0], 0.2, hands[2]], [hands[0], 1.8, hands[2]]), ...guide('ball', edge(-1), edge(1)),
    ...(a && b && c && d ? [{ kind: 'mat', id: matId(clipId), clipId, corners: [a, b, c, d], lengthM: toX - fromX, widthM: toZ - fromZ, by: 'program' } satisfies Digitised] : []),
  ]
}

const round = (x: number): number => Math.round(x * 100) / 100

function chosenFrames({ frames, events }: ClipTruth): number[] {
  const through = events['shaft-level-through']?.t ?? events.impact?.t ?? Infinity
  const near = Object.values(events).map(({ t }) => t)
  const chosen: number[] = []
  let last = -Infinity
  for (const [i, { t }] of frames.entries()) {
    const step = t < through + after ? apart : apartToFinish
    if (t < -before || (t - last < step - 1e-6 && !near.some((one) => Math.abs(one - t) < nearPosition))) continue
    chosen.push(i)
    last = t
  }
  return chosen
}
