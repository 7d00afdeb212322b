import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { operations, type DeskEvent } from '../../shared/contract/operations.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { parseRange } from '../../electron/desk/byteRange.ts'
import type { OpenDesk } from '../../electron/desk/createDesk.ts'
import { createDesk } from '../../electron/desk/createDesk.ts'
import { batchOf, clipFile, fakeEngines, headerOf, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'

const get = (desk: OpenDesk, path: string, headers: Record<string, string> = {}, method = 'GET') =>
  desk.media(path, { method, headers: new Headers(headers) })
const mark = (id: string, clipId: string): Mark => ({
  id,
  clipId,
  shape: 'dot',
  meaning: null,
  points: [[1, 2] as never],
  text: '',
  span: null,
  ink: 'plain',
  weight: 3,
  dashed: false,
  hidden: false,
  order: 1,
})

/** A library with two students, a clip each, and a walkthrough of both. */
async function furnished(folder: string, outside: string, options: Parameters<typeof openFakeDesk>[1] = {}) {
  const desk = openFakeDesk(folder, options)
  const ada = await desk.call('student.save', studentOf('Ada'))
  const bo = await desk.call('student.save', studentOf('Bo'))
  await desk.call('takeIn.start', batchOf([clipFile(outside, 'ada face.mp4')], { studentId: ada.id }))
  await desk.call('takeIn.start', batchOf([clipFile(outside, 'bo face.mp4')], { studentId: bo.id }))
  await settled(desk)
  const clips = await desk.call('clip.list', {})
  const clipOf = (studentId: string) => clips.find((clip) => clip.studentId === studentId)!
  const swing = await desk.call('swing.save', {
    id: null,
    studentId: ada.id,
    deliveryId: null,
    title: 'First',
    leftClipId: clipOf(ada.id).id,
    rightClipId: clipOf(bo.id).id,
    pairing: 'two-swings',
    tie: { left: 10, right: 20.5 },
  })
  // Ada may see Bo's.
  await desk.call('shelf.note', { keys: [swing.id], patch: { permission: 'may-be-sent' } })
  await desk.call('marks.apply', {
    diff: { added: { m: mark('m', clipOf(ada.id).id), n: mark('n', clipOf(bo.id).id) }, updated: {}, removed: {} },
  })
  const walkthrough = await desk.call('walkthrough.begin', {
    swingId: swing.id,
    studentId: ada.id,
    title: 'Talk',
    sampleRate: 48_000,
    header: headerOf(clips),
  })
  await desk.call('walkthrough.append', { id: walkthrough.id, at: 0, sound: new Uint8Array(9600), rows: [] })
  await desk.call('walkthrough.finish', { id: walkthrough.id })
  return { desk, ada, bo, swing, walkthrough, adaClip: clipOf(ada.id), boClip: clipOf(bo.id) }
}
const settings = { size: '720p', orientation: 'landscape', fps: 30, title: '' } as const

describe('the contract', () => {
  test('every operation has a handler; bad input gets one sentence that names the field', async () => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    for (const name of Object.keys(operations))
      await expect(desk.callByName(name, 5)).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(desk.callByName('student.save', { ...studentOf('Ada'), statureM: 9 })).rejects.toMatchObject({
      fault: { kind: 'bad-input', where: 'statureM' },
    })
    await expect(desk.callByName('toString', {})).rejects.toMatchObject({
      fault: { kind: 'bad-input', message: 'The desk knows no such operation.' },
    })
    await desk.close()
    await expect(desk.call('library.info', {})).rejects.toMatchObject({ fault: { kind: 'cancelled' } })
  })

  test('what nobody foresaw becomes a sentence, and goes to the log whole', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const lines: string[] = []
    const engines = fakeEngines({ hold: () => Promise.reject(new TypeError('x is not a function')) })
    const desk = openFakeDesk(folder.path, { engines, log: (line) => lines.push(line) })
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'a.mp4')]))
    expect((await settled(desk))[0]!.fault).toMatchObject({ kind: 'internal', message: 'Something went wrong inside Crossbearing.' })
    expect(lines.join()).toContain('x is not a function')
    await desk.close()
  })

  test('a fresh library is empty, with settings of its own; what is set stays', async () => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    expect(await desk.call('library.info', {})).toMatchObject({ folder: folder.path, students: 0, clips: 0, walkthroughs: 0, empty: true })
    expect(await desk.call('settings.get', {})).toMatchObject({ theme: 'dark', countInSeconds: 3 })
    await desk.call('settings.set', { theme: 'light', handoff: { size: '720p', orientation: 'portrait', fps: 60 } })
    await desk.close()
    const again = openFakeDesk(folder.path)
    expect(await again.call('settings.get', {})).toMatchObject({
      theme: 'light',
      handoff: { orientation: 'portrait', fps: 60 },
      palette: 'at-pointer',
    })
    await again.close()
  })

  test('an open library is refused to a second desk', async () => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    expect(() => createDesk({ folder: folder.path })).toThrow('already open')
    await desk.close()
  })

  test('saved rows come back as they were, and listeners hear what changed', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, ada, swing, adaClip } = await furnished(folder.path, outside.path)
    const heard: DeskEvent[] = []
    const stop = desk.listen((event) => heard.push(event))
    const changed = await desk.call('student.save', { ...ada, minor: true, clubs: [{ kind: 'driver', lengthM: null }] })
    expect(changed.createdAt).toBe(ada.createdAt)
    expect((await desk.call('student.list', {})).find(({ id }) => id === ada.id)).toEqual(changed)
    expect((await desk.call('swing.list', {}))[0]).toEqual(swing)
    expect(await desk.call('clip.update', { id: adaClip.id, patch: { captureRate: 240, note: 'slow' } })).toMatchObject({
      captureRate: 240,
      captureRateBasis: 'coach',
      note: 'slow',
      swingId: swing.id,
    })
    // Taken back, it is as it was, and not the coach's word.
    const { captureRate, captureRateBasis } = adaClip
    expect(captureRateBasis).not.toBe('coach')
    expect(await desk.call('clip.update', { id: adaClip.id, patch: { captureRate, captureRateBasis } })).toMatchObject({ captureRate, captureRateBasis, note: 'slow' })
    expect((await desk.call('marks.list', { clipIds: [adaClip.id] })).map(({ id }) => id)).toEqual(['m'])
    const moved = { ...mark('m', adaClip.id), order: 7 }
    const diff = { added: {}, updated: { m: [mark('m', adaClip.id), moved] as const }, removed: {} }
    await desk.call('marks.apply', { diff })
    await desk.call('marks.apply', { diff })
    expect(await desk.call('marks.list', { clipIds: [adaClip.id] })).toEqual([moved])
    await desk.call('marks.apply', { diff: { added: {}, updated: {}, removed: { m: moved } } })
    expect(await desk.call('marks.list', { clipIds: [adaClip.id] })).toEqual([])
    await expect(
      desk.call('marks.apply', { diff: { added: { a: mark('a', adaClip.id), z: mark('z', 'no such clip') }, updated: {}, removed: {} } }),
    ).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    expect(await desk.call('marks.list', { clipIds: [adaClip.id] })).toEqual([])
    expect(new Set(heard.flatMap((event) => (event.type === 'changed' ? [event.what] : [])))).toEqual(
      new Set(['students', 'clips', 'marks']),
    )
    stop()
    await desk.close()
  })
})

