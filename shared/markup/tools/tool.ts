import type { ImagePoint } from '../../geometry/vec.ts'
import type { Size } from '../../picture/layout.ts'
import { shapes, type Mark } from '../mark.ts'

/**
 * A tool is a small state and a pure function: what the hand does goes in, what is to happen comes out. It touches no
 * marks: a mark in the making is a draft, and only `put` makes a change, so that giving up leaves everything as it was.
 */
export interface Tool<S> {
  readonly idle: S
  reduce(state: S, input: ToolInput, context: ToolContext): ToolStep<S>
  /** Whether something is in the making, so that Escape is the tool's. */
  isBusy(state: S): boolean
}

export type ToolInput =
  /** Points are of the picture; `constrain` holds lines to steps of 15 degrees and boxes to squares. */
  | { readonly type: 'down' | 'move' | 'up'; readonly at: ImagePoint; readonly constrain: boolean }
  | { readonly type: 'key'; readonly key: 'Escape' | 'Enter' | 'Backspace' }
  /** The words of a text mark as far as they are written. */
  | { readonly type: 'words'; readonly text: string; readonly isDone: boolean }

/** What a tool may know of where it works. */
export interface ToolContext {
  /** The mark to be made, with its id and style, still without points. */
  readonly blank: Mark
  /** The marks that show on the pane's frame, lowest first. */
  readonly marks: readonly Mark[]
  readonly selected: string | null
  /** Pixels of the original within which a press counts as on something. */
  readonly reach: number
  /** The picture's size, pixels of the original. */
  readonly size: Size
  /** Pixels of the original in a thousandth of the drawn picture's short side: what words are measured in. */
  readonly unit: number
  readonly mirror: boolean
}

export type ToolEffect =
  | { readonly type: 'draft'; readonly draft: Mark | null }
  | { readonly type: 'put'; readonly mark: Mark }
  | { readonly type: 'select'; readonly id: string | null }
  /** Where the magnifier looks, or that it closes. */
  | { readonly type: 'fine'; readonly at: ImagePoint | null }
  /** Words are wanted for this mark. */
  | { readonly type: 'write'; readonly mark: Mark }

export interface ToolStep<S> {
  readonly state: S
  readonly effects: readonly ToolEffect[]
}

/** Nothing more in the making and nothing changed. */
export const givenUp: readonly ToolEffect[] = [{ type: 'draft', draft: null }, { type: 'fine', at: null }]

/** The finished mark in place of the draft, and selected. */
export const made = (mark: Mark): readonly ToolEffect[] => [...givenUp, { type: 'put', mark }, { type: 'select', id: mark.id }]

/** Points of the picture are kept to a hundredth of a pixel: finer is noise, and a log of it is long. */
export const rounded = ([x, y]: ImagePoint): ImagePoint => [Math.round(x * 100) / 100, Math.round(y * 100) / 100]

/**
 * A mark as far as it has points: with too few for its shape it is shown as a dot, a segment or a run of them, because a draft goes into
 * the log and has to be a valid mark there.
 */
export function draftOf(blank: Mark, points: readonly ImagePoint[]): Mark {
  const kept = points.slice(0, shapes[blank.shape].most).map(rounded)
  if (kept.length >= shapes[blank.shape].least) return { ...blank, points: kept }
  return { ...blank, meaning: null, shape: kept.length === 1 ? 'dot' : kept.length === 2 ? 'segment' : 'polyline', points: kept }
}
