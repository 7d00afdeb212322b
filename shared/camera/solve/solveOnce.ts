import type { PointName } from '../../contract/pointsFile.ts'
import { cross3, type Vec3 } from '../../geometry/vec.ts'
import { median } from '../../signal/quantile.ts'
import type { Camera } from '../projection.ts'
import { meetSightlines } from '../triangulation.ts'
import { fitBlocks, type Layout } from './blockFit.ts'
import { rootOf } from './cholesky.ts'
import { clubGap, type ClubGap } from './clubGap.ts'
import type { SolveInput } from './input.ts'
import { noOrigin, originWords, standIn } from './origin.ts'
import { phone, phoneCamera, phoneSize, phoneWords } from './phone.ts'
import { phonePrior } from './priors.ts'
import { buildProblem, type SolveProblem } from './problem.ts'
import { leastCrossing, noneMeets, sameSideFault, sameWay, type SeenTwice } from './refuse.ts'
import { asBlocks, lookAlone, startPoints } from './start.ts'

/** Why cameras cannot be had, in one sentence with the number that shows it. */
export interface SolveRefusal {
  readonly why: string
}
export const isRefusal = (value: CameraSolve | SolveRefusal): value is SolveRefusal => 'why' in value

/** One or two cameras, with how well they are known. */
export interface CameraSolve {
  /** In the order of the input's views. */
  readonly cameras: readonly Camera[]
  /** Nine numbers a view (see phone.ts), then, with two views of clocks that may differ, the second's shift in seconds. */
  readonly numbers: Float64Array
  /** Row by row, of those numbers. */
  readonly covariance: Float64Array
  /** Lower triangle whose product with its transpose is the covariance: its columns are independent errors. */
  readonly root: Float64Array
  /** Seconds to add to the swing's clock to get the second view's. */
  readonly clockShift: number
  /** What the direction of X rests on. */
  readonly direction: SolveProblem['direction']
  /** What the marks leave as it was known beforehand, in words. */
  readonly undetermined: readonly string[]
  /** Root mean square of the points' misfits over their errors, 1 where marks and cameras agree. */
  readonly misfit: number
  /** By how much the marks' stated errors are taken to be larger, so that cameras and marks agree: 1 and more. */
  readonly widened: number
  /** Median distance by which the two sightlines of a point miss each other, metres; null for one view. */
  readonly gapM: number | null
  /** How much the sightlines to the club come and go against each other; null where one view, or too few instants, do not tell. */
  readonly clubGap: ClubGap | null
  /** How far a mat's corners miss its rectangle over their errors, root mean square, about 1 where its size is right; null without a mat. */
  readonly matMisfit: number | null
  /** Why the scale cannot be right, or null; such cameras are refused. */
  readonly scaleFault: string | null
  /** Why a mat was left out, or null. */
  readonly matFault: string | null
  /** For the basis of what is read through the cameras. */
  readonly basis: string
  readonly iterations: number
  /** All that was fitted, to start the next solve of nearly the same marks from. */
  readonly fitted: { readonly shared: Float64Array; readonly points: Float64Array; readonly layout: Layout }
}

/** From an earlier solve of nearly the same marks a step or two come to within a hundredth of the errors. */
const quick = { maxIterations: 4, tolerance: 1e-4, nearly: true }
/** A misfit below this is within what chance does to a few hundred points. */
export const noticed = 1.25
/** A stature this many standard deviations off what the rest says is a contradiction. */
const statureLimit = 4
/** What stays as it was known beforehand: less than a fifth of its error taken off. */
const unchanged = 0.8

/**
 * One fit of one or two cameras to marks taken at their word: see input.ts. The world is that of DESIGN section 4.
 * @param from an earlier solve of nearly the same marks, from which a few steps suffice
 */
