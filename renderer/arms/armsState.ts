import { createStore, type StoreApi } from 'zustand/vanilla'
import type { ArmsModel } from '../../shared/arms/model.ts'
import type { Spread } from '../../shared/arms/spread.ts'
import type { ArmsPose, ForwardResult, InverseResult, SweepResult } from '../../shared/arms/types.ts'
import type { FixedView } from './figure/eye.ts'
import type { LoadedSwing } from './load.ts'
import type { PoseErrors } from './poseErrors.ts'

/** What is wished of the shaft. */
export interface Wish {
  readonly deg: number
  /** Where it would be once carried on to level, or where it stops. */
  readonly atLevel: boolean
}

/** As every student's swing is come to. */
export const usualWish: Wish = { deg: 0, atLevel: true }

/** Another swing's arms, laid over the shoulders and brought to the size of this body. */
export interface Ghost {
  readonly swingId: string
  readonly title: string
  readonly pose: ArmsPose
  /** How much larger its shoulders are than the student's before they were brought to size, in words with what was done. */
  readonly basis: string
}

export interface OtherSwing {
  readonly id: string
  readonly title: string
}

/** What the room shows in React. It changes at a key, a click or a result, never while an elbow is dragged. */
export interface ArmsState {
  readonly loading: string | null
  readonly fault: { readonly message: string; readonly remedy: string | null } | null
  /** The swing that is open; null for the standard body. */
  readonly loaded: LoadedSwing | null
  readonly model: ArmsModel | null
  /** As it is now: as filmed, or the sketch. */
  readonly now: ForwardResult | null
  /** Null while they are being worked out. */
  readonly spread: Spread | null
  readonly sweep: SweepResult | null
  readonly errors: PoseErrors | null
  readonly wish: Wish
  readonly found: InverseResult | null
  readonly view: FixedView | 'free'
  readonly ghost: Ghost | null
  readonly ghostSaid: string | null
  /** Swings that have points, for a ghost; null while they are being looked for. */
  readonly others: readonly OtherSwing[] | null
  readonly tab: 'elbow' | 'face'
  readonly isFlat: boolean
}

export const createArmsState = (): StoreApi<ArmsState> => createStore<ArmsState>()(() => ({
  loading: null, fault: null, loaded: null, model: null, now: null, spread: null, sweep: null, errors: null, wish: usualWish, found: null,
  view: 'down-the-line', ghost: null, ghostSaid: null, others: null, tab: 'elbow', isFlat: false,
}))
