import { createHash, randomUUID } from 'node:crypto'
import { existsSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { buffer } from 'node:stream/consumers'
import { promisify } from 'node:util'
import { createCanvas, loadImage } from '@napi-rs/canvas'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { fromBuffer, type Entry, type ZipFile } from 'yauzl'
import type { Finding } from '../../shared/contract/finding.ts'
import type { Input } from '../../shared/contract/operations.ts'
import { manifestSchema, newPlan, type Manifest, type Pack } from '../../shared/contract/plan.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { paneBackground } from '../../shared/picture/palette.ts'
import type { OpenDesk } from '../../electron/desk/createDesk.ts'
import { batchOf, clipFile, headerOf, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'

const now = Date.UTC(2026, 4, 14, 10)
const get = { method: 'GET', headers: new Headers() }

let folder: ReturnType<typeof temporaryFolder>
let library: string
let desk: OpenDesk
let studentId: string
let clipIds: string[]
let swingId: string
let lesson: string

const consent = (given: boolean) => ({ student: { given, on: null }, guardian: { given: false, name: '', on: null }, purpose: '', until: null })

beforeEach(async () => {
  folder = temporaryFolder()
  library = join(folder.path, 'library')
  desk = openFakeDesk(library, { now: () => now })
  studentId = (await desk.call('student.save', studentOf('Ines Falk', { injuries: 'Low back' }))).id
  await desk.call('takeIn.start', batchOf([clipFile(folder.path, 'ines face on.mp4'), clipFile(folder.path, 'ines down the line.mp4')], { studentId, pair: 'one-swing' }))
  await settled(desk)
  const [swing] = await desk.call('swing.list', {})
  swingId = swing!.id
  clipIds = [swing!.leftClipId!, swing!.rightClipId!]
  lesson = await lessonOf(clipIds, 'Ines, first look')
})
afterEach(async () => {
  await desk.close()
  folder[Symbol.dispose]()
})

async function lessonOf(clips: readonly string[], title: string, of: string | null = studentId): Promise<string> {
  const known = await Promise.all(clips.map((id) => desk.call('clip.get', { id })))
  const { id } = await desk.call('walkthrough.begin', { swingId: of === studentId ? swingId : null, studentId: of, title, sampleRate: 48_000, header: headerOf(known) })
  await desk.call('walkthrough.append', { id, at: 0, sound: new Uint8Array(9600), rows: [] })
  await desk.call('walkthrough.finish', { id })
  return id
}

const mark = (clipId: string): Mark => ({ id: randomUUID(), clipId, shape: 'box', meaning: 'head-box', points: [[400, 300], [600, 480]] as never, text: '', span: null, ink: 'head', weight: 4, dashed: false, hidden: false, order: 1 })
const findingOf = (more: Partial<Finding> = {}): Input<'finding.save'> => ({
  id: randomUUID(), clipId: clipIds[0]!, swingId, at: 'top', saw: 'The trail elbow points behind you',
  number: { title: 'Shaft azimuth', view: null, value: 14.2, unit: 'deg', sigma: 2.4, lo: 11.8, hi: 16.6, basis: 'both views' },
  source: { kind: 'frame', tick: 3000 }, picture: { tick: 3000, zoom: 1, centre: null, mirror: false, marks: [mark(clipIds[0]!)] }, shown: true, role: 'follows', order: 0, ...more,
})
const prescribe = async (cardId: string, more: Partial<Input<'prescription.save'>> = {}) =>
  desk.call('prescription.save', { id: randomUUID(), studentId, walkthroughId: lesson, cardId, dose: { sets: 3, repetitions: 8, daysAWeek: 5 }, note: '', filmBy: '2026-05-28', order: 0, ...more })

/** Puts together and waits; throws what it was refused with. */
async function packed(request: Input<'plan.pack'>): Promise<Pack> {
  const { id } = await desk.call('plan.pack', request)
  const job = (await settled(desk)).find((each) => each.id === id)!
  if (job.fault) throw Object.assign(new Error(job.fault.message), { fault: job.fault })
  return (await desk.call('plan.packs', { walkthroughId: request.walkthroughId })).find((pack) => pack.id === job.result)!
}
const kindOf = async (work: Promise<unknown>): Promise<string> => work.then(() => 'done', (error: { fault?: { kind: string } }) => error.fault?.kind ?? String(error))

describe('findings', () => {
  test('are kept with their number and picture, put in order, and go with their clip', async () => {
    const [one, two, three] = [await desk.call('finding.save', findingOf()), await desk.call('finding.save', findingOf({ saw: 'Across the line', order: 1 })), await desk.call('finding.save', findingOf({ saw: 'Head out', clipId: clipIds[1]!, picture: { tick: 0, zoom: 1, centre: null, mirror: false, marks: [] }, role: 'aside' }))]
    await desk.call('finding.arrange', { cause: two.id, follows: [three.id, one.id], aside: [] })
    const list = await desk.call('finding.list', { walkthroughId: lesson })
    expect(list.map(({ id, role }) => [id, role])).toEqual([[two.id, 'cause'], [three.id, 'follows'], [one.id, 'follows']])
    expect(list[2]).toMatchObject({ number: one.number, picture: one.picture, source: one.source, createdAt: now })
    // Its words changed, taken away, and put back with the same id: as it was.
    await desk.call('finding.save', { ...findingOf(), id: one.id, saw: 'Behind' })
    expect((await desk.call('finding.list', { clipIds: [clipIds[0]!] })).map(({ saw }) => saw).toSorted()).toEqual(['Across the line', 'Behind'])
    await desk.call('finding.remove', { id: one.id })
    expect(await kindOf(desk.call('finding.remove', { id: one.id }))).toBe('not-found')
    const { createdAt: _at, ...back } = one
    await desk.call('finding.save', back)
    await desk.call('clip.remove', { id: clipIds[1]! })
    expect((await desk.call('finding.list', { clipIds })).map(({ id }) => id).toSorted()).toEqual([one.id, two.id].toSorted())
  })

  test('that show no frame of their clip, or a mark of another, are refused', async () => {
    expect(await kindOf(desk.call('finding.save', findingOf({ picture: { tick: 6000, zoom: 1, centre: null, mirror: false, marks: [] } })))).toBe('bad-input')
    expect(await kindOf(desk.call('finding.save', findingOf({ picture: { tick: 0, zoom: 1, centre: null, mirror: false, marks: [mark(clipIds[1]!)] } })))).toBe('bad-input')
    expect(await kindOf(desk.call('finding.save', findingOf({ clipId: 'gone' })))).toBe('not-found')
    expect(await kindOf(desk.call('finding.arrange', { cause: 'a', follows: ['a'], aside: [] }))).toBe('bad-input')
  })

  test('have a picture that is drawn once, anew when it changes, and goes with them', async () => {
    const finding = await desk.call('finding.save', findingOf())
    const picture = async () => Buffer.from(await (await desk.media(`finding/${finding.id}.jpg`, get)).arrayBuffer())
    const first = await picture()
    expect([...first.subarray(0, 2)]).toEqual([0xff, 0xd8])
    const kept = () => readdirSync(join(library, 'derived'), { recursive: true }).map(String).filter((name) => name.includes('finding-'))
    expect(kept()).toHaveLength(1)
    expect((await picture()).equals(first)).toBe(true)
    const { createdAt: _at, ...same } = finding
    await desk.call('finding.save', { ...same, picture: { ...same.picture, mirror: true } })
    expect((await picture()).equals(first)).toBe(false)
    expect(kept()).toHaveLength(1)
    await desk.call('finding.remove', { id: finding.id })
    expect(kept()).toEqual([])
    expect((await desk.media(`finding/${finding.id}.jpg`, get)).status).toBe(404)
  })

  test('show the other view too where the coach wants both, and go on alone without it', async () => {
    const beside = { clipId: clipIds[1]!, pane: 1 as const, shown: true, tick: 1500, zoom: 1, centre: null, mirror: false, marks: [mark(clipIds[1]!)] }
    const finding = await desk.call('finding.save', findingOf({ picture: { ...findingOf().picture, beside } }))
    const { createdAt: _at, ...same } = finding
    const image = async () => loadImage(Buffer.from(await (await desk.media(`finding/${finding.id}.jpg`, get)).arrayBuffer()))
    const both = await image()
    await desk.call('finding.save', { ...same, picture: { ...same.picture, beside: { ...beside, shown: false } } })
    const alone = await image()
    const at = (from: Awaited<typeof both>, x: number, y: number): number[] => {
      const context = createCanvas(from.width, from.height).getContext('2d')
      context.drawImage(from, 0, 0)
      return [...context.getImageData(x, y, 1, 1).data.subarray(0, 3)]
    }
    expect([both.width, both.height, alone.width, alone.height]).toEqual([1200, 1000, 900, 1200])
    // Between the two stands the ground; alone, the picture goes on through the middle.
    const ground = [1, 3, 5].map((i) => Number.parseInt(paneBackground.slice(i, i + 2), 16))
    expect(Math.max(...at(both, 599, 500).map((c, i) => Math.abs(c - ground[i]!)))).toBeLessThan(8)
    expect(Math.max(...at(alone, 449, 600).map((c, i) => Math.abs(c - ground[i]!)))).toBeGreaterThan(30)

    await desk.call('finding.save', same)
    await image()
    const kept = () => readdirSync(join(library, 'derived'), { recursive: true }).map(String).filter((name) => name.includes('finding-'))
    expect(kept()).toHaveLength(1)
    const { files } = await desk.call('clip.remove', { id: clipIds[1]! })
    // The picture that showed it is gone from the disk at once, not when it is next asked for.
    expect(files.filter((name) => name.includes(`finding-${finding.id}`))).toHaveLength(1)
    expect(kept()).toEqual([])
    expect(at(await image(), 449, 600)).toEqual(at(alone, 449, 600))
  })

  test('are refused with another view that is none of this student’s, or has no such frame', async () => {
    const beside = (more: object) => ({ picture: { ...findingOf().picture, beside: { clipId: clipIds[1]!, pane: 1 as const, shown: true, tick: 0, zoom: 1, centre: null, mirror: false, marks: [], ...more } } })
    const other = (await desk.call('student.save', studentOf('Noa'))).id
    await desk.call('takeIn.start', batchOf([clipFile(folder.path, 'noa.mp4')], { studentId: other }))
    await settled(desk)
    const [theirs] = await desk.call('clip.list', { studentId: other })
    expect(await kindOf(desk.call('finding.save', findingOf(beside({}))))).toBe('done')
    expect(await kindOf(desk.call('finding.save', findingOf(beside({ clipId: theirs!.id }))))).toBe('bad-input')
    expect(await kindOf(desk.call('finding.save', findingOf(beside({ tick: 6000 }))))).toBe('bad-input')
    expect(await kindOf(desk.call('finding.save', findingOf(beside({ marks: [mark(clipIds[0]!)] }))))).toBe('bad-input')
    expect(await kindOf(desk.call('finding.save', findingOf(beside({ clipId: clipIds[0]! }))))).toBe('bad-input')
  })
})

describe('drills', () => {
  test('a starter card changed is a copy in its place, and comes back as it was; an own card is one more', async () => {
    const before = await desk.call('drill.list', {})
    const { origin: _origin, ...starter } = before[0]!
    expect(await kindOf(desk.call('drill.remove', { id: starter.id }))).toBe('bad-input')
    const copy = await desk.call('drill.save', { ...starter, title: 'In my words', clipId: clipIds[1]! })
    expect(copy).toMatchObject({ id: starter.id, origin: 'copy', title: 'In my words', clipId: clipIds[1] })
    const own = await desk.call('drill.save', { ...starter, id: null, title: 'Mine', clipId: null })
    expect(own.origin).toBe('own')
    const list = await desk.call('drill.list', {})
    expect(list).toHaveLength(before.length + 1)
    expect(list.filter(({ id }) => id === starter.id)).toEqual([copy])
    // The clip that demonstrates it goes; the card stays.
    await desk.call('clip.remove', { id: clipIds[1]! })
    expect((await desk.call('drill.list', {})).find(({ id }) => id === starter.id)?.clipId).toBeNull()
    await desk.call('drill.remove', { id: starter.id })
    await desk.call('drill.remove', { id: own.id })
    expect(await desk.call('drill.list', {})).toEqual(before)
    expect(await kindOf(desk.call('drill.save', { ...starter, id: 'nobody knows' }))).toBe('not-found')
  })

  test('what is prescribed follows the card until it is handed over, and then stays', async () => {
    const card = (await desk.call('drill.list', {})).find(({ id }) => id === 'let-them-fall')!
    const given = await prescribe(card.id)
    expect(given).toMatchObject({ card: { title: card.title }, handedOverAt: null, filmBy: '2026-05-28' })
    const { origin: _origin, ...text } = card
    await desk.call('drill.save', { ...text, title: 'Let them drop' })
    const titles = async () => (await desk.call('prescription.list', { walkthroughId: lesson })).map((one) => one.card.title)
    expect(await titles()).toEqual(['Let them drop'])
    await packed({ walkthroughId: lesson, kind: 'zip', title: 'Lesson', videoId: null, demonstrations: false, to: null })
    await desk.call('drill.remove', { id: card.id })
    expect(await titles()).toEqual(['Let them drop'])
    expect((await desk.call('prescription.list', { studentId }))[0]!.handedOverAt).toBe(now)
    await desk.call('prescription.remove', { id: given.id })
    expect(await titles()).toEqual([])
  })
})

describe('phrases', () => {
  test('what was written is offered again, the kept first found, and never a sentence that names a student', async () => {
    await desk.call('finding.save', findingOf({ saw: 'The trail elbow points behind you' }))
    await desk.call('finding.save', findingOf({ saw: 'The trail elbow points behind you' }))
    await desk.call('finding.save', findingOf({ saw: 'Ines lifts her head' }))
    await desk.call('phrase.keep', { kind: 'saw', text: 'The head leaves its box' })
    const search = async (words: string) => (await desk.call('phrase.search', { kind: 'saw', words, most: 10 })).map(({ text, used, id }) => [text, used, id !== null])
    expect(await search('')).toEqual([['The trail elbow points behind you', 2, false], ['The head leaves its box', 0, true]])
    expect(await search('beh elb')).toEqual([['The trail elbow points behind you', 2, false]])
    expect(await search('lifts')).toEqual([])
    expect(await desk.call('phrase.search', { kind: 'cause', words: '', most: 10 })).toEqual([])
    const [kept] = await desk.call('phrase.search', { kind: 'saw', words: 'box', most: 1 })
    await desk.call('phrase.forget', { id: kept!.id! })
    expect(await search('box')).toEqual([])
    expect(await kindOf(desk.call('phrase.forget', { id: kept!.id! }))).toBe('not-found')
  })
})

describe('plans', () => {
  const fill = async (): Promise<void> => {
    const cause = await desk.call('finding.save', findingOf())
    await desk.call('finding.arrange', { cause: cause.id, follows: [], aside: [] })
    await prescribe('elbow-under-the-tray')
    await desk.call('settings.set', { plan: { name: 'Mara Lind', lines: ['mara@example.test'], paper: 'a4' } })
    await desk.call('plan.save', { ...newPlan(lesson), because: 'From there the shaft can only go across.' })
  }

  test('say what they still lack, and then nothing', async () => {
    const bare = await desk.call('plan.get', { walkthroughId: lesson })
    expect(bare.gaps.map((line) => line.split(' ').slice(0, 2).join(' '))).toEqual(['No cause', 'No picture', 'No drill', 'Your own'])
    expect(bare.plan).toEqual(newPlan(lesson))
    // Nothing is placed on the clips: the advice tells where the phone should stand.
    expect(bare.advice.map(({ view }) => view)).toEqual(['face-on', 'down-the-line'])
    expect(bare.advice[0]!.sentences.join(' ')).toMatch(/^Put the phone straight out from the middle of your stance/)
    await fill()
    const full = await desk.call('plan.get', { walkthroughId: lesson })
    expect(full).toMatchObject({ gaps: [], barred: null, plan: { because: 'From there the shaft can only go across.' } })
    expect(await kindOf(desk.call('plan.get', { walkthroughId: 'none' }))).toBe('not-found')
  })

  test('start from an earlier lesson: sentences and drills come over, what is there stays', async () => {
    await fill()
    await desk.call('plan.save', { ...newPlan(lesson), cause: 'The elbow', because: 'Because', filmWords: 'Film ten', filmViews: ['face-on'] })
    const next = await lessonOf(clipIds, 'Ines, again')
    await desk.call('plan.save', { ...newPlan(next), cause: 'My own words', filmBy: '2026-06-20' })
    const plan = await desk.call('plan.startFrom', { walkthroughId: next, from: lesson })
    expect(plan).toMatchObject({ cause: 'My own words', because: 'Because', filmWords: 'Film ten', filmViews: ['face-on'], filmBy: '2026-06-20' })
    await desk.call('plan.startFrom', { walkthroughId: next, from: lesson })
    const drills = await desk.call('prescription.list', { walkthroughId: next })
    expect(drills.map(({ cardId, filmBy }) => [cardId, filmBy])).toEqual([['elbow-under-the-tray', '2026-06-20']])
  })

  test('a folder and a zip hold what the manifest says, with right sizes and hashes, and nothing of the student that was not chosen', async () => {
    await fill()
    await desk.call('plan.save', { ...newPlan(lesson), named: 'none' })
    const { handoff } = await desk.call('handoff.start', { walkthroughId: lesson, settings: { size: '720p', orientation: 'portrait', fps: 30, title: 'Your swing' }, to: null })
    await settled(desk)
    const request = { walkthroughId: lesson, title: 'Your swing: May', videoId: handoff.id, demonstrations: true, to: null }
    const card = (await desk.call('drill.list', {})).find(({ id }) => id === 'elbow-under-the-tray')!
    const { origin: _origin, ...text } = card
    await desk.call('drill.save', { ...text, clipId: clipIds[0]! })
    const flat = await packed({ ...request, kind: 'folder' })
    expect(flat.path.startsWith(join(library, 'handoffs', 'Your swing May'))).toBe(true)
    const manifest = manifestSchema.parse(JSON.parse(readFileSync(join(flat.path, 'manifest.json'), 'utf8')))
    expect(manifest).toMatchObject({ title: 'Your swing: May', made: '2026-05-14' })
    expect(manifest.files.map(({ path, what }) => [path, what])).toEqual([
      ['Your swing May.mp4', 'video'], ['Practice plan.pdf', 'plan-pdf'], ['Practice plan.html', 'plan-page'],
      ['pictures/1 The trail elbow points behind you.jpg', 'picture'], ['demonstrations/1 Elbow under the tray.mp4', 'demonstration'],
    ])
    const onDisk = readdirSync(flat.path, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile()).map((entry) => join(entry.parentPath, entry.name).slice(flat.path.length + 1).replaceAll('\\', '/'))
    expect(onDisk.toSorted()).toEqual(['manifest.json', ...manifest.files.map(({ path }) => path)].toSorted())
    for (const file of manifest.files) checkFile(file, readFileSync(join(flat.path, file.path)))
    expect(flat.bytes).toBe(onDisk.reduce((sum, path) => sum + statSync(join(flat.path, path)).size, 0))

    const zipped = await packed({ ...request, kind: 'zip' })
    const zip = readFileSync(zipped.path)
    expect(zip.length).toBe(zipped.bytes)
    const entries = await unzip(zip)
    expect([...entries.keys()]).toEqual(['manifest.json', ...manifest.files.map(({ path }) => path)])
    const inside = manifestSchema.parse(JSON.parse(entries.get('manifest.json')!.toString()))
    for (const file of inside.files) checkFile(file, entries.get(file.path)!)
    // The same on the same day is the same, byte for byte.
    const again = await packed({ ...request, kind: 'zip' })
    expect(readFileSync(again.path).equals(zip)).toBe(true)
    const served = await desk.media(`pack/${zipped.id}.zip`, get)
    expect(Buffer.from(await served.arrayBuffer()).equals(zip)).toBe(true)
    for (const [name, bytes] of entries) if (/html|json/.test(name)) expect(bytes.toString()).not.toMatch(/Ines|Falk|Low back/)
    // The library still holds together, and a sweep leaves it alone.
    expect(await desk.call('library.check', { deep: true })).toMatchObject({ sound: true, swept: [] })
    expect(await desk.call('plan.packs', { walkthroughId: lesson })).toHaveLength(3)
  })

  test('putting it together can be cancelled and tried again; nothing is left behind meanwhile', async () => {
    await fill()
    const { id } = await desk.call('plan.pack', { walkthroughId: lesson, kind: 'zip', title: 'Lesson', videoId: null, demonstrations: false, to: null })
    await desk.call('job.cancel', { id })
    expect((await desk.call('job.list', {})).find((job) => job.id === id)).toMatchObject({ kind: 'pack', state: 'cancelled' })
    expect(await desk.call('plan.packs', { walkthroughId: lesson })).toEqual([])
    for (const place of ['handoffs', 'incoming']) expect(readdirSync(join(library, place)), place).toEqual([])
    await desk.call('job.retry', { id })
    expect((await settled(desk)).find((job) => job.id === id)).toMatchObject({ state: 'done', progress: 1 })
    const [pack] = await desk.call('plan.packs', { walkthroughId: lesson })
    expect(readdirSync(join(library, 'handoffs'))).toEqual([pack!.path.slice(join(library, 'handoffs').length + 1)])
  })

  test('are for nobody before consent of child and parent, nor with a swing that is for lessons only', async () => {
    await fill()
    const pack = () => packed({ walkthroughId: lesson, kind: 'zip' as const, title: 'Lesson', videoId: null, demonstrations: false, to: null })
    const save = (more: object) => desk.call('student.save', { ...studentOf('Ines Falk', { injuries: '' }), ...more, id: studentId })
    await save({ minor: true, consent: consent(true) })
    expect(await kindOf(pack())).toBe('no-consent')
    expect((await desk.call('plan.get', { walkthroughId: lesson })).barred).toMatch(/parent's consent/)
    for (const ending of ['html', 'pdf']) expect((await desk.media(`plan/${lesson}.${ending}`, get)).status, ending).toBe(403)
    // The coach still sees it.
    expect((await desk.media(`plan-preview/${lesson}.html`, get)).status).toBe(200)
    expect(readdirSync(join(library, 'handoffs'))).toEqual([])
    expect(readdirSync(join(library, 'incoming'))).toEqual([])
    await save({ minor: false, consent: consent(true) })
    await desk.call('shelf.note', { keys: [swingId], patch: { permission: 'lessons-only' } })
    expect(await kindOf(pack())).toBe('may-not-be-sent')
    await desk.call('shelf.note', { keys: [swingId], patch: { permission: 'may-be-sent' } })
    expect((await pack()).kind).toBe('zip')
  })

  test('a demonstration by somebody without consent bars the folder that would hold it', async () => {
    await fill()
    const child = await desk.call('student.save', studentOf('Joss', { minor: true, consent: consent(false) }))
    await desk.call('takeIn.start', batchOf([clipFile(folder.path, 'joss.mp4')], { studentId: child.id }))
    await settled(desk)
    const demo = (await desk.call('clip.list', { studentId: child.id }))[0]!
    const { origin: _origin, ...card } = (await desk.call('drill.list', {})).find(({ id }) => id === 'elbow-under-the-tray')!
    await desk.call('drill.save', { ...card, clipId: demo.id })
    const pack = (demonstrations: boolean) => packed({ walkthroughId: lesson, kind: 'folder', title: 'Lesson', videoId: null, demonstrations, to: null })
    expect(await kindOf(pack(true))).toBe('no-consent')
    expect(await kindOf(pack(false))).toBe('done')
  })

  test('what was handed over goes with the student, but not what the coach put beside it', async () => {
    await fill()
    const to = join(folder.path, 'for Ines')
    const pack = await packed({ walkthroughId: lesson, kind: 'folder', title: 'Lesson', videoId: null, demonstrations: false, to })
    const zip = await packed({ walkthroughId: lesson, kind: 'zip', title: 'Lesson', videoId: null, demonstrations: false, to: null })
    expect(await kindOf(packed({ walkthroughId: lesson, kind: 'folder', title: 'Lesson', videoId: null, demonstrations: false, to }))).toBe('bad-input')
    expect(await kindOf(packed({ walkthroughId: lesson, kind: 'zip', title: 'Lesson', videoId: null, demonstrations: false, to: 'here.zip' }))).toBe('bad-input')
    writeFileSync(join(to, 'my own note.txt'), 'call on Monday')
    const { files } = await desk.call('student.remove', { id: studentId })
    expect(files).toEqual(expect.arrayContaining([zip.path, join(to, 'Practice plan.pdf')]))
    expect(existsSync(zip.path)).toBe(false)
    expect(readdirSync(pack.path, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile()).map(({ name }) => name)).toEqual(['my own note.txt'])
    rmSync(to, { recursive: true })
  })
})

function checkFile({ path, bytes, sha256 }: Manifest['files'][number], content: Buffer): void {
  expect(content.length, path).toBe(bytes)
  expect(createHash('sha256').update(content).digest('hex'), path).toBe(sha256)
}

async function unzip(zip: Buffer): Promise<Map<string, Buffer>> {
  const file = await (promisify(fromBuffer) as (bytes: Buffer, options: object) => Promise<ZipFile>)(zip, { lazyEntries: true })
  const out = new Map<string, Buffer>()
  return new Promise((resolve, reject) => {
    file.on('entry', (entry: Entry) => {
      file.openReadStream(entry, (error, stream) => {
        if (error) return reject(error)
        void buffer(stream).then((content) => {
          out.set(entry.fileName, content)
          file.readEntry()
        }, reject)
      })
    })
    file.once('end', () => resolve(out))
    file.once('error', reject)
    file.readEntry()
  })
}
