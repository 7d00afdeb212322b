import type { Pose, Swing } from '../motion.ts'
import { buildHead } from './head.ts'
import { buildArm, buildLeg } from './limbs.ts'
import type { Mesh } from './mesh.ts'
import type { Outfit } from './outfit.ts'
import { buildTorso } from './torso.ts'

/** Fills `mesh` with the golfer of a pose, without the club and the ball. */
export function buildFigure(mesh: Mesh, swing: Swing, pose: Pose, outfit: Outfit): void {
  const k = swing.spec.statureM / 1.8
  mesh.clear()
  buildTorso(mesh, pose.trunk, pose.lead.shoulder, pose.trail.shoulder, outfit, swing.body.trunk, k)
  buildArm(mesh, pose.lead, pose, outfit, true, swing.body, k)
  buildArm(mesh, pose.trail, pose, outfit, false, swing.body, k)
  buildLeg(mesh, pose.leadLeg, pose, outfit, swing.body, k)
  buildLeg(mesh, pose.trailLeg, pose, outfit, swing.body, k)
  buildHead(mesh, pose.trunk.head, pose.trunk.skull, pose.trunk.shoulders, pose.trunk.thorax, outfit, k)
}
