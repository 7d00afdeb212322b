import type { ViewName } from '../contract/pointsFile.ts'
import { cameraErrors, type CameraErrors } from '../camera/solve/cameraErrors.ts'
import type { Camera } from '../camera/projection.ts'
import { farApart, farOff, givenMisfit, notOneSwing, sameSideFault } from '../camera/solve/refuse.ts'
import { noticed } from '../camera/solve/solveOnce.ts'
import { isRefusal, seenTwice, solveCameras, widenedBasis, type CameraSolve } from '../camera/solve/solveCameras.ts'
import { exact, type Sources } from '../signal/uncertain.ts'
import { isMissing, missing, type Missing, type Swing } from './reading.ts'
import type { SwingView } from './viewOf.ts'
import { likelyClock, withClock } from './clockOfGaps.ts'
import { solveInput } from './solveInput.ts'

/** A camera that one view's own marks gave: it says where it stands, and carries what is read from that view alone. */
export interface AloneView {
  readonly solve: CameraSolve
  readonly camera: Camera
  readonly errors: CameraErrors
}

/** What the marks gave where the file holds no camera matrix. */
export interface SolvedViews {
  /** Both cameras together, in the order of the views; null where they are given, or cannot be had. */
  readonly solve: CameraSolve | null
  readonly errors: CameraErrors | null
  /** For the basis of what is read through the cameras. */
  readonly basis: string
  readonly alone: ReadonlyMap<ViewName, AloneView>
  /** Why there are none, for each view or for both. */
  readonly why?: string
  /** By how much the points' errors are taken to be larger where both views are read, 1 and more; see CameraSolve. */
  readonly widened: number
  /** Median distance by which the sightlines of a point miss each other, metres; null where there is but one view. */
  readonly gapM: number | null
  /** Why cameras that the file gives cannot be those of one swing; then nothing is read from both. */
  readonly refused?: string
}

export const noneSolved: SolvedViews = { solve: null, errors: null, basis: 'camera matrices as given', alone: new Map(), widened: 1, gapM: null }

export function solvedViews(solve: CameraSolve, views: readonly ViewName[], sources: Sources): SolvedViews {
  const errors = cameraErrors(solve, views, sources.block(solve.numbers.length))
  return { solve, errors, basis: solve.basis, alone: new Map(), widened: solve.widened, gapM: solve.gapM }
}

/** Cameras as given, unless the marks of both views contradict them. */
export function checkGiven(swing: Swing): SolvedViews {
  if (swing.views.length < 2 || !swing.file.sameSwing) return noneSolved
  const input = solveInput(swing, true)
  if (isMissing(input)) return noneSolved
  const points = seenTwice(input)
  const same = sameSideFault(points)
  if (same) return { ...noneSolved, refused: same }
  const [one, two] = [swing.views[0]!.camera!, swing.views[1]!.camera!]
  // The clocks' own error is counted in all that is read: what it does to the sightlines is no fault of the points.
  const missed = givenMisfit(withClock(points, likelyClock(points, one, two, swing.file.syncSigmaS)), one, two)
  if (!missed || missed.times < noticed) return noneSolved
  const { gap, times } = missed
  return gap > farApart || times > farOff ? { ...noneSolved, refused: notOneSwing(gap, times) } : { ...noneSolved, widened: times, gapM: gap, basis: `${noneSolved.basis}; ${widenedBasis(times, gap)}` }
}

/** Widened less than this, chance and small slips suffice to explain it. */
const told = 1.6

/** What the coach should know of two views whose points do not quite meet: one sentence, or null. */
export function widenedSentence({ solved, file }: Swing): string | null {
  if (solved.widened < told || solved.gapM === null) return null
  const times = solved.widened.toFixed(1)
  return `The points of the two views miss each other by ${(1000 * solved.gapM).toFixed(0)} mm, ${times} times what their errors allow, so all errors in space are widened ${times} times. ${file.sameSwing ? 'Check the tie, lead and trail, and that both clips show one swing; joints placed on clothes from two sides do it too.' : 'The student repeats less than was taken for granted.'}`
}

/** Both cameras of a swing from its marks, or why not. */
export function solveSwing(swing: Swing): CameraSolve | Missing {
  const input = solveInput(swing)
  if (isMissing(input)) return input
  const solve = solveCameras(input)
  return isRefusal(solve) ? missing(solve.why) : solve
}

/** Each view's camera from its own address alone; `why` says what keeps both from being solved together. */
export function aloneViews(swing: Swing, why?: string): SolvedViews {
  const alone = new Map<ViewName, AloneView>()
  let reason = why
  for (const view of swing.views) {
    if (view.camera) continue
    const solve = solveSwing({ ...swing, views: [view] })
    if (isMissing(solve)) reason ??= solve.why
    else alone.set(view.name, { solve, camera: solve.cameras[0]!, errors: cameraErrors(solve, [view.name], swing.sources.block(solve.numbers.length)) })
  }
  return { ...noneSolved, alone, ...(reason !== undefined && { why: reason }) }
}

/** The same cameras, each from its view alone, in another reading of nearly the same marks. */
export const heldAlone = (held: SolvedViews, sources: Sources): SolvedViews => ({
  ...held, alone: new Map([...held.alone].map(([name, { solve, camera }]) => [name, { solve, camera, errors: cameraErrors(solve, [name], sources.block(solve.numbers.length)) }])),
})

/** A view seen through a solved camera; one that the file gives stays. */
export const withCamera = (view: SwingView, camera: Camera | undefined): SwingView =>
  view.camera || !camera ? view : { ...view, camera, level: exact(0), levelBasis: 'level and scale from the solved camera' }
