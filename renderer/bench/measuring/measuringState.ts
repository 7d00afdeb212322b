import { createStore, type StoreApi } from 'zustand/vanilla'
import type { ClickError, DigitisedTable, GuideName } from '../../../shared/contract/digitising.ts'
import type { PointName, PointsFile, ViewName } from '../../../shared/contract/pointsFile.ts'
import type { ImagePoint } from '../../../shared/geometry/vec.ts'
import type { MeasuredClip } from '../../../shared/swing/assemble.ts'
import type { SwingResult } from '../../../shared/swing/measureSwing.ts'
import type { Choice, Plan } from '../../../shared/swing/plan.ts'
import type { Swing } from '../../../shared/swing/reading.ts'
import type { SidesWarning } from '../../../shared/swing/sides/sidesWords.ts'
import type { Saving } from '../marksSaver.ts'

/** What the hand is busy with while points are placed. */
export type Task =
  /** The points that a choice needs, one after another; `at` is the step that is wanted, past the end where all are placed. */
  | { readonly kind: 'plan'; readonly choice: Choice; readonly plan: Plan; readonly at: number }
  /** One point on frame after frame. */
  | { readonly kind: 'follow'; readonly point: PointName; readonly every: number }
  /** A guide's two points on the clip of the active pane. */
  | { readonly kind: 'guide'; readonly name: GuideName; readonly first: ImagePoint | null; readonly clipId: string | null }
  /** A mat's four corners, then its sides: first to second corner and second to third, metres. */
  | { readonly kind: 'mat'; readonly corners: readonly ImagePoint[]; readonly sides: Sides; readonly clipId: string | null }

export type Sides = readonly [first: number | null, second: number | null]

/** The same point placed several times without sight of the last. */
export interface Repeat {
  readonly clipId: string
  readonly tick: number
  readonly point: PointName
  readonly placings: readonly ImagePoint[]
}

/** What the records come to. */
export type Outcome =
  | {
    readonly kind: 'none'
    readonly reasons: readonly string[]
    /** The clip that shows the other hand than the student's, where two disagree: it may have been filmed mirrored. */
    readonly odd?: { readonly clips: readonly MeasuredClip[]; readonly view: ViewName }
  }
  | {
    readonly kind: 'measured'
    readonly clips: readonly MeasuredClip[]
    readonly file: PointsFile
    readonly swing: Swing
    readonly result: SwingResult
    readonly notes: readonly string[]
    /** What surely stands on the wrong side, in sentences. */
    readonly warnings: readonly SidesWarning[]
    /** Milliseconds that putting together and measuring took. */
    readonly tookMs: number
  }

export interface MeasuringState {
  readonly table: DigitisedTable
  /** Whether the evidence column stands beside the panes. */
  readonly isShown: boolean
  /** Null: the hand places nothing. */
  readonly task: Task | null
  /** Whether each point is placed three times, to learn the hand's error. */
  readonly thrice: boolean
  readonly repeat: Repeat | null
  /** Id of the chosen landmark, guide or mat. */
  readonly chosen: string | null
  /** Which end or corner of a chosen guide or mat the arrows move. */
  readonly end: number
  /** Which of two things a digit means now. */
  readonly chord: 'go-to' | 'set' | null
  readonly clickError: ClickError
  readonly outcome: Outcome
  /** One sentence about what was refused; goes with the next thing done. */
  readonly refusal: string | null
  /** While impact is listened for: the share of both sounds that is read, 0 to 1; else null. */
  readonly listening: number | null
  readonly saving: Saving
}

export const createMeasuringState = (): StoreApi<MeasuringState> => createStore<MeasuringState>()(() => ({
  table: {}, isShown: false, task: null, thrice: false, repeat: null, chosen: null, end: 0, chord: null,
  clickError: { squares: 0, freedom: 0 }, outcome: { kind: 'none', reasons: [] }, refusal: null, listening: null, saving: { state: 'saved', error: null },
}))
