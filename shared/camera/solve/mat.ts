import { dot3, type Vec2, type Vec3 } from '../../geometry/vec.ts'
import type { Term } from './blockFit.ts'
import type { Mat, SolveView } from './input.ts'
import { phoneSize, poseOf } from './phone.ts'
import { numericTerm, slip } from './terms.ts'

/** How far a corner lies off its place in a true rectangle on flat ground, metres: mats are worn, and some centimetres thick. Common practice, no source. */
export const cornerSigma = 0.012
/** Where a mat lies, metres before the player's ankles and along the target line, and how far that varies. */
export const matPriors = { x: { mean: 0, sigma: 0.8 }, z: { mean: 0.6, sigma: 0.8 }, turn: 0.6 } as const

/** Which way round the corners go in the picture, 1 or -1: seen from above the ground keeps its sense. */
const sense = ([a, b, c]: Mat['corners']): number => Math.sign((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]))

/**
 * About which way the first side runs, radians in the ground from X toward Z: as it looks from a camera that stands as its
 * view does. The depth of the picture is taken to be foreshortened to a third.
 */
export function turnSeen(view: SolveView['view'], { corners: [a, b] }: Mat): number {
  const right = b[0] - a[0]
  const away = -3 * (b[1] - a[1])
  return view === 'face-on' ? Math.atan2(-away, right) : Math.atan2(right, away)
}

/** The ground places of a mat's corners, by its middle and how its first side runs. */
function places({ lengthM, widthM, corners }: Mat, x: number, z: number, turn: number): Vec3[] {
  const [c, s] = [Math.cos(turn), Math.sin(turn)]
  const way = sense(corners)
  return ([[-1, -1], [1, -1], [1, 1], [-1, 1]] as const).map(([i, j]): Vec3 => {
    const [l, w] = [(i * lengthM) / 2, (way * j * widthM) / 2]
    return [x + l * c - w * s, 0, z + l * s + w * c]
  })
}

/** Quarter turns from the first side of one view's corners to that of another's, which may begin at another corner. */
export const quarterTurns = (from: number, to: number): number => Math.round((to - from) / (Math.PI / 2))

/**
 * One view's picture of a mat, a term for each corner.
 * @param at the shared numbers of its middle (x, z) and of its turn @param quarters by which this view's first side is turned on
 */
export function matTerms(index: number, v: SolveView, mat: Mat, at: readonly [number, number, number], quarters: number): Term[] {
  const own = Array.from({ length: phoneSize }, (_, i) => index * phoneSize + i)
  return mat.corners.map((corner, k) => numericTerm(2, [...own, ...at], [], (g, _, r) => {
    const pose = poseOf(v.view, g, index * phoneSize)
    const p = places(mat, g[at[0]]!, g[at[1]]!, g[at[2]]! + (quarters * Math.PI) / 2)[k]!
    const d: Vec3 = [p[0] - pose.place[0], p[1] - pose.place[1], p[2] - pose.place[2]]
    const depth = dot3(pose.ahead, d)
    if (!(depth > 0.05)) return false
    const seen: Vec2 = [pose.cx + (pose.focal * dot3(pose.right, d)) / depth, pose.cy + (pose.focal * dot3(pose.down, d)) / depth]
    const sigma = Math.hypot(v.sigmaPx, (pose.focal * cornerSigma) / depth)
    r[0] = (seen[0] - corner[0]) / sigma
    r[1] = (seen[1] - corner[1]) / sigma
    return true
  }, slip))
}
