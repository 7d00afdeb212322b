import { createHash } from 'node:crypto'
import { createWriteStream, existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { pipeline } from 'node:stream/promises'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { openPromise } from 'yauzl'
import { ZipFile } from 'yazl'
import { createDesk, type OpenDesk } from '../../electron/desk/createDesk.ts'
import { probe } from '../../electron/media/probe.ts'
import type { Manifest } from '../../shared/contract/bundle.ts'
import { usualInput } from '../../renderer/arms/face/faceState.ts'
import type { Clip } from '../../shared/contract/clip.ts'
import { guideId, landmarkId, positionId, type Digitised } from '../../shared/contract/digitising.ts'
import type { Job } from '../../shared/contract/job.ts'
import type { ShelfItem } from '../../shared/contract/shelf.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { batchOf, clipFile, fakeEngines, frames, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex')
const shelf = async (desk: OpenDesk, text = ''): Promise<ShelfItem[]> => (await desk.call('shelf.search', { text, order: 'newest', offset: 0, limit: 50 })).items

async function send(desk: OpenDesk, key: string, to: string, withName = true): Promise<Job> {
  await desk.call('shelf.bundle', { key, to, withName })
  return (await settled(desk)).at(-1)!
}
async function bring(desk: OpenDesk, path: string): Promise<Job> {
  await desk.call('shelf.unbundle', { source: { path } })
  return (await settled(desk)).at(-1)!
}

type Entries = readonly (readonly [name: string, bytes: Uint8Array, compress?: boolean])[]
async function zipOf(path: string, entries: Entries): Promise<string> {
  const zip = new ZipFile()
  for (const [name, bytes, compress = false] of entries) zip.addBuffer(Buffer.from(bytes), name, { compress })
  zip.end()
  await pipeline(zip.outputStream, createWriteStream(path))
  return path
}
async function entriesOf(path: string): Promise<Map<string, Buffer>> {
  const zip = await openPromise(path, { lazyEntries: true, autoClose: false })
  const found = new Map<string, Buffer>()
  for await (const entry of zip.eachEntry()) {
    const pieces: Buffer[] = []
    for await (const piece of await zip.openReadStreamPromise(entry)) pieces.push(piece as Buffer)
    found.set(entry.fileName, Buffer.concat(pieces))
  }
  zip.close()
  return found
}

const markOf = (clip: Clip, id: string, from: number, to: number): Mark => ({
  id, clipId: clip.id, shape: 'segment', meaning: null, points: [imagePoint(10, 20), imagePoint(30, 45)], text: 'Here', span: { from, to }, ink: 'lead', weight: 4, dashed: false, hidden: false, order: 1,
})

