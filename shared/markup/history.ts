import { applyDiff, diffBetween, isEmpty, reverse, type RecordsDiff } from './diff.ts'

type Table<R> = Readonly<Record<string, R>>

interface Step<R> {
  readonly diff: RecordsDiff<R>
  /** When it was taken, among the steps of all histories. */
  readonly turn: number
}

let turns = 0

/**
 * Undo and redo over a table of records, without limit. A *step* is what one undo takes back: it begins at `open`,
 * and ends at `close`, or is thrown away by `cancel`, which puts the table back as it was at `open`.
 * Changes made outside a step are steps of their own.
 */
export class History<R> {
  readonly #past: Step<R>[] = []
  readonly #future: Step<R>[] = []
  #table: Table<R>
  #openedAt: Table<R> | null = null
  readonly #onChange: (diff: RecordsDiff<R>, table: Table<R>) => void

  /** onChange hears of every change that the table goes through, undo and redo among them. */
  constructor(table: Table<R>, onChange: (diff: RecordsDiff<R>, table: Table<R>) => void = () => {}) {
    this.#table = table
    this.#onChange = onChange
  }

  get table(): Table<R> {
    return this.#table
  }
  get canUndo(): boolean {
    return this.#past.length > 0
  }
  get canRedo(): boolean {
    return this.#future.length > 0
  }
  /** The turn of what undo would take back, and of what redo would bring; null for nothing. */
  get lastTurn(): number | null {
    return this.#past.at(-1)?.turn ?? null
  }
  get nextTurn(): number | null {
    return this.#future.at(-1)?.turn ?? null
  }
  get isOpen(): boolean {
    return this.#openedAt !== null
  }

  /** Begins a step. One that is still open is closed first. */
  open(): void {
    this.close()
    this.#openedAt = this.#table
  }

  /** Ends the open step; nothing is kept where nothing changed. */
  close(): void {
    if (this.#openedAt === null) return
    const diff = diffBetween(this.#openedAt, this.#table)
    this.#openedAt = null
    if (isEmpty(diff)) return
    this.#past.push({ diff, turn: ++turns })
    this.#future.length = 0
  }

  /** Back to where the open step began. */
  cancel(): void {
    if (this.#openedAt === null) return
    const diff = diffBetween(this.#table, this.#openedAt)
    this.#openedAt = null
    this.#go(diff)
  }

  /** Puts records in, replacing those with the same id. */
  put(records: Table<R>): void {
    this.#change(diffBetween(this.#table, { ...this.#table, ...records }))
  }

  remove(ids: readonly string[]): void {
    const next: Record<string, R> = { ...this.#table }
    for (const id of ids) delete next[id]
    this.#change(diffBetween(this.#table, next))
  }

  undo(): boolean {
    this.close()
    const step = this.#past.pop()
    if (!step) return false
    this.#future.push(step)
    this.#go(reverse(step.diff))
    return true
  }

  redo(): boolean {
    this.close()
    const step = this.#future.pop()
    if (!step) return false
    this.#past.push(step)
    this.#go(step.diff)
    return true
  }

  #change(diff: RecordsDiff<R>): void {
    if (isEmpty(diff)) return
    if (this.#openedAt === null) {
      this.#past.push({ diff, turn: ++turns })
      this.#future.length = 0
    }
    this.#go(diff)
  }

  #go(diff: RecordsDiff<R>): void {
    if (isEmpty(diff)) return
    this.#table = applyDiff(this.#table, diff)
    this.#onChange(diff, this.#table)
  }
}

type Undoable = Pick<History<never>, 'lastTurn' | 'nextTurn' | 'undo' | 'redo' | 'close'>

/** Undoes the newest step of several histories, so that tables beside one another are taken back in the order of the work. */
export function undoNewest(histories: readonly Undoable[]): boolean {
  for (const history of histories) history.close()
  const newest = histories.reduce<Undoable | null>((best, one) => ((one.lastTurn ?? 0) > (best?.lastTurn ?? 0) ? one : best), null)
  return newest?.undo() ?? false
}

/** Brings back the step that was undone last; none where something new was done in any of them since. */
export function redoNext(histories: readonly Undoable[]): boolean {
  for (const history of histories) history.close()
  const next = histories.reduce<Undoable | null>((best, one) => ((one.nextTurn ?? Infinity) < (best?.nextTurn ?? Infinity) ? one : best), null)
  const latest = Math.max(0, ...histories.map((history) => history.lastTurn ?? 0))
  return next !== null && next.nextTurn! > latest ? next.redo() : false
}
