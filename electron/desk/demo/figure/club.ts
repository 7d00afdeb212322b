import type { Pose } from '../motion.ts'
import { hoselAboveSole } from '../clubMotion.ts'
import { add, along, cross, scale, unit, type Vec } from '../vec.ts'
import { ellipsoid, loft, materials, tube, type Mesh, type Ring } from './mesh.ts'

/** Shaft, grip and a plain blade; apart from the body because it is filmed at several instants within one exposure. */
export function buildClub(mesh: Mesh, pose: Pose, lengthM: number): void {
  const { butt, shaft, face, toe } = pose.club
  const side: Vec = Math.abs(shaft[1]) > 0.9 ? [1, 0, 0] : [0, 1, 0]
  tube(
    mesh,
    [0, 0.04, 0.13, 0.26].map((d) => ({ at: along(butt, shaft, d), half: 0.0145 - d * 0.014 })),
    side,
    materials.grip,
    { round: 10 },
  )
  tube(
    mesh,
    [0.25, 0.5, 0.75, lengthM - hoselAboveSole - 0.02].map((d) => ({ at: along(butt, shaft, d), half: 0.0071 - d * 0.0026 })),
    side,
    materials.shaft,
    { round: 8 },
  )
  const hosel = along(butt, shaft, lengthM - hoselAboveSole)
  tube(
    mesh,
    [-0.045, -0.02, 0.008].map((d) => ({ at: along(hosel, shaft, d), half: 0.0068 })),
    side,
    materials.iron,
    { round: 8 },
  )
  // Blade: low at the heel, tall at the toe, leaning back by its loft.
  const sole = along(butt, shaft, lengthM)
  const rise = unit(add(cross(toe, face), scale(face, -0.6)))
  const rows: readonly (readonly [number, number])[] = [
    [-0.006, 0.026],
    [0.008, 0.031],
    [0.03, 0.042],
    [0.052, 0.052],
    [0.066, 0.054],
    [0.074, 0.044],
    [0.077, 0.026],
  ]
  const rings: Ring[] = rows.map(([along_, height]) => ({
    centre: along(along(sole, toe, along_), rise, height / 2),
    across: unit(cross(rise, toe)),
    ahead: rise,
    half: 0.0085,
    front: height / 2,
    back: height / 2,
  }))
  loft(mesh, rings, materials.iron, { round: 14, corner: 4 })
}

export function buildBall(mesh: Mesh, centre: Vec, radius: number): void {
  ellipsoid(mesh, centre, [1, 0, 0], [0, 1, 0], [0, 0, 1], [radius, radius, radius], materials.ball, 14)
}
