import { spawn } from 'node:child_process'
import { existsSync, readFileSync, readdirSync, rmSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import type { DeskEvent } from '../../shared/contract/operations.ts'
import { createDesk } from '../../electron/desk/createDesk.ts'
import { layoutOf } from '../../electron/library/layout.ts'
import { originalPath } from '../../electron/library/mediaStore.ts'
import { batchOf, clipFile, fakeEngines, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'
import { outsidePath } from '../fixtures/outsideData.ts'

const filesIn = (folder: string): string[] =>
  existsSync(folder)
    ? readdirSync(folder, { recursive: true, withFileTypes: true })
        .filter((entry) => entry.isFile())
        .map((entry) => entry.name)
    : []

describe('a batch', () => {
  test('of twenty goes on when two are bad; each bad one gets one sentence and leaves nothing', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const paths = Array.from({ length: 20 }, (_, i) =>
      clipFile(outside.path, i === 7 ? 'not a clip.mp4' : `clip ${i}.mp4`, i === 3 ? '' : `content ${i}`),
    )
    const { jobs } = await desk.call('takeIn.start', batchOf(paths))
    expect(jobs.map(({ title, state }) => `${title} ${state}`)).toEqual(
      paths.map((path) => `${path.slice(outside.path.length + 1)} waiting`),
    )
    const ended = await settled(desk)
    expect(ended.filter(({ state }) => state === 'done')).toHaveLength(18)
    expect(ended.filter(({ state }) => state === 'failed').map(({ fault }) => fault)).toEqual([
      { kind: 'bad-media', message: 'clip 3.mp4 is empty (0 bytes): ask for it to be sent again.', where: 'clip 3.mp4', remedy: null },
      {
        kind: 'bad-media',
        message: 'not a clip.mp4 is not a video, whatever its name says: ask for the clip itself.',
        where: 'not a clip.mp4',
        remedy: null,
      },
    ])
    const layout = layoutOf(folder.path)
    expect(filesIn(layout.originals)).toHaveLength(18)
    expect(filesIn(layout.incoming)).toEqual([])
    expect(await desk.call('clip.list', {})).toHaveLength(18)
    // The originals outside are as they were.
    expect(readFileSync(paths[0]!, 'utf8')).toBe('content 0')
    expect(await desk.call('job.clear', {})).toEqual([])
    await desk.close()
  })

  test('one file at a time, with progress in between', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    let under = 0
    let most = 0
    const engines = fakeEngines({
      async hold() {
        most = Math.max(most, ++under)
        await new Promise((resolve) => setTimeout(resolve, 5))
        under--
      },
    })
    const desk = openFakeDesk(folder.path, { engines })
    const heard: DeskEvent[] = []
    desk.listen((event) => heard.push(event))
    await desk.call('takeIn.start', batchOf(['a', 'b', 'c'].map((name) => clipFile(outside.path, `${name}.mp4`))))
    await settled(desk)
    expect(most).toBe(1)
    const steps = heard.flatMap((event) => (event.type === 'job' && event.job.title === 'b.mp4' ? [event.job.step] : []))
    expect(steps).toEqual(['Waiting', 'Starting', 'Looking at the file', 'Copying', 'Making the review copy', 'Taken in'])
    await desk.close()
  })

  test('the same file twice is recognised, also under another name', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'a.mp4', 'same'), clipFile(outside.path, 'b.mp4', 'same')]))
    const [first, second] = await settled(desk)
    expect(second).toMatchObject({ state: 'done', result: first!.result, step: 'Already in the library as a.mp4' })
    expect(await desk.call('clip.list', {})).toHaveLength(1)
    // Sent again for a student, it becomes that student's; sent for another after that, it stays.
    const [ada, bo] = [await desk.call('student.save', studentOf('Ada')), await desk.call('student.save', studentOf('Bo'))]
    for (const { id } of [ada, bo]) {
      await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'c.mp4', 'same')], { studentId: id }))
      await settled(desk)
      expect(await desk.call('clip.list', {})).toMatchObject([{ studentId: ada.id, fileName: 'a.mp4' }])
    }
    await desk.close()
  })

  test("view from the name, handedness from the student, the coach's own rate", async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const student = await desk.call('student.save', studentOf('Ada', { handedness: 'left' }))
    await desk.call('takeIn.start', {
      ...batchOf([], { studentId: student.id, question: 'Why left?', pair: 'one-swing' }),
      items: [
        { source: { path: clipFile(outside.path, 'ada dtl.mp4') }, view: null, captureRate: 240 },
        { source: { path: clipFile(outside.path, 'x dtl.mp4') }, view: 'face-on', captureRate: null },
      ],
    })
    await settled(desk)
    const clips = await desk.call('clip.list', { studentId: student.id })
    expect(
      clips
        .map(({ fileName, view, handedness, captureRate, captureRateBasis }) => [fileName, view, handedness, captureRate, captureRateBasis])
        .toSorted(),
    ).toEqual([
      ['ada dtl.mp4', 'down-the-line', 'left', 240, 'coach'],
      ['x dtl.mp4', 'face-on', 'left', 60, 'file'],
    ])
    const [swing] = await desk.call('swing.list', {})
    expect(swing).toMatchObject({
      pairing: 'one-swing',
      studentId: student.id,
      leftClipId: clips.find(({ view }) => view === 'face-on')!.id,
      rightClipId: clips.find(({ view }) => view === 'down-the-line')!.id,
    })
    expect((await desk.call('delivery.list', {}))[0]).toMatchObject({ question: 'Why left?', studentId: student.id })
    expect((await desk.call('clip.get', { id: clips[0]!.id })).swingId).toBe(swing!.id)
    await desk.close()
  })

  test('cancelled while it runs and while it waits; tried again, it is taken in', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const engines = fakeEngines({
      hold: (path, signal) =>
        path.includes('work-') && !isFree
          ? new Promise((_, reject) => signal?.addEventListener('abort', () => reject(new DOMException('', 'AbortError'))))
          : Promise.resolve(),
    })
    let isFree = false
    const desk = openFakeDesk(folder.path, { engines })
    const { jobs } = await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'a.mp4'), clipFile(outside.path, 'b.mp4')]))
    await expect.poll(async () => (await desk.call('job.list', {}))[0]!.step).toBe('Making the review copy')
    expect(await desk.call('job.cancel', { id: jobs[1]!.id })).toMatchObject({ state: 'cancelled' })
    expect(await desk.call('job.cancel', { id: jobs[0]!.id })).toMatchObject({ state: 'cancelled', fault: null })
    expect(filesIn(layoutOf(folder.path).incoming)).toEqual([])
    expect(await desk.call('clip.list', {})).toEqual([])
    isFree = true
    await desk.call('job.retry', { id: jobs[0]!.id })
    expect((await settled(desk)).map(({ state }) => state)).toEqual(['done', 'cancelled'])
    await expect(desk.call('job.retry', { id: jobs[0]!.id })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await desk.close()
  })

  test('a staged file is taken in and gone from the incoming folder', async () => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const staged = await desk.stage(
      (async function* () {
        yield Buffer.from('some')
        yield Buffer.from('thing')
      })(),
    )
    await desk.call('takeIn.start', {
      ...batchOf([]),
      items: [{ source: { staged, fileName: 'front.mp4' }, view: null, captureRate: null }],
    })
    await settled(desk)
    expect((await desk.call('clip.list', {}))[0]).toMatchObject({ fileName: 'front.mp4', bytes: 9, view: 'face-on' })
    expect(filesIn(layoutOf(folder.path).incoming)).toEqual([])
    await expect(
      desk.call('takeIn.start', {
        ...batchOf([]),
        items: [{ source: { staged: '../library.sqlite', fileName: 'x' }, view: null, captureRate: null }],
      }),
    ).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    await expect(
      desk.stage(
        (async function* () {
          yield Buffer.alloc(20)
        })(),
        { limit: 10 },
      ),
    ).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(
      desk.stage(
        (async function* () {
          yield Buffer.alloc(5)
        })(),
        { bytes: 9 },
      ),
    ).rejects.toMatchObject({ fault: { message: 'The file broke off after 5 of 9 bytes.' } })
    expect(filesIn(layoutOf(folder.path).incoming)).toEqual([])
    await desk.close()
  })

  test('closing in the middle leaves the queue to be taken up again', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const engines = fakeEngines({
      hold: (_path, signal) =>
        new Promise((_, reject) => signal?.addEventListener('abort', () => reject(new DOMException('', 'AbortError')))),
    })
    const desk = openFakeDesk(folder.path, { engines })
    await desk.call(
      'takeIn.start',
      batchOf([clipFile(outside.path, 'face.mp4'), clipFile(outside.path, 'dtl.mp4')], { pair: 'two-swings' }),
    )
    await expect.poll(async () => (await desk.call('job.list', {}))[0]!.step).toBe('Making the review copy')
    await desk.close()
    const again = openFakeDesk(folder.path)
    expect((await settled(again)).map(({ state }) => state)).toEqual(['done', 'done'])
    expect(await again.call('swing.list', {})).toMatchObject([{ pairing: 'two-swings' }])
    await again.close()
  })
})

