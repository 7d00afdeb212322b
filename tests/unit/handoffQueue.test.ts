import { describe, expect, test } from 'vitest'
import { existsSync, writeFileSync } from 'node:fs'
import { readVtt } from '../../electron/desk/webvtt.ts'
import type { OpenDesk } from '../../electron/desk/createDesk.ts'
import type { Job } from '../../shared/contract/job.ts'
import { DeskError } from '../../shared/contract/errors.ts'
import { toVtt } from '../../shared/walkthrough/captions.ts'
import { emptyStage } from '../../shared/walkthrough/stage.ts'
import { fakeEngines, openFakeDesk, settled, temporaryFolder } from '../fixtures/desk.ts'

const settings = { size: '1080p', orientation: 'landscape', fps: 30, title: '' } as const

async function talkIn(desk: OpenDesk, seconds = 10): Promise<string> {
  const { id } = await desk.call('walkthrough.begin', {
    swingId: null, studentId: null, title: 'Talk', sampleRate: 48_000,
    header: { format: 'crossbearing-walkthrough', version: 1, clips: {}, initial: emptyStage },
  })
  await desk.call('walkthrough.append', { id, at: 0, sound: new Uint8Array(seconds * 96_000), rows: [] })
  await desk.call('walkthrough.finish', { id })
  return id
}

/** A render that goes on until it is let go, and notes what was begun. */
function gated() {
  const begun: string[] = []
  let letGo: (() => void)[] = []
  const render: ReturnType<typeof fakeEngines>['render'] = ({ out, settings: { title } }, { signal } = {}) => {
    begun.push(title)
    return new Promise((resolve, reject) => {
      signal?.addEventListener('abort', () => reject(new DOMException('stopped', 'AbortError')))
      letGo.push(() => {
        writeFileSync(out, 'video')
        resolve({ crf: 20, segments: 1, reused: 0 })
      })
    })
  }
  return {
    begun, render,
    next: async () => {
      await expect.poll(() => letGo.length).toBeGreaterThan(0)
      letGo.shift()!()
    },
    forget: () => (letGo = []),
  }
}

const waiting = async (desk: OpenDesk): Promise<string[]> => (await desk.call('job.list', {})).filter(({ state }) => state === 'waiting').map(({ title }) => title)

