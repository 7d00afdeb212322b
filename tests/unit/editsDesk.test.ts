import { existsSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import type { OpenDesk } from '../../electron/desk/createDesk.ts'
import type { Lesson } from '../../shared/contract/lesson.ts'
import { layoutOf } from '../../electron/library/layout.ts'
import { cutSpan, insertAt, withPieces } from '../../shared/walkthrough/editPieces.ts'
import { changeBetween } from '../../shared/walkthrough/editSteps.ts'
import { asRecorded, lengthOfAll, type Edits } from '../../shared/walkthrough/edits.ts'
import type { LogRow } from '../../shared/walkthrough/log.ts'
import { batchOf, clipFile, fakeEngines, headerOf, openFakeDesk, settled, temporaryFolder } from '../fixtures/desk.ts'

const sound = (count: number): Uint8Array => new Uint8Array(Int16Array.from({ length: count }, (_, i) => i % 1000).buffer)
let named = 0
const newId = (): string => `n${++named}`

async function record(desk: OpenDesk, { samples = 48_000, rows = [] as LogRow[], takeOf = undefined as { lessonId: string; place: { from: number; to: number } } | undefined, finish = true } = {}): Promise<string> {
  const clips = await desk.call('clip.list', {})
  const { id } = await desk.call('walkthrough.begin', { swingId: null, studentId: null, title: 'Talk', sampleRate: 48_000, header: headerOf(clips), ...(takeOf ? { takeOf } : {}) })
  await desk.call('walkthrough.append', { id, at: 0, sound: sound(samples), rows })
  if (finish) await desk.call('walkthrough.finish', { id })
  return id
}

async function withClip(folder: string, outside: string): Promise<OpenDesk> {
  const desk = openFakeDesk(folder)
  await desk.call('takeIn.start', batchOf([clipFile(outside, 'face.mp4')]))
  await settled(desk)
  return desk
}

const apply = (desk: OpenDesk, lesson: Lesson, name: string, edit: (edits: Edits) => Edits): Promise<Lesson> =>
  desk.call('lesson.apply', { id: lesson.id, version: lesson.version, name, change: changeBetween(lesson.edits, edit(lesson.edits)) })
const cut = (from: number, to: number) => (edits: Edits): Edits => withPieces(edits, cutSpan(edits.pieces, { from, to }, newId))

describe('a lesson on the desk', () => {
  test('is its recording as it is until a step is made; the steps undo, do again and outlive the program', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    let desk = await withClip(folder.path, outside.path)
    const id = await record(desk, { rows: [[200, { type: 'chapter', title: 'Grip' }]] })
    const whole = await desk.call('lesson.get', { id })
    expect(whole).toMatchObject({ id, version: 0, step: 0, steps: [], takes: [{ id, own: true }] })
    expect(whole.edits.pieces).toEqual([{ id, kind: 'take', takeId: id, from: 0, to: 48_000 }])
    expect(whole.edits.chapters).toMatchObject([{ title: 'Grip', on: { takeId: id, at: 9600 } }])

    const one = await apply(desk, whole, 'Cut a cough', cut(1000, 3000))
    const two = await apply(desk, one, 'Cut the end', cut(40_000, 46_000))
    expect(two).toMatchObject({ version: 2, step: 2 })
    expect(two.steps.map(({ name }) => name)).toEqual(['Cut a cough', 'Cut the end'])
    await desk.close()

    desk = openFakeDesk(folder.path)
    expect((await desk.call('lesson.get', { id })).edits).toEqual(two.edits)
    const back = await desk.call('lesson.step', { id, version: 2, to: 0 })
    expect(back).toMatchObject({ version: 3, step: 0 })
    expect(back.edits).toEqual(whole.edits)
    expect(back.steps).toHaveLength(2)
    const again = await desk.call('lesson.step', { id, version: 3, to: 2 })
    expect(again.edits).toEqual(two.edits)
    // A new step after an undone one takes its place.
    const undone = await desk.call('lesson.step', { id, version: again.version, to: 1 })
    const other = await apply(desk, undone, 'Cut the middle', cut(20_000, 21_000))
    expect(other.steps.map(({ name }) => name)).toEqual(['Cut a cough', 'Cut the middle'])
    expect(lengthOfAll(other.edits.pieces)).toBe(45_000)
    await desk.close()
  })

  test('refuses a step made to an older state, a piece beyond its recording, and one that is not there', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = await withClip(folder.path, outside.path)
    const id = await record(desk)
    const whole = await desk.call('lesson.get', { id })
    await apply(desk, whole, 'Cut', cut(0, 100))
    await expect(apply(desk, whole, 'Cut', cut(0, 100))).rejects.toMatchObject({ fault: { kind: 'bad-input', message: expect.stringContaining('meanwhile') } })
    await expect(desk.call('lesson.step', { id, version: 0, to: 0 })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(desk.call('lesson.step', { id, version: 1, to: 9 })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    const now = await desk.call('lesson.get', { id })
    const insert = (takeId: string, to: number) => apply(desk, now, 'Insert', (edits) => withPieces(edits, insertAt(edits.pieces, 0, [{ id: newId(), kind: 'take', takeId, from: 0, to }], newId)))
    await expect(insert(id, 60_000)).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(insert('nobody', 10)).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    const open = await record(desk, { finish: false })
    await expect(insert(open, 10)).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    expect(await desk.call('lesson.get', { id })).toEqual(now)
    await desk.close()
  })

  test('a recording made for it belongs to it, is no lesson of its own, and goes with it', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = await withClip(folder.path, outside.path)
    const id = await record(desk)
    const takeId = await record(desk, { samples: 9600, takeOf: { lessonId: id, place: { from: 24_000, to: 48_000 } } })
    expect((await desk.call('walkthrough.list', {})).find((each) => each.id === takeId)).toMatchObject({ takeOf: id })
    const lesson = await desk.call('lesson.get', { id })
    expect(lesson.takes.map((take) => [take.id, take.own, take.place])).toEqual([[id, true, null], [takeId, true, { from: 24_000, to: 48_000 }]])
    // It is not in the lesson until a step puts it there; a take of a take belongs to the lesson.
    expect(lesson.edits.pieces).toHaveLength(1)
    const third = await record(desk, { takeOf: { lessonId: takeId, place: { from: 0, to: 0 } } })
    expect((await desk.call('lesson.get', { id })).takes.map((take) => take.id)).toEqual([id, takeId, third])
    await desk.call('walkthrough.remove', { id })
    expect(await desk.call('walkthrough.list', {})).toEqual([])
    expect(readdirSync(layoutOf(folder.path).walkthroughs)).toEqual([])
    await desk.close()
  })

  test('shows a part of another lesson by reference, and is without it when that has gone', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = await withClip(folder.path, outside.path)
    const [id, other] = [await record(desk), await record(desk, { samples: 96_000 })]
    const lesson = await apply(desk, await desk.call('lesson.get', { id }), 'Insert from another lesson', (edits) => withPieces(edits, insertAt(edits.pieces, 48_000, [{ id: newId(), kind: 'take', takeId: other, from: 50_000, to: 90_000 }], newId)))
    expect(lesson.takes.map((take) => [take.id, take.own])).toEqual([[id, true], [other, false]])
    expect((await desk.call('walkthrough.list', {})).every(({ takeOf }) => takeOf === null)).toBe(true)
    await desk.call('walkthrough.remove', { id: other })
    const left = await desk.call('lesson.get', { id })
    expect(left.takes.map((take) => take.id)).toEqual([id])
    // Undoing past it still works.
    expect((await desk.call('lesson.step', { id, version: left.version, to: 0 })).edits.pieces).toHaveLength(1)
    await desk.close()
  })

  test('a cleaned copy is made in the background, kept beside the recording, and gives way to one made otherwise', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = await withClip(folder.path, outside.path)
    const id = await record(desk)
    const ask = (noise: 'light' | 'firm') => desk.call('lesson.sound', { takeId: id, cleaning: { ...asRecorded, on: true, noise } })
    const ready = async (noise: 'light' | 'firm') => {
      for (;;) {
        const told = await ask(noise)
        if (told.state !== 'making') return told
        await new Promise((resolve) => setTimeout(resolve, 5))
      }
    }
    expect((await ask('light')).state).toBe('making')
    const light = await ready('light')
    expect(light).toMatchObject({ state: 'ready', noiseDb: [-40, -60], humHz: null })
    const answer = await desk.media(light.media!, { method: 'GET', headers: new Headers() })
    expect(await answer.text()).toBe('a clean sound')
    await ready('firm')
    expect((await desk.media(light.media!, { method: 'GET', headers: new Headers() })).status).toBe(404)
    expect(readdirSync(join(layoutOf(folder.path).walkthroughs, id)).sort()).toEqual(['log.ndjson', 'sound-1-hum-firm-even.wav', 'sound-1-hum-firm-even.wav.json', 'sound.pcm'])
    await desk.call('walkthrough.remove', { id })
    expect(existsSync(join(layoutOf(folder.path).walkthroughs, id))).toBe(false)
    await desk.close()
  })

  test('a cleaned copy that fails says why, and is tried again', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    let fails = true
    const engines = fakeEngines()
    const desk = openFakeDesk(folder.path, { engines: { ...engines, cleanSound: (request, options) => (fails ? Promise.reject(Object.assign(new Error('no space'), { code: 'ENOSPC' })) : engines.cleanSound(request, options)) } })
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'face.mp4')]))
    await settled(desk)
    const id = await record(desk)
    const ask = () => desk.call('lesson.sound', { takeId: id, cleaning: { ...asRecorded, on: true } })
    const until = async (state: string) => {
      for (let i = 0; i < 400; i++) {
        const told = await ask()
        if (told.state === state) return told
        await new Promise((resolve) => setTimeout(resolve, 5))
      }
      throw new Error(`never ${state}`)
    }
    expect((await until('failed')).fault).toMatch(/disk/i)
    fails = false
    expect((await until('ready')).media).toContain(id)
    await desk.close()
  })
})