describe('removal', () => {
  test('of a student takes everything of theirs, what shows them, and nothing else', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, ada, bo, walkthrough, adaClip, boClip } = await furnished(folder.path, outside.path)
    const abroad = join(outside.path, 'for ada.mp4')
    await desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: abroad })
    await settled(desk)
    expect(existsSync(abroad)).toBe(true)
    writeFileSync(join(folder.path, 'ignored.txt'), '')

    // The talk is Ada's and shows Bo: when Bo goes, it cannot stay.
    const removed = await desk.call('student.remove', { id: bo.id })
    expect(removed).toMatchObject({ students: 1, clips: 1, swings: 0, marks: 1, walkthroughs: 1, handoffs: 1 })
    expect(removed.files).toContain(abroad)
    expect(removed.files.some((path) => path.includes(boClip.hash))).toBe(true)
    for (const path of removed.files) expect(existsSync(path)).toBe(false)
    expect(await desk.call('clip.list', {})).toMatchObject([{ id: adaClip.id }])
    expect(await desk.call('swing.list', {})).toMatchObject([{ leftClipId: adaClip.id, rightClipId: null }])

    const last = await desk.call('student.remove', { id: ada.id })
    expect(last).toMatchObject({ students: 1, clips: 1, swings: 1, marks: 1, walkthroughs: 0 })
    expect(await desk.call('library.info', {})).toMatchObject({ empty: true, walkthroughs: 0 })
    expect(await desk.call('delivery.list', {})).toEqual([])
    expect(await desk.call('library.check', { deep: true })).toEqual({ sound: true, findings: [], swept: [] })
    await expect(desk.call('student.remove', { id: ada.id })).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    await desk.close()
    // Nothing of the name is left in the database file either.
    expect(readFileSync(join(folder.path, 'library.sqlite')).includes('ada face.mp4')).toBe(false)
  })

  test('of a clip, a swing, a walkthrough', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, swing, walkthrough, adaClip } = await furnished(folder.path, outside.path)
    expect(await desk.call('swing.remove', { id: swing.id })).toMatchObject({ swings: 1, clips: 0, walkthroughs: 0, files: [] })
    expect((await desk.call('walkthrough.list', {}))[0]).toMatchObject({ id: walkthrough.id, swingId: null })
    const removed = await desk.call('walkthrough.remove', { id: walkthrough.id })
    expect(removed).toMatchObject({ walkthroughs: 1 })
    expect(removed.files).toHaveLength(2)
    expect(await desk.call('clip.remove', { id: adaClip.id })).toMatchObject({ clips: 1, marks: 1, students: 0 })
    expect(await desk.call('library.check', { deep: true })).toEqual({ sound: true, findings: [], swept: [] })
    await desk.close()
  })

  test("a file of the coach's own that has taken a hand-off's name since is left alone", async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, ada, walkthrough } = await furnished(folder.path, outside.path)
    const abroad = join(outside.path, 'lesson.mp4')
    await desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: abroad })
    await settled(desk)
    writeFileSync(abroad, "something else of the coach's")
    expect((await desk.call('student.remove', { id: ada.id })).files).not.toContain(abroad)
    expect(existsSync(abroad)).toBe(true)
    await desk.close()
  })
})