describe('a swing sent from one library to another, with real clips', () => {
  const outside = temporaryFolder()
  const files = { front: join(outside.path, 'IMG_0001.mov.mp4'), line: join(outside.path, 'IMG_0002.mp4') }
  beforeAll(async () => {
    const tags = { location: '+48.1374+011.5755/', 'com.apple.quicktime.make': 'Phone', 'com.apple.quicktime.model': 'Phone 12', 'com.android.capture.fps': '240' }
    await makeNumberedClip(files.front, { width: 180, height: 320, frames: 24, fps: 30, gop: 8, bframes: 2, rotate: 90, preset: 'ultrafast', sound: 'beep', tags })
    // Some frames at the head are hidden by an edit list, as after trimming on a phone.
    await makeNumberedClip(files.line, { width: 180, height: 320, frames: 20, fps: 30, gop: 10, hidden: 4, preset: 'ultrafast' })
  })
  afterAll(() => outside[Symbol.dispose]())

  test('a left-hander: no place and no phone in it, everything else is there again, and twice makes nothing double', async () => {
    using here = temporaryFolder()
    using there = temporaryFolder()
    using post = temporaryFolder()
    expect((await probe(files.front)).description.hasLocation).toBe(true)

    const desk = createDesk({ folder: here.path, checkAnswers: true, log: () => {} })
    const student = await desk.call('student.save', studentOf('Ada Lindqvist', { handedness: 'left', minor: true, consent: { student: { given: true, on: '2026-01-02' }, guardian: { given: true, name: 'Eva Lindqvist', on: '2026-01-03' }, purpose: 'lessons', until: null } }))
    const batch = batchOf([files.front, files.line], { studentId: student.id, pair: 'one-swing', handedness: 'left' })
    await desk.call('takeIn.start', { ...batch, items: batch.items.map((item, i) => ({ ...item, view: i === 0 ? 'face-on' : 'down-the-line' })) })
    expect((await settled(desk)).map(({ state }) => state)).toEqual(['done', 'done'])
    const [item] = await shelf(desk)
    const [front, line] = await Promise.all(item!.clips.map(({ id }) => desk.call('clip.get', { id })))
    await desk.call('clip.update', { id: line!.id, patch: { mirrored: true } })
    const [swing] = await desk.call('swing.list', {})
    await desk.call('swing.save', { ...swing!, tie: { left: front!.frames.ticks[6]!, right: line!.frames.ticks[5]! } })
    const placed = (clip: Clip): Digitised[] => [
      { kind: 'landmark', id: landmarkId(clip.id, clip.frames.ticks[3]!, 'hands'), clipId: clip.id, tick: clip.frames.ticks[3]!, point: 'hands', at: imagePoint(90.5, 160.25), sigmaPx: 1.5, placed: 2, by: 'coach' },
      { kind: 'position', id: positionId(clip.id, 'top'), clipId: clip.id, name: 'top', tick: clip.frames.ticks[7]!, falls: 'between', sigmaS: null, by: 'program' },
      { kind: 'guide', id: guideId(clip.id, 'known'), clipId: clip.id, name: 'known', ends: [imagePoint(10, 10), imagePoint(10, 110)], metres: 1.2, by: 'coach' },
    ]
    const records = [front!, line!].flatMap(placed)
    await desk.call('digitising.apply', { diff: { added: Object.fromEntries(records.map((record) => [record.id, record])), updated: {}, removed: {} } })
    const marks = [markOf(front!, 'm1', front!.frames.ticks[2]!, front!.frames.ticks[9]!), markOf(line!, 'm2', line!.frames.ticks[0]!, line!.frames.ticks.at(-1)!)]
    await desk.call('marks.apply', { diff: { added: Object.fromEntries(marks.map((mark) => [mark.id, mark])), updated: {}, removed: {} } })
    const said = { ...usualInput, face: { value: 2.5, sigma: 1 }, closureBasis: 'seen on the range' }
    await desk.call('face.keep', { clipIds: [front!.id, line!.id], input: said })
    await desk.call('shelf.note', { keys: [item!.key], patch: { reference: true, permission: 'lessons-only', source: 'My own camera', licence: 'Hers' } })
    await desk.call('shelf.tag', { keys: [item!.key], add: ['slow hands'], remove: [] })

    const path = join(post.path, 'Ada.crossbearing-swing.zip')
    expect(await send(desk, item!.key, path)).toMatchObject({ state: 'done', result: path })
    const again = join(post.path, 'Again.crossbearing-swing.zip')
    await send(desk, item!.key, again)
    expect(sha256(readFileSync(again))).toBe(sha256(readFileSync(path)))
    await expect(desk.call('shelf.bundle', { key: item!.key, to: path, withName: true })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })

    const inside = await entriesOf(path)
    expect([...inside.keys()].toSorted()).toEqual(['clips/1.mp4', 'clips/2.mp4', 'manifest.json'])
    for (const [name, bytes] of inside) {
      expect([name, bytes.includes('48.13'), bytes.includes('Phone'), bytes.includes('IMG_000')]).toEqual([name, false, false, false])
      if (name.startsWith('clips')) writeFileSync(join(post.path, name.slice(6)), bytes)
    }
    const copy = await probe(join(post.path, '1.mp4'))
    expect(copy.description).toMatchObject({ hasLocation: false, filmedAt: null, display: { width: 180, height: 320 }, orientation: { rotation: 90 } })
    expect(copy.description.sound).not.toBeNull()

    const other = createDesk({ folder: there.path, checkAnswers: true, log: () => {} })
    expect(await bring(other, path)).toMatchObject({ state: 'done', step: 'Brought in' })
    const [came] = await shelf(other)
    expect(came).toMatchObject({ student: 'Ada Lindqvist', handedness: 'left', reference: true, permission: 'lessons-only', source: 'My own camera', licence: 'Hers', tags: ['slow hands'], club: '7-iron' })
    expect(await other.call('student.list', {})).toMatchObject([{ id: student.id, minor: true, consent: student.consent, handedness: 'left', statureM: 1.8 }])
    const cameClips = await Promise.all(came!.clips.map(({ id }) => other.call('clip.get', { id })))
    for (const [i, clip] of cameClips.entries()) {
      const was = [front!, line!][i]!
      expect(clip).toMatchObject({ view: was.view, width: was.width, height: was.height, captureRate: was.captureRate, captureRateBasis: was.captureRateBasis, filmedAt: was.filmedAt, handedness: 'left', mirrored: i === 1 })
      // Ticks may count otherwise; the frames are the same ones.
      const frameOf = (of: Clip, tick: number): number => of.frames.ticks.indexOf(tick)
      const now = await other.call('digitising.list', { clipIds: [clip.id] })
      const shape = (of: Clip, list: readonly Digitised[]) => list.map((record) => ({ ...record, id: '', clipId: '', ...('tick' in record ? { tick: frameOf(of, record.tick) } : {}) })).toSorted((a, b) => (a.kind < b.kind ? -1 : 1))
      expect(shape(clip, now)).toEqual(shape(was, placed(was)))
      expect(now.every(({ id }) => id.startsWith(clip.id))).toBe(true)
      const [mark] = await other.call('marks.list', { clipIds: [clip.id] })
      expect([frameOf(clip, mark!.span!.from), frameOf(clip, mark!.span!.to)]).toEqual([frameOf(was, marks[i]!.span!.from), frameOf(was, marks[i]!.span!.to)])
      expect({ ...mark, id: '', clipId: '', span: null }).toEqual({ ...marks[i]!, id: '', clipId: '', span: null })
    }
    for (const { id } of cameClips) expect(await other.call('face.kept', { clipIds: [id] })).toEqual({ input: said })
    const [cameSwing] = await other.call('swing.list', {})
    expect([cameClips[0]!.frames.ticks.indexOf(cameSwing!.tie!.left), cameClips[1]!.frames.ticks.indexOf(cameSwing!.tie!.right)]).toEqual([6, 5])

    expect(await bring(other, path)).toMatchObject({ state: 'done', step: 'Already in the library' })
    // Where it comes from it is known by its original.
    expect(await bring(desk, path)).toMatchObject({ state: 'done', step: 'Already in the library' })
    for (const one of [desk, other]) {
      expect([(await one.call('clip.list', {})).length, (await one.call('swing.list', {})).length, (await one.call('student.list', {})).length]).toEqual([2, 1, 1])
      expect(await one.call('library.check', { deep: true })).toEqual({ sound: true, findings: [], swept: [] })
      await one.close()
    }
  })
})

