import type { PointName, PositionName } from '../contract/pointsFile.ts'
import type { Vec3 } from '../geometry/vec.ts'
import { usualDepth } from '../swing/bodyDepth.ts'
import type { SwingView } from '../swing/viewOf.ts'
import type { Seen } from './fitBody.ts'
import type { FitPoint } from './fitChain.ts'
import { forward } from './forward.ts'
import { createArms } from './model.ts'
import { standardArms } from './standard.ts'
import { trailSwivelDeg } from './swivel.ts'
import { isArmsRefusal } from './types.ts'

/**
 * How far a point of one view stands from where the standard body has it at the top, toward the ball and toward the target, metres:
 * what all points share, since bodies stand nearer or farther as a whole, and each point's own. Root mean squares over random bodies
 * (MODEL.md), rounded up; elsewhere in the swing as landmarks usually do, common practice, no source.
 */
const standsSigma = [0.08, 0.07] as const
const ownSigma: Readonly<Record<FitPoint, readonly [toBall: number, toTarget: number]>> = {
  leadShoulder: [0.07, 0.06], trailShoulder: [0.06, 0.04], leadHip: [0.11, 0.06], trailHip: [0.1, 0.05], trunkBase: [0.1, 0.05],
  leadElbow: [0.05, 0.04], trailElbow: [0.11, 0.05], leadWrist: [0.06, 0.04], trailWrist: [0.06, 0.04], hands: [0.06, 0.04], butt: [0.07, 0.04],
  shaftEnd: [0.28, 0.13], leadFist: [0.06, 0.04], trailFist: [0.06, 0.04],
}
/** How far toward the ball (face-on) or the target (down the line) a point stands, metres; its own error, and that of the whole body. */
export interface Deep {
  readonly at: number
  readonly sigma: number
  readonly shared: number
}

/**
 * Where the trail elbow usually is on its arc at the top, degrees, and how far that varies: somewhere between hanging straight down and
 * level behind (common practice, no source). Without it one view takes an elbow bent the other way round for as likely.
 */
const usualSwivel = { deg: 35, sigma: 30 } as const
/** How far a trail elbow is from where it usually is, in its own standard deviation; 0 where its place on the arc cannot be told. */
export function offUsualSwivel({ trailShoulder, trailElbow, trailWrist }: Pick<Seen, 'trailShoulder' | 'trailElbow' | 'trailWrist'>): number {
  const swivel = trailSwivelDeg(trailShoulder, trailElbow, trailWrist)
  if (typeof swivel !== 'number') return 0
  const off = swivel - usualSwivel.deg
  return (off - 360 * Math.round(off / 360)) / usualSwivel.sigma
}

const remembered = new Map<number, Readonly<Record<FitPoint, Vec3>> | null>()

export function standardTop(statureM: number): Readonly<Record<FitPoint, Vec3>> | null {
  const known = remembered.get(statureM)
  if (known !== undefined) return known
  const model = createArms(standardArms(statureM))
  const pose = isArmsRefusal(model) ? model : forward(model, model.swivelDeg)
  let points: Readonly<Record<FitPoint, Vec3>> | null = null
  if (!isArmsRefusal(pose)) {
    const { chest, hands, lead, trail, club } = pose
    // The standard body's hips are not modelled beyond the trail one: the other is its mirror about the trunk's own middle.
    const base: Vec3 = [(chest.leadShoulder[0] + chest.trailShoulder[0]) / 2, chest.trailHip[1], chest.trailHip[2] + 0.05 * statureM]
    points = {
      leadShoulder: chest.leadShoulder, trailShoulder: chest.trailShoulder, trailHip: chest.trailHip, trunkBase: base,
      leadHip: [2 * base[0] - chest.trailHip[0], chest.trailHip[1], 2 * base[2] - chest.trailHip[2]],
      leadElbow: lead.elbow, trailElbow: trail.elbow, leadWrist: lead.wrist, trailWrist: trail.wrist, hands, butt: club.butt, shaftEnd: club.end, leadFist: lead.grip, trailFist: trail.grip,
    }
  }
  remembered.set(statureM, points)
  return points
}

export function usualPlace(at: PositionName, statureM: number): (point: FitPoint, view: SwingView, name: PointName) => Deep {
  const top = at === 'top' ? standardTop(statureM) : null
  return (point, view, name) => {
    const toBall = view.name === 'face-on'
    if (top) return { at: top[point][toBall ? 2 : 0], sigma: ownSigma[point][toBall ? 0 : 1], shared: standsSigma[toBall ? 0 : 1] }
    const { at: deep, sigma } = usualDepth(view.name, name)
    return { at: deep, sigma, shared: 0 }
  }
}