describe('kill -9', () => {
  const media = outsidePath('media/mb_sar_2x1.mp4')
  test.skipIf(!media)('in the middle of a take-in: the next start takes up the queue and nothing half stays', async () => {
    using folder = temporaryFolder()
    const second = outsidePath('media/am_sample_shorter_audio.mp4')!
    const source = `const { createDesk } = await import(${JSON.stringify(new URL('../../electron/desk/createDesk.ts', import.meta.url).href)})
      const desk = createDesk({ folder: ${JSON.stringify(folder.path)} })
      desk.listen((event) => { if (event.type === 'job' && event.job.step === 'Making the review copy' && event.job.progress > 0.15) console.log('working') })
      await desk.call('takeIn.start', ${JSON.stringify(batchOf([media!, second]))})
      setInterval(() => {}, 1000)`
    const child = spawn(process.execPath, ['--input-type=module', '-e', source], { stdio: ['ignore', 'pipe', 'inherit'] })
    await new Promise((resolve) => child.stdout.once('data', resolve))
    const gone = new Promise((resolve) => child.once('close', resolve))
    child.kill('SIGKILL')
    await gone
    const layout = layoutOf(folder.path)
    expect(filesIn(layout.incoming).length).toBeGreaterThan(0)
    expect(filesIn(layout.originals)).toEqual([])

    const desk = createDesk({ folder: folder.path, checkAnswers: true })
    expect((await settled(desk)).map(({ title, state }) => `${title} ${state}`)).toEqual([
      'mb_sar_2x1.mp4 done',
      'am_sample_shorter_audio.mp4 done',
    ])
    const clips = await desk.call('clip.list', {})
    // Frame counts and sizes: ffprobe's, in the manifest beside the files.
    expect(clips.map(({ fileName, frameCount, width, height }) => [fileName, frameCount, width, height]).toSorted()).toEqual([
      ['am_sample_shorter_audio.mp4', 72, 320, 240],
      ['mb_sar_2x1.mp4', 150, 1280, 360],
    ])
    expect(filesIn(layout.incoming)).toEqual([])
    expect(await desk.call('library.check', { deep: true })).toEqual({ sound: true, findings: [], swept: [] })
    // The original's own pixels, and the review copy by range.
    const clip = clips.find(({ width }) => width === 320)!
    const frame = await desk.media(`frame/${clip.id}/71`, { method: 'GET', headers: new Headers() })
    expect([frame.status, frame.headers.get('x-width'), frame.headers.get('x-height'), (await frame.bytes()).length]).toEqual([
      200,
      '320',
      '240',
      (320 * 240 * 3) / 2,
    ])
    expect((await desk.media(`frame/${clip.id}/72`, { method: 'GET', headers: new Headers() })).status).toBe(404)
    await desk.close()
  })

  test('between the files and the row: what has no row is swept', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'a.mp4')]))
    await settled(desk)
    const { hash, id } = (await desk.call('clip.list', {}))[0]!
    await desk.close()
    // As if the row had not been written: the row goes, the files stay.
    const { openLibrary } = await import('../../electron/library/library.ts')
    const library = openLibrary(folder.path)
    library.db.exec(`DELETE FROM clips WHERE id = '${id}'; DELETE FROM originals`)
    library.close()
    expect(existsSync(originalPath(layoutOf(folder.path), hash))).toBe(true)
    const again = openFakeDesk(folder.path)
    expect(existsSync(originalPath(layoutOf(folder.path), hash))).toBe(false)
    expect(filesIn(layoutOf(folder.path).derived)).toEqual([])
    await again.close()
    rmSync(outside.path, { recursive: true })
  })
})