/** A library with one single clip of four frames, and a bundle of it. */
async function bundled(folder: string, post: string): Promise<{ desk: OpenDesk; path: string; item: ShelfItem; manifest: Manifest; clip: Buffer }> {
  const desk = openFakeDesk(folder)
  const student = await desk.call('student.save', studentOf('Bo', { handedness: 'left' }))
  await desk.call('takeIn.start', batchOf([clipFile(post, 'bo.mp4', 'the pictures of Bo, as they came from the phone')], { studentId: student.id }))
  await settled(desk)
  const [item] = await shelf(desk)
  const path = join(post, 'bo.crossbearing-swing.zip')
  expect(await send(desk, item!.key, path)).toMatchObject({ state: 'done' })
  const inside = await entriesOf(path)
  return { desk, path, item: item!, manifest: JSON.parse(inside.get('manifest.json')!.toString()) as Manifest, clip: inside.get('clips/1.mp4')! }
}

describe('bundles', () => {
  test('without the name nobody is named, and a minor brought in so cannot be handed off', async () => {
    using folder = temporaryFolder()
    using other = temporaryFolder()
    using post = temporaryFolder()
    const { desk, item } = await bundled(folder.path, post.path)
    const [student] = await desk.call('student.list', {})
    await desk.call('student.save', { ...student!, minor: true })
    await expect(desk.call('shelf.bundle', { key: item.key, to: join(post.path, 'x.zip'), withName: true })).rejects.toMatchObject({ fault: { kind: 'no-consent' } })
    await desk.call('student.save', { ...student!, minor: true, consent: { ...student!.consent, guardian: { given: true, name: 'Mother of Bo', on: null } } })
    const path = join(post.path, 'unnamed.crossbearing-swing.zip')
    await send(desk, item.key, path, false)
    expect((await entriesOf(path)).get('manifest.json')!.toString()).not.toMatch(/Bo\b/)
    const there = openFakeDesk(other.path)
    expect(await bring(there, path)).toMatchObject({ state: 'done' })
    expect(await there.call('student.list', {})).toMatchObject([{ name: 'Unnamed player', minor: true, consent: { guardian: { given: true, name: '' } } }])
    // Nothing was said about sending it: whoever brings it in may look, not send.
    expect(await shelf(there)).toMatchObject([{ permission: 'lessons-only' }])
    for (const one of [desk, there]) await one.close()
  })

  test('what was said of face and path is added where nothing was said, never in place of it; a bundle from before it travelled comes in as well', async () => {
    using folder = temporaryFolder()
    using other = temporaryFolder()
    using post = temporaryFolder()
    const { desk, path, manifest, clip } = await bundled(folder.path, post.path)
    await desk.close()
    expect(manifest).not.toHaveProperty('face')
    const there = openFakeDesk(other.path)
    expect(await bring(there, path)).toMatchObject({ state: 'done', step: 'Brought in' })
    const clipIds = (await there.call('clip.list', {})).map(({ id }) => id)
    expect(await there.call('face.kept', { clipIds })).toEqual({ input: null })
    const withFace = (face: unknown, name: string): Promise<string> => zipOf(join(post.path, name), [['clips/1.mp4', clip], ['manifest.json', Buffer.from(JSON.stringify({ ...manifest, face })), true]])
    expect(await bring(there, await withFace({ ...usualInput, path: { value: -3, sigma: 1 } }, 'said.zip'))).toMatchObject({ state: 'done', step: 'Already in the library; what it lacked was added' })
    expect(await bring(there, await withFace({ ...usualInput, path: { value: 9, sigma: 1 } }, 'other.zip'))).toMatchObject({ state: 'done', step: 'Already in the library' })
    expect(await there.call('face.kept', { clipIds })).toMatchObject({ input: { path: { value: -3 } } })
    expect(await bring(there, await withFace({ ...usualInput, path: 'open' }, 'wrong.zip'))).toMatchObject({ state: 'failed' })
    await there.close()
  })

  test('a bundle can be cancelled on its way out and in, and leaves nothing', async () => {
    using folder = temporaryFolder()
    using other = temporaryFolder()
    using post = temporaryFolder()
    const { desk, path, item } = await bundled(folder.path, post.path)
    await desk.close()
    const slow = fakeEngines({ hold: (_path, signal) => new Promise((resolve) => signal!.addEventListener('abort', () => resolve())) })
    const waiting = { ...slow.media, strip: (from: string, out: string, { signal }: { signal?: AbortSignal } = {}) => new Promise<never>((_, reject) => signal!.addEventListener('abort', () => reject(new DOMException('cancelled', 'AbortError')))) }
    const out = openFakeDesk(folder.path, { engines: { ...slow, media: waiting } })
    const started = await out.call('shelf.bundle', { key: item.key, to: join(post.path, 'never.zip'), withName: true })
    await new Promise((resolve) => setTimeout(resolve, 30))
    expect(await out.call('job.cancel', { id: started.id })).toMatchObject({ state: 'cancelled' })
    expect(existsSync(join(post.path, 'never.zip'))).toBe(false)
    await out.close()
    const into = openFakeDesk(other.path, { engines: slow })
    const coming = await into.call('shelf.unbundle', { source: { path } })
    await new Promise((resolve) => setTimeout(resolve, 30))
    expect(await into.call('job.cancel', { id: coming.id })).toMatchObject({ state: 'cancelled' })
    expect(await shelf(into)).toEqual([])
    await into.close()
    for (const each of [folder, other]) expect(readdirSync(join(each.path, 'incoming'))).toEqual([])
  })

  test('what is hostile or broken is refused in one sentence and leaves nothing behind', async () => {
    using folder = temporaryFolder()
    using other = temporaryFolder()
    using post = temporaryFolder()
    const { desk, path, manifest, clip } = await bundled(folder.path, post.path)
    await desk.close()
    const there = openFakeDesk(other.path)
    const good = readFileSync(path)
    let made = 0
    const file = (): string => join(post.path, `hostile-${++made}.zip`)
    const raw = (bytes: Uint8Array): string => {
      const at = file()
      writeFileSync(at, bytes)
      return at
    }
    const text = (value: unknown): Buffer => Buffer.from(JSON.stringify(value))
    const zip = (value: unknown, more: Entries = [['clips/1.mp4', clip]]) => zipOf(file(), [['manifest.json', text(value)], ...more])
    const swapped = (from: string, to: string): string => raw(Buffer.from(good.toString('latin1').replaceAll(from, to), 'latin1'))
    const first = manifest.clips[0]!
    const withClip = (more: object): unknown => ({ ...manifest, clips: [{ ...first, ...more }] })
    const zeros = Buffer.alloc(30 * 2 ** 20)
    const offPicture = { kind: 'landmark', id: `clips/1.mp4/0/hands`, clipId: 'clips/1.mp4', tick: 0, point: 'hands', at: [5000, 2], sigmaPx: null, placed: 1, by: 'coach' }

    const cases: [why: RegExp, path: string | Promise<string>][] = [
      [/is no swing bundle: it is not a zip archive/, raw(Buffer.from('not a zip at all'))],
      [/is no swing bundle: it is not a zip archive, or it is cut off/, raw(good.subarray(0, good.length - 40))],
      [/is no swing bundle: it has no manifest/, zipOf(file(), [['clips/1.mp4', clip]])],
      [/is no sound archive \(invalid relative path/, swapped('clips/1.mp4', '../../x.mp4')],
      [/is no sound archive \(absolute path/, swapped('clips/1.mp4', '/etc/1x.mp4')],
      [/does not hold just the clips that its manifest lists/, swapped('clips/1.mp4', 'clips/9.mp4')],
      [/does not hold just the clips/, zip(manifest, [['clips/1.mp4', clip], ['more.sh', Buffer.from('rm')]])],
      [/holds 5 files/, zip(manifest, [['clips/1.mp4', clip], ['a', clip], ['b', clip], ['c', clip]])],
      [/holds two files of one name/, zip(manifest, [['clips/1.mp4', clip], ['clips/1.mp4', clip]])],
      [/claims that clips\/1.mp4 unpacks to \d+ times its size/, zip(withClip({ bytes: zeros.length, sha256: sha256(zeros) }), [['clips/1.mp4', zeros, true]])],
      [/has a manifest that cannot be read/, zipOf(file(), [['manifest.json', Buffer.from('{"format":')], ['clips/1.mp4', clip]])],
      [/its manifest does not say that it is one/, zip({ format: 'something else', version: 1 })],
      [/made by a newer Crossbearing \(its format is number 2, this program knows up to 1\)/, zip({ ...manifest, version: 2, clips: 'otherwise' })],
      [/does not hold together \(clips.0.file: is not clips\/1 or clips\/2\)/, zip(withClip({ file: '../1.mp4' }))],
      [/does not hold together \(clips.0.captureRate/, zip(withClip({ captureRate: -1 }))],
      [/does not hold together \(clips.0.frames: do not follow one another\)/, zip(withClip({ frames: { ...frames, ticks: [0, 3000, 1500, 4500] } }))],
      [/does not hold together \(player.id/, zip({ ...manifest, player: { ...manifest.player, id: '../../etc' } })],
      [/holds clips\/1.mp4 in another size/, zip(withClip({ bytes: clip.length + 1 }))],
      [/is damaged: clips\/1.mp4 is not the clip that its manifest describes/, zip(withClip({ sha256: 'f'.repeat(64) }))],
      [/is damaged: clips\/1.mp4/, swapped('the pictures of Bo', 'the pictures of Xo')],
      [/is damaged: clips\/1.mp4 is not the clip that its manifest describes/, zip(withClip({ frames: { ...frames, ticks: [0, 1500, 3000, 5500] } }))],
      [/is damaged: clips\/1.mp4 is not the clip that its manifest describes/, zip(withClip({ width: 99 }))],
      [/hands lies off the picture/, zip(withClip({ digitised: [offPicture] }))],
      [/is not there/, join(post.path, 'no such file.zip')],
    ]
    for (const [why, each] of cases) {
      const job = await bring(there, await each)
      expect([why.source, job.state]).toEqual([why.source, 'failed'])
      expect(job.fault!.message).toMatch(why)
      expect(job.fault!.message).toMatch(/^[^\n]+[.]$/)
      expect(job.fault!.message).not.toContain(post.path)
    }
    expect([await there.call('clip.list', {}), await there.call('student.list', {}), await there.call('swing.list', {})]).toEqual([[], [], []])
    expect(readdirSync(join(other.path, 'incoming'))).toEqual([])
    for (const store of ['originals', 'derived']) expect(readdirSync(join(other.path, store), { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile())).toEqual([])
    expect(existsSync(join(post.path, '..', 'x.mp4'))).toBe(false)
    expect(await there.call('library.check', { deep: true })).toMatchObject({ sound: true, swept: [] })
    // The good one still comes in after all of these.
    expect(await bring(there, path)).toMatchObject({ state: 'done', step: 'Brought in' })
    await there.close()
  })
})
