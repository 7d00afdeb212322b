import type { Anchor, Sizing } from '../../../shared/compare/fit.ts'
import { History } from '../../../shared/markup/history.ts'
import type { TiePair } from '../../../shared/walkthrough/phaseTie.ts'
import type { Reference } from '../../../shared/walkthrough/reference.ts'
import type { Beside } from './compareState.ts'

export type Look = Pick<Reference, 'look' | 'amount' | 'aligned' | 'picture' | 'skeleton' | 'shaft' | 'traces' | 'marked'>

export const plainLook: Look = { look: 'beside', amount: 0.5, aligned: true, picture: true, skeleton: false, shaft: false, traces: false, marked: false }

export const lookOf = ({ look, amount, aligned, picture, skeleton, shaft, traces, marked }: Look): Look => ({ look, amount, aligned, picture, skeleton, shaft, traces, marked: marked ?? false })

/** What the coach has chosen of a comparison: all else is worked out from it. */
export interface Wish {
  readonly beside: Beside
  readonly look: Look
  readonly sizeBy: Sizing
  readonly alignOn: Anchor
  readonly tieBy: 'positions' | 'time'
  /** Instants from which real time runs, by the student's clip, so that they stay right when the panes change places. */
  readonly pairs: Readonly<Record<string, TiePair>>
}

/** What follows one another within this many milliseconds, of one kind, is one step of undo: a slider, a key held down. */
const togetherMs = 700
const key = 'comparison'

/** Undo and redo of a comparison: set, taken away, looked at and tied another way. */
export class CompareHistory {
  readonly #read: () => Wish | null
  readonly #apply: (wish: Wish | null) => void
  readonly #tell: () => void
  #history = this.#fresh()
  #isNoting = false
  #open: { readonly kind: string; readonly timer: ReturnType<typeof setTimeout> } | null = null

  /**
   * @param read what the coach has chosen now; null where nothing stands beside
   * @param apply brings the comparison to what undo or redo has come to
   * @param tell that there is something else to undo than before
   */
  constructor(read: () => Wish | null, apply: (wish: Wish | null) => void, tell: () => void) {
    this.#read = read
    this.#apply = apply
    this.#tell = tell
  }

  get history(): History<Wish> {
    return this.#history
  }

  /** Takes down what the coach has just done. @param kind where given, what follows of the same kind soon is the same step */
  note(kind: string | null = null): void {
    const wish = this.#read()
    const before = this.#history.table[key] ?? null
    if (isSame(wish, before)) return
    if (this.#open && this.#open.kind !== kind) this.close()
    if (kind !== null) {
      if (this.#open) clearTimeout(this.#open.timer)
      else this.#history.open()
      this.#open = { kind, timer: setTimeout(() => this.close(), togetherMs) }
    }
    this.#isNoting = true
    if (wish) this.#history.put({ [key]: wish })
    else this.#history.remove([key])
    this.#isNoting = false
    this.#tell()
  }

  /** Ends the step that is under way. */
  close(): void {
    if (this.#open) clearTimeout(this.#open.timer)
    this.#open = null
    this.#history.close()
    this.#tell()
  }

  /** Other clips are on the panes: what was done on the ones before is over. */
  clear(): void {
    if (this.#open) clearTimeout(this.#open.timer)
    this.#open = null
    this.#history = this.#fresh()
    this.#tell()
  }

  #fresh(): History<Wish> {
    return new History<Wish>({}, (_, table) => { if (!this.#isNoting) this.#apply(table[key] ?? null) })
  }
}

/** Whether two wishes come to the same; what a swing measures is no part of the wish. */
function isSame(one: Wish | null, two: Wish | null): boolean {
  if (one === null || two === null) return one === two
  const words = ({ beside, ...rest }: Wish): string => JSON.stringify([beside.key, rest])
  return words(one) === words(two)
}
