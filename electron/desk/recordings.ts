import {
  closeSync,
  existsSync,
  fsyncSync,
  ftruncateSync,
  mkdirSync,
  openSync,
  readFileSync,
  statSync,
  writeFileSync,
  writeSync,
} from 'node:fs'
import { join } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import { encodeHeader, encodeRows, type LogHeader, type LogRow } from '../../shared/walkthrough/log.ts'
import type { Library } from '../library/library.ts'
import { syncFolder } from '../library/mediaStore.ts'
import { addClipsToWalkthrough, addWalkthrough, clipsOfWalkthrough, endWalkthrough, getWalkthrough, listWalkthroughs } from '../library/walkthroughs.ts'
import { getClip } from '../library/clips.ts'

const bytesPerSample = 2

export const logPath = (library: Library, id: string): string => join(library.layout.walkthroughs, id, 'log.ndjson')
export const soundPath = (library: Library, id: string): string => join(library.layout.walkthroughs, id, 'sound.pcm')

interface Open {
  readonly log: number
  readonly sound: number
  bytes: number
  lastAt: number
  /** Every row written so far: a piece that is sent again is recognised by its rows as well as by its place. */
  readonly rows: Set<string>
}

function writeAll(file: number, bytes: Uint8Array): void {
  for (let at = 0; at < bytes.length;) at += writeSync(file, bytes, at, bytes.length - at)
}

/**
 * Walkthroughs while they are recorded. Sound is a file of bare samples, the log a file of lines; both are only appended to,
 * and are on the disk when an append answers.
 */
export class Recordings {
  readonly #library: Library
  readonly #open = new Map<string, Open>()

  constructor(library: Library) {
    this.#library = library
  }

  begin(walkthrough: Omit<Walkthrough, 'durationMs' | 'state'>, header: LogHeader): Walkthrough {
    const { db, layout } = this.#library
    const clipIds = Object.keys(header.clips)
    this.#mustHold(clipIds)
    const folder = join(layout.walkthroughs, walkthrough.id)
    mkdirSync(folder)
    const log = openSync(logPath(this.#library, walkthrough.id), 'wx')
    writeFileSync(log, encodeHeader(header))
    fsyncSync(log)
    const sound = openSync(soundPath(this.#library, walkthrough.id), 'wx')
    fsyncSync(sound)
    syncFolder(folder)
    addWalkthrough(db, { ...walkthrough, state: 'recording' }, clipIds)
    this.#open.set(walkthrough.id, { log, sound, bytes: 0, lastAt: 0, rows: new Set() })
    return getWalkthrough(db, walkthrough.id)!
  }

  /**
   * Writes a piece: `at` is the number of samples before it. What of it is on disk already is not written again.
   * Answers with the number of samples on disk.
   */
  append(id: string, at: number, sound: Uint8Array, rows: readonly LogRow[]): number {
    const open = this.#open.get(id)
    if (!open) {
      const known = getWalkthrough(this.#library.db, id)
      if (!known) throw new DeskError('not-found', 'This walkthrough is not in the library.', { where: id })
      throw new DeskError('bad-input', 'This walkthrough is not being recorded any more.', {
        where: known.title,
        remedy: 'Begin a new one.',
      })
    }
    if (sound.length % bytesPerSample !== 0)
      throw new DeskError('bad-input', 'The sound does not end at a whole sample.', { where: 'sound' })
    const from = at * bytesPerSample
    if (from > open.bytes)
      throw new DeskError(
        'bad-input',
        `Sound is missing before this piece: it begins at sample ${at}, but ${open.bytes / bytesPerSample} are written.`,
        { where: 'at', remedy: 'Send the missing piece first.' },
      )
    const lines: string[] = []
    let { lastAt } = open
    for (const row of rows) {
      const line = encodeRows([row])
      if (open.rows.has(line)) continue
      if (row[0] < lastAt) throw new DeskError('bad-input', `A row at ${row[0]} ms comes after one at ${lastAt} ms.`, { where: 'rows' })
      lastAt = row[0]
      lines.push(line)
    }
    const joining = rows.flatMap(([, event]) => (event.type === 'clips' ? Object.keys(event.clips) : []))
    this.#mustHold(joining)
    if (lines.length > 0) {
      // Whose clips a walkthrough shows decides about consent: on record before the row is.
      addClipsToWalkthrough(this.#library.db, id, joining)
      writeAll(open.log, Buffer.from(lines.join('')))
      fsyncSync(open.log)
      for (const line of lines) open.rows.add(line)
      open.lastAt = lastAt
    }
    const fresh = sound.subarray(Math.min(sound.length, open.bytes - from))
    if (fresh.length > 0) {
      writeAll(open.sound, fresh)
      fsyncSync(open.sound)
      open.bytes += fresh.length
    }
    return open.bytes / bytesPerSample
  }

  #mustHold(clipIds: readonly string[]): void {
    for (const clipId of clipIds)
      if (!getClip(this.#library.db, clipId))
        throw new DeskError('not-found', 'A clip of this walkthrough is not in the library any more.', {
          where: clipId,
          remedy: 'Open the swing again.',
        })
  }

  finish(id: string): Walkthrough {
    const { db } = this.#library
    const known = getWalkthrough(db, id)
    if (!known) throw new DeskError('not-found', 'This walkthrough is not in the library.', { where: id })
    const open = this.#open.get(id)
    // Asked twice, answered twice.
    if (!open) return known
    this.#close(id, open)
    endWalkthrough(db, id, 'whole', open.bytes / bytesPerSample)
    return getWalkthrough(db, id)!
  }

  /** Stops writing, for a walkthrough that is about to be removed. */
  abandon(id: string): void {
    const open = this.#open.get(id)
    if (open) this.#close(id, open)
  }

  /** Brings to an end what a crash interrupted: the sound that is there is the length. Answers with what was recovered. */
  recover(): Walkthrough[] {
    const { db } = this.#library
    const interrupted = listWalkthroughs(db).filter(({ id, state }) => state === 'recording' && !this.#open.has(id))
    return interrupted.map(({ id }) => {
      const sound = soundPath(this.#library, id)
      const log = logPath(this.#library, id)
      const samples = existsSync(sound) ? Math.floor(statSync(sound).size / bytesPerSample) : 0
      if (existsSync(sound)) truncate(sound, samples * bytesPerSample)
      if (existsSync(log)) truncate(log, readFileSync(log).lastIndexOf(0x0a) + 1)
      endWalkthrough(db, id, 'recovered', samples)
      return getWalkthrough(db, id)!
    })
  }

  /** Ends every recording as it stands; used when the desk closes. */
  close(): void {
    for (const id of Array.from(this.#open.keys())) this.finish(id)
  }

  /** The log's text. */
  log(id: string): string {
    if (!getWalkthrough(this.#library.db, id)) throw new DeskError('not-found', 'This walkthrough is not in the library.', { where: id })
    return readFileSync(logPath(this.#library, id), 'utf8')
  }

  clips(id: string): string[] {
    return clipsOfWalkthrough(this.#library.db, id)
  }

  #close(id: string, open: Open): void {
    closeSync(open.log)
    closeSync(open.sound)
    this.#open.delete(id)
  }
}

function truncate(path: string, bytes: number): void {
  if (statSync(path).size === bytes) return
  const file = openSync(path, 'r+')
  try {
    ftruncateSync(file, bytes)
    fsyncSync(file)
  } finally {
    closeSync(file)
  }
}
