import { applyDiff, diffBetween, isEmpty, reverse, type RecordsDiff } from './diff.ts'

type Table<R> = Readonly<Record<string, R>>

interface Step<R> {
  readonly diff: RecordsDiff<R>
  /** When it was taken, among the turns of all histories. */
  readonly turn: number
  /** When it was undone last. */
  readonly undoneAt: number
}

/** Counts steps taken and undone in all histories, so that their order is known. */
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
  #newestAt = 0
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
  /** The turn of what undo would take back; 0 for nothing. */
  get lastTurn(): number {
    return this.#past.at(-1)?.turn ?? 0
  }
  /** What redo would bring back: its turn, and when it was undone; null for nothing. */
  get next(): { readonly turn: number; readonly undoneAt: number } | null {
    return this.#future.at(-1) ?? null
  }
  /** When a step was last taken that was new. */
  get newestAt(): number {
    return this.#newestAt
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
    this.#took(diff)
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
    const before = Object.keys(records).flatMap((id) => (this.#table[id] === undefined ? [] : [[id, this.#table[id]] as const]))
    this.#change(diffBetween(Object.fromEntries(before), records))
  }

  remove(ids: readonly string[]): void {
    const next: Record<string, R> = { ...this.#table }
    for (const id of ids) delete next[id]
    this.#change(diffBetween(this.#table, next))
  }

  /**
   * Puts what follows from something else in place of records that are there, as no step of its own: undo and redo pass
   * it over, and a step that is open keeps it. Ids that the table lacks are passed over.
   */
  amend(records: Table<R>): void {
    const own = Object.fromEntries(Object.entries(records).filter(([id]) => this.#table[id] !== undefined))
    if (this.#openedAt !== null) {
      const opened = this.#openedAt
      this.#openedAt = { ...opened, ...Object.fromEntries(Object.entries(own).filter(([id]) => opened[id] !== undefined)) }
    }
    this.#go(diffBetween(this.#table, { ...this.#table, ...own }))
  }

  undo(): boolean {
    this.close()
    const step = this.#past.pop()
    if (!step) return false
    this.#future.push({ ...step, undoneAt: ++turns })
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
      this.#took(diff)
    }
    this.#go(diff)
  }

  #took(diff: RecordsDiff<R>): void {
    this.#newestAt = ++turns
    this.#past.push({ diff, turn: turns, undoneAt: 0 })
    this.#future.length = 0
  }

  #go(diff: RecordsDiff<R>): void {
    if (isEmpty(diff)) return
    this.#table = applyDiff(this.#table, diff)
    this.#onChange(diff, this.#table)
  }
}

type Undoable = Pick<History<never>, 'lastTurn' | 'next' | 'newestAt' | 'undo' | 'redo' | 'close'>

/** Undoes the newest step of several histories, so that tables beside one another are taken back in the order of the work. */
export function undoNewest(histories: readonly Undoable[]): boolean {
  for (const history of histories) history.close()
  const newest = histories.reduce<Undoable | null>((best, one) => (one.lastTurn > (best?.lastTurn ?? 0) ? one : best), null)
  return newest?.undo() ?? false
}

/** The history whose undone step comes next; null where something new was done in any of them since. */
export function redoable<H extends Pick<Undoable, 'next' | 'newestAt'>>(histories: readonly H[]): H | null {
  const newest = Math.max(0, ...histories.map(({ newestAt }) => newestAt))
  return histories.reduce<H | null>((best, one) => (one.next && one.next.undoneAt > newest && one.next.turn < (best?.next?.turn ?? Infinity) ? one : best), null)
}

/** Brings back the step of several histories that was undone last. */
export function redoNext(histories: readonly Undoable[]): boolean {
  for (const history of histories) history.close()
  return redoable(histories)?.redo() ?? false
}
