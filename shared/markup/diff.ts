import { z } from 'zod'

/** What changed between two states of a table of records, with enough in it to go either way. */
export interface RecordsDiff<R> {
  readonly added: Readonly<Record<string, R>>
  readonly updated: Readonly<Record<string, readonly [before: R, after: R]>>
  readonly removed: Readonly<Record<string, R>>
}

export const recordsDiffSchema = <R>(record: z.ZodType<R>): z.ZodType<RecordsDiff<R>, RecordsDiff<R>> =>
  z.object({
    added: z.record(z.string(), record),
    updated: z.record(z.string(), z.tuple([record, record]).readonly()),
    removed: z.record(z.string(), record),
  }) as unknown as z.ZodType<RecordsDiff<R>, RecordsDiff<R>>

type Table<R> = Readonly<Record<string, R>>

export const emptyDiff = <R>(): RecordsDiff<R> => ({ added: {}, updated: {}, removed: {} })

export const isEmpty = (diff: RecordsDiff<unknown>): boolean =>
  Object.keys(diff.added).length + Object.keys(diff.updated).length + Object.keys(diff.removed).length === 0

/** The diff that leads from one table to another; records are compared by identity. */
export function diffBetween<R>(before: Table<R>, after: Table<R>): RecordsDiff<R> {
  const added: Record<string, R> = {}
  const updated: Record<string, readonly [R, R]> = {}
  const removed: Record<string, R> = {}
  for (const [id, record] of Object.entries(after)) {
    const old = before[id]
    if (old === undefined) added[id] = record
    else if (old !== record) updated[id] = [old, record]
  }
  for (const [id, record] of Object.entries(before)) if (after[id] === undefined) removed[id] = record
  return { added, updated, removed }
}

/** The way back. */
export const reverse = <R>(diff: RecordsDiff<R>): RecordsDiff<R> => ({
  added: diff.removed,
  updated: Object.fromEntries(Object.entries(diff.updated).map(([id, [before, after]]) => [id, [after, before] as const])),
  removed: diff.added,
})

/** The table after the diff. Records the diff does not name are kept as they are, by identity. */
export function applyDiff<R>(table: Table<R>, diff: RecordsDiff<R>): Table<R> {
  if (isEmpty(diff)) return table
  const next: Record<string, R> = { ...table, ...diff.added }
  for (const [id, [, after]] of Object.entries(diff.updated)) next[id] = after
  for (const id of Object.keys(diff.removed)) delete next[id]
  return next
}

/** One diff that does what `first` and then `second` do. */
export function squash<R>(first: RecordsDiff<R>, second: RecordsDiff<R>): RecordsDiff<R> {
  const added: Record<string, R> = { ...first.added }
  const updated: Record<string, readonly [R, R]> = { ...first.updated }
  const removed: Record<string, R> = { ...first.removed }
  for (const [id, record] of Object.entries(second.added)) {
    const old = removed[id]
    if (old === undefined) added[id] = record
    else {
      delete removed[id]
      updated[id] = [old, record]
    }
  }
  for (const [id, [before, after]] of Object.entries(second.updated)) {
    if (added[id] !== undefined) added[id] = after
    else updated[id] = [updated[id]?.[0] ?? before, after]
  }
  for (const [id, record] of Object.entries(second.removed)) {
    if (added[id] !== undefined) {
      delete added[id]
      continue
    }
    removed[id] = updated[id]?.[0] ?? record
    delete updated[id]
  }
  return { added, updated, removed }
}
