import { applyDiff, diffBetween, isEmpty, reverse, type RecordsDiff } from './diff.ts'

type Table<R> = Readonly<Record<string, R>>

/**
 * Undo and redo over a table of records, without limit. A *step* is what one undo takes back: it begins at `open`,
 * and ends at `close`, or is thrown away by `cancel`, which puts the table back as it was at `open`.
 * Changes made outside a step are steps of their own.
 */
export class History<R> {
  readonly #past: RecordsDiff<R>[] = []
  readonly #future: RecordsDiff<R>[] = []
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
    this.#past.push(diff)
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
    this.#go(reverse(step))
    return true
  }

  redo(): boolean {
    this.close()
    const step = this.#future.pop()
    if (!step) return false
    this.#past.push(step)
    this.#go(step)
    return true
  }

  #change(diff: RecordsDiff<R>): void {
    if (isEmpty(diff)) return
    if (this.#openedAt === null) {
      this.#past.push(diff)
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