export function solveOnce(input: SolveInput, from?: CameraSolve): CameraSolve | SolveRefusal {
  const { views } = input
  if (!standIn(input.address)) return { why: noOrigin }
  const same = sameSideFault(seenTwice(input))
  if (same) return { why: same }
  const problem = buildProblem(input)
  const start = Float64Array.from(problem.sharedStart)
  const again = from?.fitted.shared.length === problem.sharedCount && from.fitted.points.length === 3 * problem.points.length ? from.fitted : null
  if (again) start.set(again.shared)
  else if (from) start.set(from.numbers.subarray(0, phoneSize * views.length))
  else views.forEach((_, i) => start.set(lookAlone(input, i), i * phoneSize))
  const first = views.map((v, i) => phoneCamera(v.view, start, i * phoneSize))
  const fit = fitBlocks(asBlocks(problem), start, again?.points ?? startPoints(problem, first), again ? { ...quick, layout: again.layout } : {})
  if (!Number.isFinite(fit.cost)) return { why: behindWords(input, first, problem) }
  if (!fit.covariance) return { why: 'The cameras cannot be solved: the marks leave them undetermined.' }

  const cameras = views.map((v, i) => phoneCamera(v.view, fit.shared, i * phoneSize))
  const spread = views.length === 2 ? sightlines(cameras, problem, problem.clock < 0 ? 0 : fit.shared[problem.clock]!) : null
  if (spread && spread.angle < leastCrossing) return { why: sameWay(spread.angle) }
  const misfit = views.length === 2 ? pictureMisfit(problem, fit.misfits) : 1
  const shift = problem.clock < 0 ? 0 : fit.shared[problem.clock]!

  // Cameras' numbers first, then the clock: the rest of the shared numbers has done its work.
  const keep = Array.from({ length: phoneSize * views.length }, (_, i) => i)
  if (problem.clock >= 0) keep.push(problem.clock)
  const n = keep.length
  // Marks that fit worse than their errors say are trusted by as much less (Birge 1932).
  const widened = misfit > noticed ? misfit : 1
  const stretch = widened ** 2
  const covariance = new Float64Array(n * n)
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) covariance[i * n + j] = stretch * fit.covariance[keep[i]! * problem.sharedCount + keep[j]!]!
  const root = rootOf(covariance, n)
  if (!root) return { why: 'The cameras cannot be solved: the marks leave them undetermined.' }
  const undetermined = undeterminedOf(input, covariance, n)
  return {
    cameras, numbers: Float64Array.from(keep, (i) => fit.shared[i]!), covariance, root,
    clockShift: shift,
    direction: problem.direction, undetermined, misfit, gapM: spread?.gap ?? null, clubGap: clubGap(cameras, problem, shift),
    matMisfit: problem.corners.length ? Math.sqrt(problem.corners.reduce((sum, k) => sum + fit.misfits[k]! ** 2, 0) / (2 * problem.corners.length - 3)) : null,
    fitted: { shared: fit.shared, points: fit.points, layout: fit.layout },
    matFault: null, widened, scaleFault: statureWords(input, problem, fit.points, fit.misfits),
    basis: `${basisOf(input, problem)}${undetermined.length ? `; no better than usual: ${undetermined.join(', ')}` : ''}`, iterations: fit.iterations,
  }
}

/** Every point that both views show. */
export const seenTwice = (input: SolveInput): SeenTwice[] =>
  [input.address, ...input.instants].flatMap((instant) => [...instant.values()].flatMap(([one, two]) => (one && two ? [{ one, two }] : [])))

const solvedFrom: Record<SolveProblem['direction'], string> = {
  'target line': 'target line as marked',
  'stance line': 'no target line: the stance line stands in, within 5 degrees of aim',
  ankles: 'no target line: the ankles at address stand in, within 5 degrees of aim',
  none: 'no target line, no stance line and not both ankles: the cameras are taken to look square, within some 10 degrees',
}

function basisOf(input: SolveInput, problem: SolveProblem): string {
  const used = [
    problem.clubUsed && (input.clubM === undefined ? 'a club of usual length' : 'the club\'s length'),
    input.views.some((v) => v.ballDiameterPx) && 'the ball', input.statureM !== undefined && problem.stature && 'the stature',
    input.views.some((v) => v.mat) && 'the mat', input.views.some((v) => v.plumb) ? 'plumb lines' : 'the level of the picture',
    input.views.length === 2 && `${problem.points.filter((p) => p.seen.every((s) => s)).length} points of both views`,
  ].filter((w) => typeof w === 'string')
  const solved = input.views.filter((v) => !v.known).map((v) => v.view)
  const origin = originWords(input.address)
  return `camera${solved.length > 1 ? 's' : ''} solved (${solved.join(', ')}) from ${used.join(', ')}; ${solvedFrom[problem.direction]}${origin === null ? '' : `; ${origin}`}`
}

