import type { PointName, PositionName } from '../contract/pointsFile.ts'
import type { Vec3 } from '../geometry/vec.ts'
import { usualDepth } from '../swing/bodyDepth.ts'
import type { SwingView } from '../swing/viewOf.ts'
import type { FitPoint } from './fitChain.ts'
import { forward } from './forward.ts'
import { createArms } from './model.ts'
import { standardArms } from './standard.ts'
import { isArmsRefusal } from './types.ts'

/**
 * Where a point stands that only one view shows: at the top as on the standard body, whose pose is rounded from a recorded swing;
 * elsewhere as landmarks usually do. Common practice, no source, and wide.
 */
const atTopSigma: Readonly<Record<FitPoint, number>> = {
  leadShoulder: 0.08, trailShoulder: 0.08, leadHip: 0.08, trailHip: 0.08, trunkBase: 0.08, leadElbow: 0.12, trailElbow: 0.12,
  leadWrist: 0.14, trailWrist: 0.14, hands: 0.14, butt: 0.16, shaftEnd: 0.6, leadFist: 0.14, trailFist: 0.14,
}
/** How far toward the ball (face-on) or the target (down the line) a point stands, metres. */
export interface Deep {
  readonly at: number
  readonly sigma: number
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
    if (top) return { at: top[point][view.name === 'face-on' ? 2 : 0], sigma: atTopSigma[point] }
    const { at: deep, sigma } = usualDepth(view.name, name)
    return { at: deep, sigma }
  }
}