describe('hand-off', () => {
  test('is rendered in the background to its name, never over what is there', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const seen: string[] = []
    const render = async ({ out, takes, settings: asked, clips }: Parameters<ReturnType<typeof fakeEngines>['render']>[0]) => {
      seen.push(`${asked.title} ${takes.map(({ soundPath }) => readFileSync(soundPath).length).join()} ${Object.keys(clips).length}`)
      writeFileSync(out, 'video')
      return { crf: 20, segments: 1, reused: 0 }
    }
    const { desk, walkthrough } = await furnished(folder.path, outside.path, { engines: fakeEngines({ render }) })
    const { handoff, job } = await desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: null })
    expect(handoff).toMatchObject({ path: null, jobId: job.id })
    const done = (await settled(desk)).find(({ id }) => id === job.id)!
    expect(done.state).toBe('done')
    expect(seen).toEqual([`Talk ${9600 + 44} 2`])
    const [listed] = await desk.call('handoff.list', {})
    expect(listed).toMatchObject({ id: handoff.id, path: done.result, bytes: 5 })
    expect(await (await get(desk, `handoff/${handoff.id}.mp4`)).text()).toBe('video')
    await expect(desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: listed!.path })).rejects.toMatchObject({
      fault: { kind: 'bad-input' },
    })
    await desk.close()
  })

  test('that fails or is cancelled leaves no file and says why', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    let isToFail = true
    const render: ReturnType<typeof fakeEngines>['render'] = ({ out }, { signal } = {}) => {
      writeFileSync(out, 'half')
      if (isToFail) return Promise.reject(Object.assign(new Error('no space'), { code: 'ENOSPC' }))
      return new Promise((_, reject) => signal?.addEventListener('abort', () => reject(new Error('whatever a cancelled encoder says'))))
    }
    const { desk, walkthrough } = await furnished(folder.path, outside.path, { engines: fakeEngines({ render }) })
    const to = join(outside.path, 'out.mp4')
    await desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to })
    expect((await settled(desk)).at(-1)).toMatchObject({ state: 'failed', fault: { kind: 'disk-full' } })
    isToFail = false
    const { job } = await desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to })
    await expect.poll(async () => (await desk.call('job.list', {})).at(-1)!.state).toBe('running')
    expect(await desk.call('job.cancel', { id: job.id })).toMatchObject({ state: 'cancelled', fault: null })
    expect(existsSync(to)).toBe(false)
    expect(await desk.call('library.check', { deep: false })).toEqual({ sound: true, findings: [], swept: [] })
    await desk.call('job.clear', {})
    expect(await desk.call('handoff.list', {})).toEqual([])
    await desk.close()
  })

  test('needs the consent of everyone it shows, also when it was queued before', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, bo, walkthrough } = await furnished(folder.path, outside.path)
    await desk.call('student.save', { ...bo, minor: true })
    await expect(desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: null })).rejects.toMatchObject({
      fault: { kind: 'no-consent', where: 'Bo', message: "Bo is a minor and a parent's consent is not recorded." },
    })
    const consent = { ...bo.consent, guardian: { given: true, name: 'Kim', on: '2026-05-01' } }
    await desk.call('student.save', { ...bo, minor: true, consent })
    await desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: null })
    expect((await settled(desk)).at(-1)!.state).toBe('done')
    await desk.call('student.save', { ...bo, consent: { ...consent, until: '2026-01-31' } })
    await expect(desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: null })).rejects.toMatchObject({
      fault: { kind: 'no-consent' },
    })
    await desk.close()
  })
})