/** Root mean square of the middle of the misfits: slips do not count, and a Gaussian's own comes to 1. */
function pictureMisfit(problem: SolveProblem, misfits: Float64Array): number {
  // A point seen twice has four coordinates and three unknowns: of each picture's squared misfit a quarter of 2 is left.
  const squares = problem.pictures.filter(({ point }) => problem.points[point]!.seen.every((s) => s)).map(({ term }) => misfits[term]! ** 2)
  // The sum of two pictures' squares is a square of one Gaussian; half of it lies below .455.
  const sums: number[] = []
  for (let i = 0; i + 1 < squares.length; i += 2) sums.push(squares[i]! + squares[i + 1]!)
  return sums.length ? Math.sqrt(median(sums) / 0.455) : 1
}

/** Median gap and angle of the sightlines of all points that both views show. */
function sightlines(cameras: readonly Camera[], problem: SolveProblem, shift: number): { gap: number; angle: number } | null {
  const gaps: number[] = []
  const angles: number[] = []
  for (const { seen } of problem.points) {
    const [a, b] = seen
    if (!a || !b) continue
    const meeting = meetSightlines(cameras[0]!, [a.x, a.y], cameras[1]!, [b.x + shift * b.rate[0], b.y + shift * b.rate[1]])
    if (!meeting) continue
    gaps.push(Math.abs(meeting.gap))
    angles.push(meeting.angle)
  }
  if (gaps.length) return { gap: median(gaps), angle: median(angles) }
  const [a, b] = cameras.map((c) => c.axis) as [Vec3, Vec3]
  return { gap: 0, angle: Math.asin(Math.min(1, Math.hypot(...cross3(a, b)))) }
}

function behindWords(input: SolveInput, cameras: readonly Camera[], problem: SolveProblem): string {
  let behind = 0
  let name: PointName = 'hands'
  let view = 0
  const both = problem.points.filter((p) => p.seen.filter((s) => s).length === input.views.length)
  for (const p of both) {
    const [a, b] = p.seen
    if (a && b && !meetSightlines(cameras[0]!, [a.x, a.y], cameras[1]!, [b.x, b.y])) {
      behind++
      name = p.name
      view = 1
    }
  }
  if (behind === 0) {
    const gap = cameras.length === 2 ? sightlines(cameras, problem, 0)?.gap : undefined
    return gap === undefined ? 'The camera cannot be solved: no place of it shows the points where they are. Check the points of address and the view\'s name.' : noneMeets(gap)
  }
  return `${behind} of ${both.length} points lie behind a camera or on parallel sightlines (${name} among them): the ${input.views[view]!.view} view does not fit its name or the other view.`
}

/** The sentence for a stature that contradicts the rest, or null. */
function statureWords(input: SolveInput, problem: SolveProblem, points: Float64Array, misfits: Float64Array): string | null {
  const s = problem.stature
  if (!s || input.statureM === undefined || !(misfits[s.term]! > statureLimit)) return null
  const tall = points[3 * s.point + 1]! / s.share
  const by = problem.clubUsed && input.clubM !== undefined ? 'the club\'s length' : 'the rest of the marks'
  return `The scale contradicts the stature: by ${by} the student would be ${tall.toFixed(2)} m tall, and the file says ${input.statureM.toFixed(2)} m.`
}

function undeterminedOf(input: SolveInput, covariance: Float64Array, n: number): string[] {
  const words: string[] = []
  input.views.forEach((v, i) => {
    if (v.known) return
    const { sigma } = phonePrior(v)
    for (const k of [phone.lnFocal, phone.yaw, phone.pitch, phone.roll, phone.x, phone.y, phone.z]) {
      const at = i * phoneSize + k
      if (Math.sqrt(covariance[at * n + at]!) > unchanged * sigma[k]!) words.push(`${phoneWords[k]} of the ${v.view} camera`)
    }
  })
  return words
}
