import { randomUUID } from 'node:crypto'
import { mkdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import type { BundleClip, Manifest } from '../../../shared/contract/bundle.ts'
import type { Clip } from '../../../shared/contract/clip.ts'
import { idOf, type Digitised } from '../../../shared/contract/digitising.ts'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { Student } from '../../../shared/contract/student.ts'
import type { Mark } from '../../../shared/markup/mark.ts'
import { carriedTick, framesBefore } from '../../../shared/shelf/frames.ts'
import { digitisedFault } from '../../../shared/swing/digitised.ts'
import { frameAt } from '../../../shared/walkthrough/motion.ts'
import { addClip, getClip, getClipByHash } from '../../library/clips.ts'
import { applyDigitised, listDigitised } from '../../library/digitised.ts'
import { keepFaceInput, keptFaceInput } from '../../library/faceInputs.ts'
import { applyMarks, listMarks } from '../../library/marks.ts'
import { derivedFolder, dropFile, originalPath, placeDerived, placeOriginal } from '../../library/mediaStore.ts'
import { noteClips, tagClips } from '../../library/shelf.ts'
import { getStudent, listStudents, saveStudent } from '../../library/students.ts'
import { swingsOfClips, saveSwing } from '../../library/swings.ts'
import type { TakenIn } from '../engines.ts'
import { faultOf } from '../faultOf.ts'
import type { Finished, Running } from '../jobRunner.ts'
import type { TakeInParts } from '../takeInJob.ts'
import { openBundle } from './readBundle.ts'
import { refusal } from './refusal.ts'
import { unnamed } from './writeBundle.ts'

/** A clip of the bundle on its way in: one that was there already, or one that was unpacked and read. */
type Coming =
  | { readonly said: BundleClip; readonly known: Clip; readonly made: null }
  | { readonly said: BundleClip; readonly known: null; readonly made: { readonly taken: TakenIn; readonly original: string; readonly derived: string; readonly before: number } }

/** Unpacking is quick beside making review copies. */
const unpacking = 0.15

/**
 * Brings a bundle in: unpack and check every clip, make what is made of it, then move all to its place and add the rows in one go.
 * What is there already is recognised by its hash and stays as it is; only what it lacks is added. On any failure nothing is left.
 */
export async function bringBundle(parts: TakeInParts, path: string, name: string, work: string, { signal, report }: Running): Promise<Finished> {
  const { library, media } = parts
  rmSync(work, { recursive: true, force: true })
  mkdirSync(work)
  try {
    report(0, 'Looking at the bundle')
    const bundle = await openBundle(path, name)
    try {
      const { manifest } = bundle
      const total = manifest.clips.reduce((sum, { bytes }) => sum + bytes, 0)
      let unpacked = 0
      const originalOf = (i: number): string => join(work, `original-${i}`)
      // All clips are checked before work begins on any, those that are there too: a bundle that is damaged anywhere is refused whole.
      for (const [i, said] of manifest.clips.entries())
        await bundle.extract(said, originalOf(i), { signal, onBytes: (bytes) => report(((unpacked += bytes) / total) * unpacking, 'Unpacking') })
      const coming: Coming[] = []
      for (const [i, said] of manifest.clips.entries()) {
        const original = originalOf(i)
        const known = getClipByHash(library.db, said.originalSha256) ?? getClipByHash(library.db, said.sha256)
        if (known) {
          if (framesBefore(said.frames, known.frames) === null) throw refusal(name, `says other frames of ${said.file} than the clip of this library has`)
          coming.push({ said, known, made: null })
          continue
        }
        const derived = join(work, `derived-${i}`)
        mkdirSync(derived)
        const begin = unpacking + (i / manifest.clips.length) * (1 - unpacking)
        const label = { path: original, name: `${name}, ${said.file}` }
        const taken = await media.inspect(original, { signal }).then(() => media.takeIn(original, derived, {
          signal,
          onProgress: ({ share, step }) => report(begin + (share / manifest.clips.length) * (1 - unpacking), step),
        })).catch((error: unknown) => { throw faultOf(error, parts.log, label) })
        const before = framesBefore(said.frames, taken.facts.frames)
        if (before === null || taken.facts.width !== said.width || taken.facts.height !== said.height)
          throw refusal(name, `is damaged: ${said.file} is not the clip that its manifest describes`)
        coming.push({ said, known: null, made: { taken, original, derived, before } })
      }
      signal.throwIfAborted()
      return settle(parts, manifest, coming, name)
    } finally {
      bundle.close()
    }
  } finally {
    rmSync(work, { recursive: true, force: true })
  }
}

/** Files to their places, rows into the library: wholly or not at all. */
function settle({ library, hub, now }: TakeInParts, manifest: Manifest, coming: readonly Coming[], name: string): Finished {
  const { db, layout } = library
  const placed: string[] = []
  try {
    for (const { said, made } of coming) {
      if (!made) continue
      placed.push(said.sha256)
      placeDerived(layout, made.derived, said.sha256)
      placeOriginal(layout, made.original, said.sha256)
    }
    const news = db.transaction(() => {
      const student = manifest.player && studentFor(db, manifest.player, now())
      const clips = coming.map((one) => one.known ?? addComing(db, one, student?.id ?? null, now()))
      const isNew = coming.some(({ made }) => made !== null)
      const added = coming.map(({ said, known, made }, i) => addPlaced(db, said, clips[i]!, made?.before ?? framesBefore(said.frames, clips[i]!.frames)!, known === null, name))
      const said = addFace(db, manifest, clips, now())
      if (manifest.swing) addSwing(db, manifest, coming, clips, now())
      const fresh = clips.filter((_, i) => coming[i]!.made !== null).map(({ id }) => id)
      // Whoever sent it may have meant this coach alone: without a word it is for lessons only.
      noteClips(db, fresh, { reference: manifest.reference, permission: manifest.permission === 'not-said' ? 'lessons-only' : manifest.permission, source: manifest.source || `Brought in as ${name}`, licence: manifest.licence })
      tagClips(db, fresh, manifest.tags, [])
      return { isNew, added: said || added.some(Boolean), result: clips[0]!.id }
    }).immediate()
    hub.changed('students', 'clips', 'swings', 'marks', 'digitising', 'shelf')
    return { result: news.result, step: news.isNew ? 'Brought in' : news.added ? 'Already in the library; what it lacked was added' : 'Already in the library' }
  } catch (error) {
    for (const hash of placed) {
      if (getClipByHash(db, hash)) continue
      dropFile(originalPath(layout, hash))
      dropFile(derivedFolder(layout, hash))
    }
    throw error
  }
}

type Db = TakeInParts['library']['db']

/** The player: known by the id of the library it comes from, or by the same name and hands; else a new student. What is known is not changed. */
function studentFor(db: Db, player: NonNullable<Manifest['player']>, createdAt: number): Student {
  const known = getStudent(db, player.id)
    ?? (player.name === unnamed ? null : listStudents(db).find(({ name, handedness, minor }) => name === player.name && handedness === player.handedness && minor === player.minor))
  if (known) return known
  const student: Student = { ...player, goals: '', ballFlight: '', injuries: '', createdAt }
  saveStudent(db, student)
  return student
}

const viewNames = { 'face-on': 'face-on', 'down-the-line': 'down the line', other: 'another view' } as const

function addComing(db: Db, { said, made }: Extract<Coming, { known: null }>, studentId: string | null, takenInAt: number): Clip {
  const clip: Clip = {
    id: randomUUID(), studentId, swingId: null, deliveryId: null,
    view: said.view, club: said.club, handedness: said.handedness, mirrored: said.mirrored ?? false, fileName: `${viewNames[said.view]}.${said.file.split('.').at(-1)!}`,
    hash: said.sha256, bytes: said.bytes, ...made.taken.facts,
    captureRate: said.captureRate, captureRateBasis: said.captureRateBasis, filmedAt: said.filmedAt, takenInAt, note: '',
  }
  addClip(db, clip, made.taken.index)
  return clip
}

/** Points and marks in the clip's own ticks. A clip that has some keeps them and gets none. Answers whether any were added. */
function addPlaced(db: Db, said: BundleClip, clip: Clip, before: number, isNew: boolean, name: string): boolean {
  const frameTick = (tick: number): number => startOfFrame(clip, carriedTick(said.frames, clip.frames, before, tick))
  let added = false
  if (said.digitised.length > 0 && (isNew || listDigitised(db, [clip.id]).length === 0)) {
    const records = said.digitised.map((record): Digitised => {
      const moved = { ...record, clipId: clip.id, ...('tick' in record ? { tick: frameTick(record.tick) } : {}) } as Digitised
      return { ...moved, id: idOf(moved) }
    })
    const fault = digitisedFault(records, clip)
    if (fault) throw new DeskError('bad-input', `${name}: ${fault}`, { where: name, remedy: 'Ask for it to be sent again.' })
    applyDigitised(db, { added: Object.fromEntries(records.map((record) => [record.id, record])), updated: {}, removed: {} })
    added = true
  }
  if (said.marks.length > 0 && (isNew || listMarks(db, [clip.id]).length === 0)) {
    const marks = said.marks.map((mark): Mark => ({ ...mark, id: randomUUID(), clipId: clip.id, span: mark.span && { from: frameTick(mark.span.from), to: frameTick(mark.span.to) } }))
    applyMarks(db, { added: Object.fromEntries(marks.map((mark) => [mark.id, mark])), updated: {}, removed: {} })
    added = true
  }
  return added
}

/** What was said of face and path, where nothing was said of it here. Answers whether it was added. */
function addFace(db: Db, { face }: Manifest, clips: readonly Clip[], at: number): boolean {
  const ids = clips.map(({ id }) => id)
  return face !== undefined && keptFaceInput(db, ids) === null && keepFaceInput(db, ids, face, at) > 0
}

/** The pair as it was; clips that are in a pair here already stay in it. */
function addSwing(db: Db, manifest: Manifest, coming: readonly Coming[], clips: readonly Clip[], createdAt: number): void {
  const { title, pairing, tie } = manifest.swing!
  const [left, right] = [clips[0]!, clips[1] ?? null]
  const isThere = swingsOfClips(db, right === null ? [left.id] : [left.id, right.id]).length > 0
  if (isThere) return
  const carried = (i: 0 | 1, tick: number): number => {
    const { said, made } = coming[i]!
    const frames = clips[i]!.frames
    return carriedTick(said.frames, frames, made?.before ?? framesBefore(said.frames, frames)!, tick)
  }
  saveSwing(db, {
    id: randomUUID(), studentId: getClip(db, left.id)!.studentId, deliveryId: null, title, pairing, leftClipId: left.id, rightClipId: right?.id ?? null,
    tie: tie && right ? { left: carried(0, tie.left), right: carried(1, tie.right) } : null, createdAt,
  })
}

/** Records stand on frames: the tick at which the frame there begins, a rounding error before it forgiven. */
const startOfFrame = ({ frames }: Clip, tick: number): number => frames.ticks[frameAt(frames, tick + 0.5)]!
