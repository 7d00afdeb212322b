import { mkdir, readdir, rm, stat, utimes } from 'node:fs/promises'
import { join } from 'node:path'
import { readPackets, type PacketRun } from './packetFile.ts'

/** Two gigabytes: some two hours of lessons at 1080p. */
export const segmentsLimit = 2 * 2 ** 30

/**
 * A folder of finished segments by key, so that what did not change is not made again and a render that broke off goes on
 * where it was. Everything in it can be made again: it is no part of a backup and may be emptied at any time.
 */
export class SegmentStore {
  readonly #folder: string

  private constructor(folder: string) {
    this.#folder = folder
  }

  static async open(folder: string): Promise<SegmentStore> {
    await mkdir(folder, { recursive: true })
    return new SegmentStore(folder)
  }

  pathOf(key: string): string {
    return join(this.#folder, `${key}.segment`)
  }

  /** Whether a segment is there; it counts as used now. A broken one is read as none when it is needed. */
  async has(key: string): Promise<boolean> {
    const now = new Date()
    return utimes(this.pathOf(key), now, now).then(() => true, () => false)
  }

  async size(key: string): Promise<number> {
    return (await stat(this.pathOf(key))).size
  }

  /** Null where it is not there, or not whole. */
  read(key: string): Promise<PacketRun | null> {
    return readPackets(this.pathOf(key))
  }

  async remove(key: string): Promise<void> {
    await rm(this.pathOf(key), { force: true })
  }

  /** Drops what was not used for longest until the rest fits; what was only half written goes too. Nothing may be at work in the folder. */
  sweep(limit: number = segmentsLimit): Promise<void> {
    return sweepSegments(this.#folder, limit)
  }
}

export async function sweepSegments(folder: string, limit: number = segmentsLimit): Promise<void> {
  const names = await readdir(folder).catch(() => [])
  const files = await Promise.all(names.map(async (name) => {
    const path = join(folder, name)
    const facts = await stat(path).catch(() => null)
    return { path, whole: name.endsWith('.segment'), size: facts?.size ?? 0, used: facts?.mtimeMs ?? 0 }
  }))
  let total = 0
  for (const { path, whole, size } of files.sort((a, b) => b.used - a.used)) {
    if (whole && total + size <= limit) total += size
    else await rm(path, { force: true, recursive: true })
  }
}
