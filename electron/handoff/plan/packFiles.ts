import { createHash } from 'node:crypto'
import { createReadStream, createWriteStream } from 'node:fs'
import { open } from 'node:fs/promises'
import { join } from 'node:path'
import { Transform } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import { ZipFile } from 'yazl'
import type { Manifest, PackFile } from '../../../shared/contract/plan.ts'

/** SHA-256 and size of a file on disk. */
export async function fingerprint(path: string, signal?: AbortSignal): Promise<Pick<PackFile, 'bytes' | 'sha256'>> {
  const hash = createHash('sha256')
  let bytes = 0
  for await (const chunk of createReadStream(path, { highWaterMark: 1 << 20, ...(signal && { signal }) })) {
    hash.update(chunk as Buffer)
    bytes += (chunk as Buffer).length
  }
  return { bytes, sha256: hash.digest('hex') }
}

export const manifestText = (manifest: Manifest): string => `${JSON.stringify(manifest, null, 2)}\n`

export interface ZipOptions {
  readonly signal?: AbortSignal
  /** Hears how many bytes are written. */
  readonly onBytes?: (done: number) => void
}

/**
 * Writes the files of a folder into a zip, the manifest first. Times in it are the day it was made, whatever the machine
 * says, so that the same files give the same zip; what is packed already (video, pictures) is only stored.
 */
export async function zipFolder(folder: string, paths: readonly string[], out: string, made: string, { signal, onBytes }: ZipOptions = {}): Promise<void> {
  const zip = new ZipFile()
  const mtime = new Date(`${made}T12:00:00Z`)
  for (const path of paths) zip.addFile(join(folder, path), path, { mtime, mode: 0o100644, compress: !/\.(mp4|jpg)$/.test(path), forceDosTimestamp: true })
  zip.end()
  let done = 0
  const counted = new Transform({
    transform(chunk: Buffer, _encoding, next) {
      onBytes?.((done += chunk.length))
      next(null, chunk)
    },
  })
  await pipeline(zip.outputStream, counted, createWriteStream(out, { flags: 'wx', mode: 0o600 }), { ...(signal && { signal }) })
  const file = await open(out, 'r+')
  await file.sync()
  await file.close()
}
