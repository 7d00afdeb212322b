import { createWriteStream } from 'node:fs'
import { open } from 'node:fs/promises'
import { basename, join } from 'node:path'
import { pipeline } from 'node:stream/promises'
import { Transform } from 'node:stream'
import { ZipFile } from 'yazl'
import { bundleFormat, bundleVersion, manifestName, type BundleClip, type Manifest } from '../../../shared/contract/bundle.ts'
import type { Clip } from '../../../shared/contract/clip.ts'
import { idOf } from '../../../shared/contract/digitising.ts'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { ShelfItem } from '../../../shared/contract/shelf.ts'
import type { Student } from '../../../shared/contract/student.ts'
import { framesBefore } from '../../../shared/shelf/frames.ts'
import { getClip } from '../../library/clips.ts'
import { listDigitised } from '../../library/digitised.ts'
import { keptFaceInput } from '../../library/faceInputs.ts'
import type { Library } from '../../library/library.ts'
import { listMarks } from '../../library/marks.ts'
import { hashFile, originalPath } from '../../library/mediaStore.ts'
import { getStudent } from '../../library/students.ts'
import { getSwing } from '../../library/swings.ts'
import type { MediaEngine } from '../engines.ts'
import type { Running } from '../jobRunner.ts'

/** Every entry bears the same date, so that the same swing gives the same bytes again. */
const entryDate = new Date(2000, 0, 1)
/** Shares of the whole, roughly as the time goes. */
const copying = 0.7

/** Writes a swing of the Shelf to `work/bundle.zip`, on the disk when this answers. The clips are copied without their tags. */
export async function writeBundle(
  { library, media }: { readonly library: Library; readonly media: MediaEngine },
  item: ShelfItem,
  withName: boolean,
  work: string,
  { signal, report }: Running,
): Promise<string> {
  const { db, layout } = library
  const clips: BundleClip[] = []
  const zip = new ZipFile()
  for (const [i, { id }] of item.clips.entries()) {
    const clip = getClip(db, id)
    if (!clip) throw new DeskError('not-found', 'A clip of this swing is not in the library any more.', { where: id })
    const begin = (i / item.clips.length) * copying
    const tell = (share: number, step: string): void => report(begin + (share / item.clips.length) * copying, step)
    const copy = await media.strip(originalPath(layout, clip.hash), join(work, `clip-${i + 1}`), { signal, onProgress: ({ share, step }) => tell(share * 0.8, step) })
    if (framesBefore(clip.frames, copy.frames) === null)
      throw new DeskError('bad-media', `${clip.fileName} cannot be copied without its tags: the copy would not hold the same frames.`, { where: clip.fileName })
    const sha256 = await hashFile(copy.path, { signal, onProgress: (share) => tell(0.8 + share * 0.2, 'Checking the copy') })
    const file = `clips/${i + 1}.${copy.ending}`
    clips.push({ ...placedOn(library, clip, file), file, bytes: copy.bytes, sha256, originalSha256: clip.hash, ...factsOf(clip) })
    zip.addFile(copy.path, file, { compress: false, mtime: entryDate, mode: 0o100644 })
  }
  const student = item.studentId === null ? null : getStudent(db, item.studentId)
  const swing = item.swingId === null ? null : getSwing(db, item.swingId)
  const both = item.clips.length === 2
  const face = keptFaceInput(db, item.clips.map(({ id }) => id))
  const manifest: Manifest = {
    format: bundleFormat, version: bundleVersion,
    player: student && playerOf(student, withName),
    swing: swing && { title: swing.title, pairing: swing.pairing, tie: both ? swing.tie : null },
    reference: item.reference, permission: item.permission, source: item.source, licence: item.licence, tags: item.tags,
    ...(face && { face }),
    clips,
  }
  zip.addBuffer(Buffer.from(JSON.stringify(manifest, null, 1)), manifestName, { compress: true, mtime: entryDate, mode: 0o100644 })
  zip.end()
  const path = join(work, 'bundle.zip')
  const total = clips.reduce((sum, { bytes }) => sum + bytes, 1)
  let written = 0
  const counting = new Transform({
    transform(piece: Buffer, _encoding, done) {
      written += piece.length
      report(copying + (1 - copying) * Math.min(1, written / total), 'Writing the bundle')
      done(null, piece)
    },
  })
  await pipeline(zip.outputStream, counting, createWriteStream(path, { flags: 'wx', mode: 0o600 }), { signal })
  const file = await open(path, 'r+')
  await file.sync()
  await file.close()
  return path
}

const factsOf = ({ view, handedness, mirrored, width, height, captureRate, captureRateBasis, filmedAt, club, frames }: Clip) =>
  ({ view, handedness, mirrored, width, height, captureRate, captureRateBasis, filmedAt, club, frames })

/** What was placed on a clip, its clip named as the archive names it. */
function placedOn({ db }: Library, clip: Clip, file: string): Pick<BundleClip, 'digitised' | 'marks'> {
  return {
    digitised: listDigitised(db, [clip.id]).map((record) => {
      const moved = { ...record, clipId: file }
      return { ...moved, id: idOf(moved) }
    }),
    marks: listMarks(db, [clip.id]).map((mark, i) => ({ ...mark, clipId: file, id: `${basename(file)}/${i + 1}` })),
  }
}

export const unnamed = 'Unnamed player'

function playerOf({ id, name, handedness, statureM, clubs, minor, consent }: Student, withName: boolean): Manifest['player'] {
  if (withName) return { id, name, handedness, statureM, clubs, minor, consent }
  return { id, name: unnamed, handedness, statureM, clubs, minor, consent: { ...consent, guardian: { ...consent.guardian, name: '' } } }
}
