import Database from 'better-sqlite3'
import { existsSync, mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import { knownFault } from './faults.ts'
import { migrations, type Migration } from './migrations/index.ts'

export type Sqlite = Database.Database

/** "XBRG", so that another program's database is not taken for a library. */
const applicationId = 0x58425247

const pragma = (db: Sqlite, name: string): number => db.pragma(name, { simple: true }) as number

export interface OpenOptions {
  readonly file: string
  /** Folder for the copy made before a migration. */
  readonly backups: string
  /** For tests: the migrations to know; all by default. */
  readonly known?: readonly Migration[]
}

/**
 * Opens the database and brings it to the newest schema. Throws `library-newer` for a file from a newer program (which is
 * then not touched), `library-damaged` for one that does not hold together or is no library.
 */
export function openDatabase({ file, backups, known = migrations }: OpenOptions): Sqlite {
  const isNew = !existsSync(file)
  let db: Sqlite
  try {
    db = new Database(file, { timeout: 2000 })
  } catch (error) {
    throw knownFault(error, file) ?? error
  }
  try {
    refuseForeign(db, file, known, isNew)
    db.pragma('journal_mode = WAL')
    db.pragma('synchronous = FULL')
    db.pragma('secure_delete = ON')
    db.pragma('foreign_keys = ON')
    migrate(db, { file, backups, known })
    return db
  } catch (error) {
    db.close()
    throw knownFault(error, file) ?? error
  }
}

function refuseForeign(db: Sqlite, file: string, known: readonly Migration[], isNew: boolean): void {
  const version = pragma(db, 'user_version')
  const latest = known.length
  if (isNew) return
  const id = pragma(db, 'application_id')
  const isEmpty = version === 0 && db.prepare<[], { n: number }>('SELECT count(*) AS n FROM sqlite_schema').get()!.n === 0
  if (!isEmpty && id !== applicationId)
    throw new DeskError('library-damaged', 'The file library.sqlite in this folder is not a Crossbearing library.', {
      where: file,
      remedy: 'Choose another library folder.',
    })
  if (version > latest)
    throw new DeskError(
      'library-newer',
      `This library was last used by a newer Crossbearing (its layout is number ${version}, this program knows up to ${latest}).`,
      {
        where: file,
        remedy: 'Open it with the newer program; nothing in it was changed.',
      },
    )
}

function migrate(db: Sqlite, { file, backups, known }: { file: string; backups: string; known: readonly Migration[] }): void {
  const from = pragma(db, 'user_version')
  if (from >= known.length) return
  if (from > 0) {
    mkdirSync(backups, { recursive: true })
    const copy = join(backups, `before-${from + 1}-${Date.now()}.sqlite`)
    db.prepare('VACUUM INTO ?').run(copy)
  }
  // A migration may rebuild a table that others refer to; what it leaves behind is checked before it counts.
  db.pragma('foreign_keys = OFF')
  try {
    for (const [i, step] of known.slice(from).entries()) {
      const version = from + i + 1
      db.transaction(() => {
        step(db)
        const broken = db.pragma('foreign_key_check') as unknown[]
        const integrity = db.pragma('integrity_check', { simple: true })
        if (broken.length > 0 || integrity !== 'ok')
          throw new DeskError(
            'library-damaged',
            `The library could not be brought to layout number ${version}: ${broken.length > 0 ? `${broken.length} broken references` : String(integrity)}.`,
            {
              where: file,
              remedy: 'It was left as it was; restore a backup: crossbearing restore FOLDER.',
            },
          )
        db.pragma(`application_id = ${applicationId}`)
        db.pragma(`user_version = ${version}`)
      }).exclusive()
    }
  } finally {
    db.pragma('foreign_keys = ON')
  }
}

/** The schema's number in an open database. */
export const schemaVersion = (db: Sqlite): number => pragma(db, 'user_version')
