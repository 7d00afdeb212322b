import { place } from './fitBody.ts'
import { fitChain, type CameraShifts, type ChainFit, type ChainProblem } from './fitChain.ts'

/**
 * A lead arm is nearly straight at the top, and a straight arm answers to nothing: a fit that has come to one on its way may stay
 * there, far off. So it begins again with the hands brought nearer and with the lead elbow on its other side.
 */
const starts: readonly (readonly [leadTurn: number, nearer: number])[] = [[0, 0], [0, 0.12], [Math.PI, 0], [Math.PI, 0.12]]
/** Logarithm of how much longer the arms begin there. */
const longer = 0.1
/** A fit whose marks are farther off than this many deviations, root mean square, has not come to where it should. */
const well = 2

/** The best of the fits from several starts, the given one first; those after a good one are left out. Null where none comes to an end. */
export function fitFromStarts(problem: ChainProblem, row: Float64Array, shifts: CameraShifts): ChainFit | null {
  let best: ChainFit | null = null
  for (const [leadTurn, nearer] of starts) {
    const from = Float64Array.from(row)
    from[place.leadSwivel] = row[place.leadSwivel]! + leadTurn
    if (nearer > 0 || leadTurn !== 0) from[place.upperArm] = from[place.forearm] = longer
    for (let k = 0; k < 3; k++) from[place.hands + k] = row[place.hands + k]! + nearer * (row[place.leadShoulder + k]! - row[place.hands + k]!)
    const fit = fitChain(problem, from, shifts)
    if (fit && (!best || fit.total < best.total)) best = fit
    if (best && best.converged && best.sum < well * well * best.count) break
  }
  return best
}
