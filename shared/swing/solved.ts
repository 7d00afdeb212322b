import type { ViewName } from '../contract/pointsFile.ts'
import { cameraErrors, type CameraErrors } from '../camera/solve/cameraErrors.ts'
import type { Camera } from '../camera/projection.ts'
import { oneSwingFault, sameSideFault } from '../camera/solve/refuse.ts'
import { isRefusal, seenTwice, solveCameras, type CameraSolve } from '../camera/solve/solveCameras.ts'
import { exact, type Sources } from '../signal/uncertain.ts'
import { isMissing, missing, type Missing, type Swing } from './reading.ts'
import type { SwingView } from './viewOf.ts'
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
  /** Why cameras that the file gives cannot be those of one swing; then nothing is read from both. */
  readonly refused?: string
}

export const noneSolved: SolvedViews = { solve: null, errors: null, basis: 'camera matrices as given', alone: new Map() }

export function solvedViews(solve: CameraSolve, views: readonly ViewName[], sources: Sources): SolvedViews {
  const errors = cameraErrors(solve, views, sources.block(solve.numbers.length))
  return { solve, errors, basis: solve.basis, alone: new Map() }
}

/** Cameras as given, unless the marks of both views contradict them. */
export function checkGiven(swing: Swing): SolvedViews {
  if (swing.views.length < 2 || !swing.file.sameSwing) return noneSolved
  const input = solveInput(swing, true)
  if (isMissing(input)) return noneSolved
  const points = seenTwice(input)
  const refused = sameSideFault(points) ?? oneSwingFault(points, swing.views[0]!.camera!, swing.views[1]!.camera!)
  return refused ? { ...noneSolved, refused } : noneSolved
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

/** A view seen through a solved camera; one that the file gives stays. */
export const withCamera = (view: SwingView, camera: Camera | undefined): SwingView =>
  view.camera || !camera ? view : { ...view, camera, level: exact(0), levelBasis: 'level and scale from the solved camera' }