describe('the sound of an edited lesson', () => {
  const bytesOf = async (answer: Response): Promise<Buffer> => Buffer.from(await answer.arrayBuffer())

  test('is put together to the sample, with a hold and a fade at the join, and by range', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = await withClip(folder.path, outside.path)
    const id = await record(desk, { samples: 96_000 })
    const lesson = await apply(desk, await desk.call('lesson.get', { id }), 'Cut', (edits) =>
      withPieces(edits, insertAt(cutSpan(edits.pieces, { from: 10_000, to: 30_000 }, newId), 0, [{ id: newId(), kind: 'card', title: 'Hello', lines: [], lasts: 4800 }], newId)))
    const ask = (range?: string, name = `${lesson.version}`) => desk.media(`lesson/${id}/${name}.wav`, { method: 'GET', headers: new Headers(range ? { range } : {}) })
    const whole = await bytesOf(await ask())
    expect(whole.length).toBe(44 + (4800 + 76_000) * 2)
    expect(whole.readUInt32LE(40)).toBe(whole.length - 44)
    const at = (sample: number): number => whole.readInt16LE(44 + sample * 2)
    expect([at(0), at(4799), at(4800 + 500), at(4800 + 9000), at(4800 + 10_240), at(4800 + 70_000)]).toEqual([0, 0, 500, 0, (30_240) % 1000, (90_000) % 1000])
    // Half of the fade is half of the sound, on both sides of the join.
    expect(at(4800 + 9999 - 120)).toBe(Math.round(((9999 - 120) % 1000) * ((120 + 0.5) / 240)))
    expect(at(4800 + 10_120)).toBe(Math.round((30_120 % 1000) * ((120 + 0.5) / 240)))
    for (const [first, last] of [[0, 10], [40, 47], [43, 43], [44, 45], [9643, 9650], [29_600, 29_700], [whole.length - 5, whole.length - 1]] as const) {
      const part = await ask(`bytes=${first}-${last}`)
      expect(part.status).toBe(206)
      expect((await bytesOf(part)).equals(whole.subarray(first, last + 1))).toBe(true)
    }
    expect((await ask(undefined, '0')).status).toBe(404)
    expect((await ask(`bytes=${whole.length}-`)).status).toBe(416)
    await desk.close()
  })

  test('is there once the copies that it needs are, and as recorded at any time', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = await withClip(folder.path, outside.path)
    const id = await record(desk)
    const lesson = await apply(desk, await desk.call('lesson.get', { id }), 'Clean the sound', (edits) => ({ ...edits, sound: { ...edits.sound, on: true } }))
    const status = async (name: string) => (await desk.media(`lesson/${id}/${name}.wav`, { method: 'HEAD', headers: new Headers() })).status
    expect(await status(`${lesson.version}`)).toBe(404)
    expect(await status(`${lesson.version}-recorded`)).toBe(200)
    while ((await desk.call('lesson.sound', { takeId: id, cleaning: lesson.edits.sound })).state === 'making') await new Promise((resolve) => setTimeout(resolve, 5))
    expect(await status(`${lesson.version}`)).toBe(200)
    await desk.close()
  })
})
