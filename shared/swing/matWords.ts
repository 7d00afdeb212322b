import type { ViewName } from '../contract/pointsFile.ts'
import type { SwingResult } from './measureSwing.ts'
import { inWords } from './measureWords.ts'
import type { Swing } from './reading.ts'

/** What a mat on the ground gives of a view's camera, in words. */
export interface MatReading {
  readonly words: string
  readonly basis: string | null
  /** What its corners contradict, or null. */
  readonly warning: string | null
}

/** Corners that miss their rectangle by this many times their errors do not show one of that size. */
const leastMisfit = 2.5

export function matReading(swing: Swing, result: SwingResult, view: ViewName): MatReading {
  const [height, distance] = ['camera-height', 'camera-distance'].map((id) => result.measures.find((one) => one.id === id && one.view === view))
  const solve = swing.solved.solve ?? swing.solved.alone.get(view)?.solve
  if (!height || !distance) {
    const why = result.missing.find((one) => one.id === 'camera-distance' && one.view === view)?.why
    return { words: `Gives nothing yet${why ? `: ${why}` : ''}`, basis: null, warning: null }
  }
  const metres = ({ value, sigma }: { readonly value: number; readonly sigma: number }): string => `${(value / 1000).toFixed(2)} \u00b1 ${Math.max(0.01, sigma / 1000).toFixed(2)} m`
  const misfit = solve?.matMisfit ?? null
  return {
    words: solve?.matFault ? `Without it the camera is ${metres(distance)} away, ${metres(height)} high` : `With it the camera is ${metres(distance)} away, ${metres(height)} high`,
    basis: distance.basis,
    warning: solve?.matFault ? inWords(solve.matFault).replaceAll('+-', '\u00b1') : misfit !== null && misfit > leastMisfit ? `Its corners miss a rectangle of that size by ${misfit.toFixed(1)} times their error: check both sides, which is which, and the corners.` : null,
  }
}
