import { createHash } from 'node:crypto'
import {
  createReadStream,
  chmodSync,
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
} from 'node:fs'
import { open, stat } from 'node:fs/promises'
import { dirname, join } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Layout } from './layout.ts'

export interface CopyOptions {
  readonly signal?: AbortSignal | undefined
  /** Hears of the share copied so far, 0 to 1. */
  readonly onProgress?: (share: number) => void
}

const hashPattern = /^[0-9a-f]{64}$/
export const isHash = (text: string): boolean => hashPattern.test(text)

export const originalPath = (layout: Layout, hash: string): string => join(layout.originals, hash.slice(0, 2), hash)
export const derivedFolder = (layout: Layout, hash: string): string => join(layout.derived, hash.slice(0, 2), hash)

/** Makes a rename in a folder outlast a power cut; Windows has no such call and needs none. */
export function syncFolder(folder: string): void {
  if (process.platform === 'win32') return
  const handle = openSync(folder, 'r')
  try {
    fsyncSync(handle)
  } finally {
    closeSync(handle)
  }
}

/** SHA-256 of a file, hex. */
export async function hashFile(path: string, { signal, onProgress }: CopyOptions = {}): Promise<string> {
  const total = (await stat(path)).size
  const hash = createHash('sha256')
  let done = 0
  for await (const chunk of createReadStream(path, { highWaterMark: 1 << 20, signal })) {
    const bytes = chunk as Buffer
    hash.update(bytes)
    onProgress?.(total === 0 ? 1 : Math.min(1, (done += bytes.length) / total))
  }
  return hash.digest('hex')
}

/** Copies a file to a new one, hashing on the way; it is on the disk when this answers. The copy goes where it fails. */
export async function copyHashed(
  from: string,
  to: string,
  { signal, onProgress }: CopyOptions = {},
): Promise<{ hash: string; bytes: number }> {
  const total = (await stat(from)).size
  const hash = createHash('sha256')
  const target = await open(to, 'wx', 0o600)
  let bytes = 0
  try {
    for await (const chunk of createReadStream(from, { highWaterMark: 1 << 20, signal })) {
      const piece = chunk as Buffer
      hash.update(piece)
      for (let at = 0; at < piece.length;) at += (await target.write(piece, at, piece.length - at)).bytesWritten
      bytes += piece.length
      onProgress?.(total === 0 ? 1 : Math.min(1, bytes / total))
    }
    await target.sync()
  } catch (error) {
    await target.close()
    rmSync(to, { force: true })
    throw error
  }
  await target.close()
  return { hash: hash.digest('hex'), bytes }
}

/**
 * Moves a hashed, synced file to its place among the originals. One that is there is never overwritten: the newcomer goes.
 * Synchronous, so that the row can follow without anything in between.
 */
export function placeOriginal(layout: Layout, temporary: string, hash: string): void {
  const place = originalPath(layout, hash)
  mkdirSync(dirname(place), { recursive: true })
  if (existsSync(place)) {
    if (statSync(place).size !== statSync(temporary).size)
      throw new DeskError('library-damaged', 'The library holds this clip already, but its file has another size.', {
        where: place,
        remedy: 'Check the library: crossbearing check --deep.',
      })
    rmSync(temporary)
    return
  }
  chmodSync(temporary, 0o444)
  renameSync(temporary, place)
  syncFolder(dirname(place))
}

/** Moves a folder of derived files to its place; what an interrupted take-in left there goes first. */
export function placeDerived(layout: Layout, temporary: string, hash: string): void {
  const place = derivedFolder(layout, hash)
  mkdirSync(dirname(place), { recursive: true })
  for (const name of readdirSync(temporary)) {
    const handle = openSync(join(temporary, name), 'r+')
    fsyncSync(handle)
    closeSync(handle)
  }
  rmSync(place, { recursive: true, force: true })
  renameSync(temporary, place)
  syncFolder(dirname(place))
}

/** Deletes a read-only original (Windows wants it writable first). */
export function dropFile(path: string): void {
  if (!existsSync(path)) return
  if (process.platform === 'win32') chmodSync(path, 0o600)
  rmSync(path, { recursive: true, force: true })
}

/** Every content hash that has a file or a folder under one of the stores. */
export function* storedHashes(root: string): Generator<{ name: string; path: string }> {
  if (!existsSync(root)) return
  for (const shard of readdirSync(root, { withFileTypes: true })) {
    if (!shard.isDirectory()) continue
    for (const name of readdirSync(join(root, shard.name))) yield { name, path: join(root, shard.name, name) }
  }
}
