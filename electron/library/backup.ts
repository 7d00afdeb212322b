import { constants, existsSync, mkdirSync, readdirSync, renameSync, rmSync, statSync } from 'node:fs'
import { copyFile, mkdir } from 'node:fs/promises'
import { dirname, join } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Sqlite } from './database.ts'
import { layoutOf, type Layout } from './layout.ts'

export interface BackupOptions {
  readonly signal?: AbortSignal
  readonly onProgress?: (share: number) => void
}

/** Files of a folder and the folders in it, relative to it. */
function* filesUnder(folder: string, below = ''): Generator<string> {
  if (!existsSync(join(folder, below))) return
  for (const entry of readdirSync(join(folder, below), { withFileTypes: true })) {
    const path = join(below, entry.name)
    if (entry.isDirectory()) yield* filesUnder(folder, path)
    else yield path
  }
}

const parts = (layout: Layout): string[] => [layout.originals, layout.derived, layout.walkthroughs, layout.handoffs]

/** Copies files into a folder beside `to`, then renames it: `to` is there whole or not at all. */
async function copyWhole(
  from: Layout,
  to: string,
  database: (target: string) => void | Promise<void>,
  { signal, onProgress }: BackupOptions,
): Promise<number> {
  if (existsSync(to))
    throw new DeskError('bad-input', 'There is something of that name already.', { where: to, remedy: 'Choose a name that is not taken.' })
  const unfinished = `${to}.unfinished-${process.pid}`
  mkdirSync(dirname(to), { recursive: true })
  mkdirSync(unfinished)
  try {
    const target = layoutOf(unfinished)
    await database(target.database)
    let bytes = statSync(target.database).size
    const files = parts(from).flatMap((part) => [...filesUnder(from.folder, part.slice(from.folder.length + 1))])
    const total = files.reduce((sum, path) => sum + statSync(join(from.folder, path)).size, 0)
    let copied = 0
    for (const path of files) {
      signal?.throwIfAborted()
      await mkdir(dirname(join(unfinished, path)), { recursive: true })
      await copyFile(join(from.folder, path), join(unfinished, path), constants.COPYFILE_EXCL | constants.COPYFILE_FICLONE)
      const size = statSync(join(unfinished, path)).size
      bytes += size
      onProgress?.(total === 0 ? 1 : (copied += size) / total)
    }
    renameSync(unfinished, to)
    return bytes
  } catch (error) {
    rmSync(unfinished, { recursive: true, force: true })
    throw error
  }
}

/** The whole library, as it is now, in a new folder that opens as a library itself. Answers with its size. */
export const backupLibrary = (db: Sqlite, layout: Layout, to: string, options: BackupOptions = {}): Promise<number> =>
  copyWhole(layout, to, (target) => void db.prepare('VACUUM INTO ?').run(target), options)

/** Brings a backup back as a library in a folder that does not exist yet, or is empty. */
export async function restoreLibrary(from: string, to: string, options: BackupOptions = {}): Promise<number> {
  const source = layoutOf(from)
  if (!existsSync(source.database))
    throw new DeskError('not-found', 'This folder holds no backup: there is no library.sqlite in it.', {
      where: from,
      remedy: 'Name the folder that the backup was written to.',
    })
  if (existsSync(to) && readdirSync(to).length === 0) rmSync(to, { recursive: true })
  return copyWhole(source, to, (target) => copyFile(source.database, target, constants.COPYFILE_EXCL), options)
}
