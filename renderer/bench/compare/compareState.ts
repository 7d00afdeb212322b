import { createStore, type StoreApi } from 'zustand/vanilla'
import type { Clip } from '../../../shared/contract/clip.ts'
import type { DigitisedTable } from '../../../shared/contract/digitising.ts'
import type { PositionName } from '../../../shared/contract/pointsFile.ts'
import type { Student, Swing } from '../../../shared/contract/student.ts'
import type { Difference, Uncompared } from '../../../shared/compare/differences.ts'
import type { Anchor, Fit, Sizing } from '../../../shared/compare/fit.ts'
import type { Mark } from '../../../shared/markup/mark.ts'
import type { Measured } from '../../../shared/compare/measureRecords.ts'
import type { TiePair } from '../../../shared/walkthrough/phaseTie.ts'
import type { Reference } from '../../../shared/walkthrough/reference.ts'

/** The swing that is set beside the student's. */
export interface Beside {
  /** The swing's id, or the clip's. */
  readonly key: string
  readonly title: string
  readonly swing: Swing | null
  readonly student: Student | null
  readonly clips: readonly Clip[]
  readonly table: DigitisedTable
  /** What was drawn on its clips. */
  readonly marks: readonly Mark[]
  /** What its points come to; null until they are measured, shortly after it shows. */
  readonly measured: Measured | null
}

/** What was worked out for one pane. */
export interface PaneComparison {
  readonly fit: Fit
  /** The positions it is tied by; empty where it is tied by time. */
  readonly names: readonly PositionName[]
  /** What the coach should know of it, in sentences. */
  readonly notes: readonly string[]
}

export type Compared =
  | { readonly kind: 'none'; readonly reasons: readonly string[] }
  | { readonly kind: 'compared'; readonly differences: readonly Difference[]; readonly missing: readonly Uncompared[] }

export interface CompareState {
  readonly isChoosing: boolean
  /** What is being fetched, in words. */
  readonly opening: string | null
  /** Whether the column of differences stands beside the panes. */
  readonly isShown: boolean
  readonly beside: Beside | null
  readonly references: readonly [Reference | null, Reference | null]
  readonly panes: readonly [PaneComparison | null, PaneComparison | null]
  /** Said once for all of it: a view that the reference lacks. */
  readonly notes: readonly string[]
  readonly sizeBy: Sizing
  readonly alignOn: Anchor
  /** The positions, or the pairs from which real time runs. */
  readonly tieBy: 'positions' | 'time'
  readonly pairs: readonly [TiePair | null, TiePair | null]
  readonly compared: Compared
  /** Pinned differences, by pinKey, in the order of pinning. */
  readonly pins: readonly string[]
}

export const nothingCompared: Compared = { kind: 'none', reasons: [] }

export const createCompareState = (): StoreApi<CompareState> => createStore<CompareState>()(() => ({
  isChoosing: false, opening: null, isShown: false, beside: null, references: [null, null], panes: [null, null], notes: [],
  sizeBy: 'stature', alignOn: 'feet', tieBy: 'positions', pairs: [null, null], compared: nothingCompared, pins: [],
}))
