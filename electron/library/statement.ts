import type { Statement } from 'better-sqlite3'
import type { Sqlite } from './database.ts'

export type Value = string | number | null
const prepared = new WeakMap<Sqlite, Map<string, Statement<Value[]>>>()

/** A prepared statement, kept with its database. */
function statement(db: Sqlite, source: string): Statement<Value[]> {
  let kept = prepared.get(db)
  if (!kept) prepared.set(db, (kept = new Map()))
  let found = kept.get(source)
  if (!found) kept.set(source, (found = db.prepare<Value[]>(source)))
  return found
}

/** All rows; the caller says what a row is, which the STRICT tables hold to. */
export const all = <R>(db: Sqlite, source: string, ...values: Value[]): R[] => statement(db, source).all(...values) as R[]
export const one = <R>(db: Sqlite, source: string, ...values: Value[]): R | undefined =>
  statement(db, source).get(...values) as R | undefined
/** Runs a change and answers with the number of rows changed. */
export const run = (db: Sqlite, source: string, ...values: Value[]): number => statement(db, source).run(...values).changes

export const count = (db: Sqlite, table: string): number => one<{ n: number }>(db, `SELECT count(*) AS n FROM ${table}`)!.n

/** Inserts a row, or replaces the one with the same key in place, so that rows which refer to it stay. */
export function put(db: Sqlite, table: string, row: Readonly<Record<string, Value>>, key = 'id'): void {
  const names = Object.keys(row)
  const updates = names.filter((name) => name !== key).map((name) => `${name} = excluded.${name}`)
  run(
    db,
    `INSERT INTO ${table} (${names.join(', ')}) VALUES (${names.map(() => '?').join(', ')}) ON CONFLICT (${key}) DO UPDATE SET ${updates.join(', ')}`,
    ...names.map((name) => row[name]!),
  )
}
