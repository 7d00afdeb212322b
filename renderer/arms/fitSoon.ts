import type { ArmsRefusal, FitResult } from '../../shared/arms/types.ts'
import type { Swing } from '../../shared/swing/reading.ts'
export const fitArms = (_swing: Swing, _at: 'top'): FitResult | ArmsRefusal => ({ refused: 'not-enough', why: 'stand-in', nearest: null })
