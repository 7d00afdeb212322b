import { createHash } from 'node:crypto'
import { open } from 'node:fs/promises'
import { rmSync } from 'node:fs'
import { openPromise, type Entry, type ZipFile } from 'yauzl'
import { bundleHeadSchema, bundleVersion, manifestName, manifestSchema, mostClipBytes, mostManifestBytes, type BundleClip, type Manifest } from '../../../shared/contract/bundle.ts'
import { DeskError } from '../../../shared/contract/errors.ts'
import { knownFault } from '../../library/faults.ts'
import { refusal } from './refusal.ts'

/** An opened bundle whose manifest holds together. Close it. */
export interface OpenBundle {
  readonly manifest: Manifest
  /** Writes a clip's bytes to a new file and checks them against the manifest; nothing is left at `to` where they do not fit. */
  extract(clip: BundleClip, to: string, options: { readonly signal: AbortSignal; readonly onBytes: (bytes: number) => void }): Promise<void>
  close(): void
}

/** A manifest and two clips; whatever brings more is no bundle. */
const mostEntries = 3
/** Pictures do not pack any smaller; what claims to unpack to so many times its size is a trap. */
const mostSwelling = 20

/**
 * Opens a bundle and reads its manifest. Names in the archive are never used as paths: entries are found by the names that the
 * manifest may give, and all others are refused. Sizes are checked before and while anything is unpacked.
 */
export async function openBundle(path: string, name: string): Promise<OpenBundle> {
  let zip: ZipFile
  try {
    zip = await openPromise(path, { lazyEntries: true, autoClose: false, strictFileNames: true, validateEntrySizes: true })
  } catch (error) {
    throw knownFault(error, path) ?? refusal(name, 'is no swing bundle: it is not a zip archive, or it is cut off', undefined, error)
  }
  try {
    const entries = await entriesOf(zip, name)
    const manifest = await readManifest(zip, entries, name)
    const wanted = new Set([manifestName, ...manifest.clips.map(({ file }) => file)])
    if (wanted.size !== entries.size || [...wanted].some((one) => !entries.has(one)))
      throw refusal(name, 'does not hold just the clips that its manifest lists')
    for (const { file, bytes } of manifest.clips)
      if (entries.get(file)!.uncompressedSize !== bytes) throw refusal(name, `holds ${file} in another size than its manifest says`)
    return { manifest, extract: (clip, to, options) => extract(zip, entries.get(clip.file)!, clip, to, name, options), close: () => zip.close() }
  } catch (error) {
    zip.close()
    throw knownFault(error, path) ?? error
  }
}

async function entriesOf(zip: ZipFile, name: string): Promise<ReadonlyMap<string, Entry>> {
  const entries = new Map<string, Entry>()
  if (zip.entryCount > mostEntries) throw refusal(name, `is no swing bundle: it holds ${zip.entryCount} files`, null)
  try {
    for await (const entry of zip.eachEntry()) {
      if (entries.has(entry.fileName)) throw refusal(name, 'holds two files of one name')
      if (entry.isEncrypted()) throw refusal(name, 'is locked with a password', 'Ask for it without one.')
      const most = entry.fileName === manifestName ? mostManifestBytes : mostClipBytes
      if (entry.uncompressedSize > most) throw refusal(name, `holds ${entry.fileName}, which is too large for a swing`, null)
      if (entry.fileName !== manifestName && entry.uncompressedSize > entry.compressedSize * mostSwelling + 2 ** 20)
        throw refusal(name, `claims that ${entry.fileName} unpacks to ${Math.round(entry.uncompressedSize / entry.compressedSize)} times its size, which no clip does`, null)
      entries.set(entry.fileName, entry)
    }
  } catch (error) {
    // The reader refuses names that lead out of a folder, and directories that contradict themselves.
    throw error instanceof DeskError ? error : refusal(name, `is no sound archive (${error instanceof Error ? error.message.split('\n')[0] : 'it cannot be read'})`, undefined, error)
  }
  return entries
}

async function readManifest(zip: ZipFile, entries: ReadonlyMap<string, Entry>, name: string): Promise<Manifest> {
  const entry = entries.get(manifestName)
  if (!entry) throw refusal(name, 'is no swing bundle: it has no manifest.json')
  const pieces: Buffer[] = []
  let value: unknown
  try {
    let bytes = 0
    for await (const piece of await zip.openReadStreamPromise(entry)) {
      if ((bytes += (piece as Buffer).length) > mostManifestBytes) throw refusal(name, 'has a manifest that is too large for a swing', null)
      pieces.push(piece as Buffer)
    }
    value = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(Buffer.concat(pieces)))
  } catch (error) {
    throw error instanceof DeskError ? error : refusal(name, 'has a manifest that cannot be read', undefined, error)
  }
  const head = bundleHeadSchema.safeParse(value)
  if (!head.success) throw refusal(name, 'is no swing bundle: its manifest does not say that it is one')
  if (head.data.version > bundleVersion)
    throw refusal(name, `was made by a newer Crossbearing (its format is number ${head.data.version}, this program knows up to ${bundleVersion})`, 'Bring it in with the newer program.')
  const parsed = manifestSchema.safeParse(value)
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!
    throw refusal(name, `has a manifest that does not hold together (${issue.path.map(String).join('.')}: ${issue.message})`)
  }
  const manifest = parsed.data
  if (new Set(manifest.clips.map(({ file }) => file.slice(0, 7))).size !== manifest.clips.length) throw refusal(name, 'lists one clip twice')
  if (manifest.swing === null && manifest.clips.length > 1) throw refusal(name, 'has two clips and does not say how they belong together')
  return manifest
}

async function extract(zip: ZipFile, entry: Entry, clip: BundleClip, to: string, name: string, { signal, onBytes }: Parameters<OpenBundle['extract']>[2]): Promise<void> {
  const hash = createHash('sha256')
  const file = await open(to, 'wx', 0o600)
  let bytes = 0
  try {
    for await (const chunk of await zip.openReadStreamPromise(entry)) {
      signal.throwIfAborted()
      const piece = chunk as Buffer
      if ((bytes += piece.length) > clip.bytes) throw refusal(name, `holds more of ${clip.file} than its manifest says`)
      hash.update(piece)
      for (let at = 0; at < piece.length;) at += (await file.write(piece, at, piece.length - at)).bytesWritten
      onBytes(piece.length)
    }
    if (bytes !== clip.bytes || hash.digest('hex') !== clip.sha256) throw refusal(name, `is damaged: ${clip.file} is not the clip that its manifest describes`)
    await file.sync()
  } catch (error) {
    await file.close()
    rmSync(to, { force: true })
    signal.throwIfAborted()
    throw knownFault(error) ?? (error instanceof DeskError ? error : refusal(name, `is damaged: ${clip.file} cannot be unpacked`, undefined, error))
  }
  await file.close()
}
