import { existsSync, readdirSync, statSync } from 'node:fs'
import { basename, join } from 'node:path'
import type { Output } from '../../shared/contract/operations.ts'
import type { Sqlite } from './database.ts'
import type { Layout } from './layout.ts'
import { derivedFolder, dropFile, hashFile, isHash, originalPath, storedHashes } from './mediaStore.ts'
import { all } from './statement.ts'

/** What each clip has beside its original. */
export const derivedFiles = ['review.mp4', 'poster.jpg', 'strip.jpg', 'strip.json'] as const

/** Deletes files that no row knows: what a crash left between a file and its row. Answers with the paths. */
export function sweep(db: Sqlite, layout: Layout, keepIncoming: ReadonlySet<string>): string[] {
  const swept: string[] = []
  const drop = (path: string) => {
    dropFile(path)
    swept.push(path)
  }
  const hashes = new Set(all<{ hash: string }>(db, 'SELECT hash FROM originals').map((row) => row.hash))
  for (const root of [layout.originals, layout.derived])
    for (const { name, path } of storedHashes(root)) if (isHash(name) && !hashes.has(name)) drop(path)
  const walkthroughs = new Set(all<{ id: string }>(db, 'SELECT id FROM walkthroughs').map((row) => row.id))
  if (existsSync(layout.walkthroughs))
    for (const id of readdirSync(layout.walkthroughs)) if (!walkthroughs.has(id)) drop(join(layout.walkthroughs, id))
  if (existsSync(layout.incoming))
    for (const name of readdirSync(layout.incoming)) if (!keepIncoming.has(name)) drop(join(layout.incoming, name))
  const handoffs = new Set(all<{ target: string }>(db, 'SELECT target FROM handoffs UNION ALL SELECT target FROM packs').map((row) => basename(row.target)))
  if (existsSync(layout.handoffs))
    for (const name of readdirSync(layout.handoffs)) if (!handoffs.has(name)) drop(join(layout.handoffs, name))
  return swept
}

export interface CheckOptions {
  /** Hash every original again. */
  readonly deep: boolean
  /** Names in the incoming folder that work under way still needs. */
  keepIncoming(): ReadonlySet<string>
}

/** Looks for what does not hold together; each finding is one sentence. */
export async function checkLibrary(db: Sqlite, layout: Layout, { deep, keepIncoming }: CheckOptions): Promise<Output<'library.check'>> {
  const findings: string[] = []
  const integrity = db.pragma('integrity_check') as { integrity_check: string }[]
  for (const { integrity_check: line } of integrity) if (line !== 'ok') findings.push(`The database: ${line}.`)
  const broken = db.pragma('foreign_key_check') as { table: string; parent: string }[]
  for (const { table, parent } of broken) findings.push(`A row of ${table} refers to one of ${parent} that is not there.`)
  for (const row of all<{ id: string; fileName: string; hash: string; bytes: number }>(
    db,
    'SELECT c.id, c.fileName, c.hash, o.bytes FROM clips c JOIN originals o ON o.hash = c.hash',
  )) {
    const path = originalPath(layout, row.hash)
    if (!existsSync(path)) findings.push(`The original of ${row.fileName} is missing.`)
    else if (statSync(path).size !== row.bytes)
      findings.push(`The original of ${row.fileName} has ${statSync(path).size} bytes instead of ${row.bytes}.`)
    else if (deep && (await hashFile(path)) !== row.hash)
      findings.push(`The original of ${row.fileName} has changed since it was taken in.`)
    for (const name of derivedFiles)
      if (!existsSync(join(derivedFolder(layout, row.hash), name))) findings.push(`${name} of ${row.fileName} is missing.`)
  }
  for (const { id, title } of all<{ id: string; title: string }>(db, 'SELECT id, title FROM walkthroughs'))
    for (const name of ['log.ndjson', 'sound.pcm'])
      if (!existsSync(join(layout.walkthroughs, id, name))) findings.push(`${name} of the walkthrough "${title}" is missing.`)
  for (const { target } of all<{ target: string }>(db, 'SELECT target FROM handoffs WHERE finished = 1 AND id NOT IN (SELECT handoffId FROM videosOffTheList)'))
    if (!existsSync(target)) findings.push(`The hand-off ${target} was moved or deleted.`)
  return { sound: findings.length === 0, findings, swept: sweep(db, layout, keepIncoming()) }
}