describe('media by range', () => {
  test.each([
    [null, 'whole'],
    ['bytes=0-9', { first: 0, last: 9 }],
    ['bytes=90-', { first: 90, last: 99 }],
    ['bytes=-10', { first: 90, last: 99 }],
    ['bytes=-500', { first: 0, last: 99 }],
    ['bytes=50-500', { first: 50, last: 99 }],
    ['bytes=100-', null],
    ['bytes=-0', null],
    ['bytes=9-3', 'whole'],
    ['bytes=0-1,5-6', 'whole'],
    ['items=0-1', 'whole'],
    ['bytes=-', 'whole'],
  ])('%s of 100 bytes', (header, range) => expect(parseRange(header, 100)).toEqual(range))

  test('any range gives those bytes of the whole', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, adaClip } = await furnished(folder.path, outside.path)
    const whole = Buffer.from(await (await get(desk, `review/${adaClip.id}.mp4`)).arrayBuffer())
    await fc.assert(
      fc.asyncProperty(fc.nat(whole.length + 3), fc.nat(whole.length + 3), async (first, last) => {
        const response = await get(desk, `review/${adaClip.id}.mp4`, { range: `bytes=${first}-${last}` })
        if (first >= whole.length && last >= first) {
          expect([response.status, response.headers.get('content-range')]).toEqual([416, `bytes */${whole.length}`])
          return
        }
        expect(response.status).toBe(last < first ? 200 : 206)
        expect(Buffer.from(await response.arrayBuffer())).toEqual(last < first ? whole : whole.subarray(first, last + 1))
      }),
      { numRuns: 40 },
    )
    await desk.close()
  })

  test('is cached for good by its hash, asked again answers 304, HEAD has no body', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, adaClip } = await furnished(folder.path, outside.path)
    const path = `poster/${adaClip.id}.jpg`
    const first = await get(desk, path)
    const etag = first.headers.get('etag')!
    expect(etag).toContain(adaClip.hash)
    expect([first.headers.get('content-type'), first.headers.get('cache-control'), first.headers.get('x-content-type-options')]).toEqual([
      'image/jpeg',
      'private, max-age=31536000, immutable',
      'nosniff',
    ])
    expect((await get(desk, path, { 'if-none-match': etag })).status).toBe(304)
    expect((await get(desk, path, { range: 'bytes=0-1', 'if-range': '"other"' })).status).toBe(200)
    const head = await get(desk, path, {}, 'HEAD')
    expect([head.status, head.headers.get('content-length'), (await head.arrayBuffer()).byteLength]).toEqual([200, '6', 0])
    expect((await get(desk, path, {}, 'POST')).status).toBe(405)
    const frame = await get(desk, `frame/${adaClip.id}/2`)
    expect([frame.headers.get('x-width'), frame.headers.get('x-range'), [...new Uint8Array(await frame.arrayBuffer())]]).toEqual([
      '2',
      'limited',
      [2, 1, 2, 3, 4, 5],
    ])
    expect((await get(desk, `frame/${adaClip.id}/4`)).status).toBe(404)
    await desk.close()
  })

  test.each([
    '',
    'review',
    '../library.sqlite',
    'review/../../library.sqlite',
    'review/%2e%2e%2flibrary.sqlite',
    'review/x.mp4/../../../library.sqlite',
    '/etc/passwd',
    'review/..mp4',
    'frame/../0',
    'frame/x/-1',
    'handoff/x.mp4',
    'walkthrough/x.wav',
    'review/a\0.mp4',
  ])('nothing behind %j', async (path) => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    expect((await get(desk, path)).status).toBe(404)
    await desk.close()
  })
})