describe('hand-offs in a queue', () => {
  test('are made in the order of what they are promised for, moved by hand, and the order survives a restart', async () => {
    using folder = temporaryFolder()
    const gate = gated()
    let desk = openFakeDesk(folder.path, { engines: fakeEngines({ render: gate.render }) })
    const walkthroughId = await talkIn(desk)
    const ask = async (title: string, promisedOn: string | null): Promise<Job> => (await desk.call('handoff.start', { walkthroughId, settings: { ...settings, title }, to: null, promisedOn })).job
    await ask('now', null)
    await expect.poll(() => gate.begun).toEqual(['now'])
    const whenever = await ask('whenever', null)
    await ask('friday', '2026-06-05')
    await ask('monday', '2026-06-01')
    const friday2 = await ask('friday too', '2026-06-05')
    await ask('last', null)
    expect(await waiting(desk)).toEqual(['monday', 'friday', 'friday too', 'whenever', 'last'])
    await desk.call('job.move', { id: whenever.id, before: friday2.id })
    await desk.call('job.move', { id: friday2.id, before: null })
    expect(await waiting(desk)).toEqual(['monday', 'friday', 'whenever', 'last', 'friday too'])
    await expect(desk.call('job.move', { id: friday2.id, before: 'nothing' })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await desk.close()
    gate.begun.length = 0
    gate.forget()
    desk = openFakeDesk(folder.path, { engines: fakeEngines({ render: gate.render }) })
    for (let i = 0; i < 6; i++) await gate.next()
    expect((await settled(desk)).every(({ state }) => state === 'done')).toBe(true)
    expect(gate.begun).toEqual(['now', 'monday', 'friday', 'whenever', 'last', 'friday too'])
    await desk.close()
  })

  test('are promised for another day while they wait, and take the turn that goes with it', async () => {
    using folder = temporaryFolder()
    const gate = gated()
    const desk = openFakeDesk(folder.path, { engines: fakeEngines({ render: gate.render }) })
    const walkthroughId = await talkIn(desk)
    const ask = async (title: string, promisedOn: string | null): Promise<Job> => (await desk.call('handoff.start', { walkthroughId, settings: { ...settings, title }, to: null, promisedOn })).job
    const now = await ask('now', null)
    await expect.poll(() => gate.begun).toEqual(['now'])
    const [monday, friday, whenever] = [await ask('monday', '2026-06-01'), await ask('friday', '2026-06-05'), await ask('whenever', null)]
    expect(await desk.call('job.promise', { id: friday.id, promisedOn: '2026-05-30' })).toMatchObject({ promisedOn: '2026-05-30', state: 'waiting' })
    expect(await waiting(desk)).toEqual(['friday', 'monday', 'whenever'])
    // The same day again leaves a turn given by hand as it is.
    await desk.call('job.move', { id: whenever.id, before: friday.id })
    await desk.call('job.promise', { id: whenever.id, promisedOn: null })
    expect(await waiting(desk)).toEqual(['whenever', 'friday', 'monday'])
    await desk.call('job.promise', { id: whenever.id, promisedOn: '2026-06-01' })
    await desk.call('job.promise', { id: friday.id, promisedOn: null })
    expect(await waiting(desk)).toEqual(['monday', 'whenever', 'friday'])
    // What is being made can be promised too; what is made cannot.
    expect((await desk.call('job.promise', { id: now.id, promisedOn: '2026-05-30' })).promisedOn).toBe('2026-05-30')
    expect(gate.begun).toEqual(['now'])
    for (let i = 0; i < 4; i++) await gate.next()
    expect((await settled(desk)).every(({ state }) => state === 'done')).toBe(true)
    await expect(desk.call('job.promise', { id: monday.id, promisedOn: null })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await desk.close()
  })

  test('go off the list with their file or without it, and stay counted as made', async () => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const walkthroughId = await talkIn(desk)
    const made = async (): Promise<string> => {
      const { handoff } = await desk.call('handoff.start', { walkthroughId, settings, to: null })
      await settled(desk)
      return handoff.id
    }
    const [kept, deleted, changed] = [await made(), await made(), await made()]
    const paths = new Map((await desk.call('handoff.list', {})).map(({ id, path }) => [id, path!]))
    expect([...paths.values()].every((path) => existsSync(path))).toBe(true)
    expect(await desk.call('handoff.remove', { id: kept, file: 'keep' })).toEqual({ deleted: false })
    expect(await desk.call('handoff.remove', { id: deleted, file: 'delete' })).toEqual({ deleted: true })
    expect([kept, deleted].map((id) => existsSync(paths.get(id)!))).toEqual([true, false])
    expect((await desk.call('handoff.list', { walkthroughId })).map(({ id }) => id)).toEqual([changed])
    // Neither is missed when the library is looked over, and the kept file is not swept away.
    expect((await desk.call('library.check', { deep: false })).findings).toEqual([])
    expect(existsSync(paths.get(kept)!)).toBe(true)
    // A file that is not the one that was made stays.
    writeFileSync(paths.get(changed)!, 'something else altogether')
    await expect(desk.call('handoff.remove', { id: changed, file: 'delete' })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    expect(existsSync(paths.get(changed)!)).toBe(true)
    await desk.close()
  })

  test('that came to nothing go off both lists; not while they are being made', async () => {
    using folder = temporaryFolder()
    const gate = gated()
    const desk = openFakeDesk(folder.path, { engines: fakeEngines({ render: gate.render }) })
    const walkthroughId = await talkIn(desk)
    const { handoff, job } = await desk.call('handoff.start', { walkthroughId, settings, to: null })
    await expect.poll(() => gate.begun).toHaveLength(1)
    await expect(desk.call('handoff.remove', { id: handoff.id, file: 'delete' })).rejects.toMatchObject({ fault: { remedy: 'Cancel it first.' } })
    await desk.call('job.cancel', { id: job.id })
    await desk.call('handoff.remove', { id: handoff.id, file: 'delete' })
    expect(await desk.call('handoff.list', {})).toEqual([])
    expect((await desk.call('job.list', {})).filter(({ id }) => id === job.id)).toEqual([])
    await desk.close()
  })

  test('can be paused: what runs waits, also over a restart, and goes on', async () => {
    using folder = temporaryFolder()
    const gate = gated()
    let desk = openFakeDesk(folder.path, { engines: fakeEngines({ render: gate.render }) })
    const walkthroughId = await talkIn(desk)
    await desk.call('handoff.start', { walkthroughId, settings: { ...settings, title: 'one' }, to: null })
    await expect.poll(() => gate.begun).toEqual(['one'])
    await desk.call('job.pause', { paused: true })
    await expect.poll(async () => (await desk.call('job.list', {}))[0]).toMatchObject({ state: 'waiting', step: 'Paused', fault: null })
    await desk.close()
    desk = openFakeDesk(folder.path, { engines: fakeEngines({ render: gate.render }) })
    await new Promise((resolve) => setTimeout(resolve, 60))
    expect(gate.begun).toEqual(['one'])
    expect((await desk.call('settings.get', {})).handoffsPaused).toBe(true)
    gate.forget()
    await desk.call('job.pause', { paused: false })
    await gate.next()
    expect((await settled(desk))[0]).toMatchObject({ state: 'done' })
    await desk.close()
  })

  test('are tried again by themselves where that may help, so many times, and not where it cannot', async () => {
    using folder = temporaryFolder()
    let fault: Error = Object.assign(new Error('full'), { code: 'ENOSPC' })
    let tries = 0
    const render: ReturnType<typeof fakeEngines>['render'] = async ({ out }) => {
      tries++
      if (tries < 3 || fault instanceof DeskError) throw fault
      writeFileSync(out, 'video')
      return { crf: 34, segments: 5, reused: 2 }
    }
    const desk = openFakeDesk(folder.path, { engines: fakeEngines({ render }), retryWaits: [80, 80] })
    const walkthroughId = await talkIn(desk)
    await desk.call('handoff.start', { walkthroughId, settings, to: null })
    await expect.poll(async () => (await desk.call('job.list', {}))[0]).toMatchObject({ state: 'waiting', tries: 1, fault: { kind: 'disk-full' } })
    expect((await settled(desk))[0]).toMatchObject({ state: 'done', fault: null, step: expect.stringMatching(/coarse/) as unknown })
    expect(tries).toBe(3)
    // Three failures are enough.
    tries = -10
    await desk.call('handoff.start', { walkthroughId, settings, to: null })
    expect((await settled(desk)).at(-1)).toMatchObject({ state: 'failed', fault: { kind: 'disk-full' } })
    expect(tries).toBe(-7)
    fault = new DeskError('bad-media', 'A clip is damaged.')
    tries = 0
    await desk.call('handoff.start', { walkthroughId, settings, to: null })
    expect((await settled(desk)).at(-1)).toMatchObject({ state: 'failed', fault: { message: 'A clip is damaged.' } })
    expect(tries).toBe(1)
    await desk.close()
  })
})

describe('captions', () => {
  test('go with what is said under them, into the render and out as a file that reads back', async () => {
    using folder = temporaryFolder()
    const sent: unknown[] = []
    const render: ReturnType<typeof fakeEngines>['render'] = async ({ out, captions }) => {
      sent.push(captions)
      writeFileSync(out, 'video')
      return { crf: 20, segments: 1, reused: 0 }
    }
    const desk = openFakeDesk(folder.path, { engines: fakeEngines({ render }) })
    const id = await talkIn(desk)
    const captions = [{ fromMs: 1000, toMs: 2500, text: 'A < B & "C"' }, { fromMs: 6000, toMs: 7000, text: 'Zwei\nZeilen' }]
    expect(await desk.call('captions.set', { id, captions })).toEqual({ captions })
    const { text } = await desk.call('captions.text', { id })
    expect(readVtt(text, 'mine.vtt')).toEqual(captions)
    // Three seconds are cut from the middle: the second caption moves with its words.
    const { edits, version } = await desk.call('lesson.get', { id })
    const [piece] = edits.pieces
    if (piece?.kind !== 'take') throw new Error('an untouched lesson is one take')
    const added = [{ ...piece, to: 144_000 }, { ...piece, id: 'rest', from: 288_000 }]
    await desk.call('lesson.apply', { id, version, name: 'Cut', change: { pieces: { at: 0, removed: [piece], added } } })
    const moved = [captions[0]!, { ...captions[1]!, fromMs: 3000, toMs: 4000 }]
    expect(await desk.call('captions.get', { id })).toEqual({ captions: moved })
    await desk.call('handoff.start', { walkthroughId: id, settings: { ...settings, captions: true }, to: null })
    await settled(desk)
    await desk.call('handoff.start', { walkthroughId: id, settings, to: null })
    await settled(desk)
    expect(sent).toEqual([moved, []])
    await desk.close()
  })

  test('are imported from WebVTT, or refused with the line, and nothing changes', async () => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const id = await talkIn(desk)
    const file = 'WEBVTT\n\n00:01.000 --> 00:02.500\n<b>Bold</b> &amp; <i>more</i> &lt;3\n\nid\n00:03.000 --> 00:04.000 align:start\nYes\n'
    const { captions } = await desk.call('captions.import', { id, name: 'a.vtt', text: file })
    expect(captions).toEqual([{ fromMs: 1000, toMs: 2500, text: 'Bold & more <3' }, { fromMs: 3000, toMs: 4000, text: 'Yes' }])
    await expect(desk.call('captions.import', { id, name: 'b.vtt', text: 'WEBVTT\n\n00:05.000 --> 00:02.000\nx' })).rejects.toMatchObject({ fault: { kind: 'bad-input', message: expect.stringMatching(/^b\.vtt, line 3: /) as unknown } })
    await expect(desk.call('captions.import', { id, name: 'c.vtt', text: 'hello' })).rejects.toMatchObject({ fault: { message: expect.stringMatching(/line 1/) as unknown } })
    expect(await desk.call('captions.get', { id })).toEqual({ captions })
    expect(toVtt([])).toBe('WEBVTT\n')
    await desk.close()
  })
})
