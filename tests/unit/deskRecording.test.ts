import { spawn } from 'node:child_process'
import { appendFileSync, readFileSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import type { OpenDesk } from '../../electron/desk/createDesk.ts'
import { layoutOf } from '../../electron/library/layout.ts'
import { parseLog, type LogRow } from '../../shared/walkthrough/log.ts'
import { batchOf, clipFile, headerOf, openFakeDesk, settled, temporaryFolder } from '../fixtures/desk.ts'

const samples = (from: number, count: number): Uint8Array => {
  const pcm = Int16Array.from({ length: count }, (_, i) => (from + i) % 30_000)
  return new Uint8Array(pcm.buffer)
}
const pointer = (at: number): LogRow => [at, { type: 'pointer', pointer: { pane: 0, at: [at, at] as never } }]

async function recording(desk: OpenDesk, outside: string) {
  await desk.call('takeIn.start', batchOf([clipFile(outside, 'face.mp4')]))
  await settled(desk)
  const clips = await desk.call('clip.list', {})
  return desk.call('walkthrough.begin', { swingId: null, studentId: null, title: 'Talk', sampleRate: 48_000, header: headerOf(clips) })
}
const wavOf = async (desk: OpenDesk, id: string, range?: string): Promise<Response> =>
  desk.media(`walkthrough/${id}.wav`, { method: 'GET', headers: new Headers(range ? { range } : {}) })

describe('recording', () => {
  test('sound and rows are appended; what is sent again is not written again', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const { id, state } = await recording(desk, outside.path)
    expect(state).toBe('recording')
    const send = (at: number, count: number, rows: LogRow[]) => desk.call('walkthrough.append', { id, at, sound: samples(at, count), rows })
    expect(await send(0, 1000, [pointer(1), pointer(2)])).toEqual({ samples: 1000 })
    // The same piece, then one that overlaps what is there, then rows alone, twice.
    expect(await send(0, 1000, [pointer(1), pointer(2)])).toEqual({ samples: 1000 })
    expect(await send(500, 1500, [pointer(2), pointer(20)])).toEqual({ samples: 2000 })
    expect(await send(2000, 0, [pointer(40)])).toEqual({ samples: 2000 })
    expect(await send(2000, 0, [pointer(40)])).toEqual({ samples: 2000 })
    await expect(send(3000, 10, [])).rejects.toMatchObject({ fault: { kind: 'bad-input', where: 'at' } })
    await expect(send(2000, 10, [pointer(39)])).rejects.toMatchObject({ fault: { kind: 'bad-input', where: 'rows' } })
    await expect(desk.call('walkthrough.append', { id, at: 2000, sound: new Uint8Array(3), rows: [] })).rejects.toMatchObject({
      fault: { kind: 'bad-input', where: 'sound' },
    })
    expect(await desk.call('walkthrough.finish', { id })).toMatchObject({ state: 'whole', durationMs: (2000 / 48_000) * 1000 })
    expect(await desk.call('walkthrough.finish', { id })).toMatchObject({ state: 'whole' })
    await expect(send(2000, 10, [])).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    expect(parseLog((await desk.call('walkthrough.log', { id })).text).rows.map(([at]) => at)).toEqual([1, 2, 20, 40])
    const pcm = readFileSync(join(layoutOf(folder.path).walkthroughs, id, 'sound.pcm'))
    expect(pcm.equals(samples(0, 2000))).toBe(true)
    await desk.close()
  })

  test('the sound is served as a WAV file, by range across its header', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const { id } = await recording(desk, outside.path)
    await desk.call('walkthrough.append', { id, at: 0, sound: samples(0, 100), rows: [] })
    expect((await wavOf(desk, id)).headers.get('cache-control')).toBe('no-store')
    await desk.call('walkthrough.finish', { id })
    const whole = await wavOf(desk, id)
    expect([whole.status, whole.headers.get('content-type'), whole.headers.get('content-length')]).toEqual([200, 'audio/wav', '244'])
    const bytes = Buffer.from(await whole.arrayBuffer())
    // RIFF: chunk sizes little-endian after their names; PCM is format 1.
    expect([
      bytes.toString('latin1', 0, 4),
      bytes.readUInt32LE(4),
      bytes.toString('latin1', 8, 16),
      bytes.readUInt16LE(20),
      bytes.readUInt16LE(22),
      bytes.readUInt32LE(24),
      bytes.readUInt16LE(34),
      bytes.readUInt32LE(40),
    ]).toEqual(['RIFF', 236, 'WAVEfmt ', 1, 1, 48_000, 16, 200])
    expect(bytes.subarray(44).equals(samples(0, 100))).toBe(true)
    const part = await wavOf(desk, id, 'bytes=40-47')
    expect([part.status, part.headers.get('content-range')]).toEqual([206, 'bytes 40-47/244'])
    expect(Buffer.from(await part.arrayBuffer()).equals(bytes.subarray(40, 48))).toBe(true)
    await desk.close()
  })

  test('killed in the middle: what was answered is there, the torn ends are cut, rows past the end stay', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const source = `
      const at = (path) => import(new URL(path, ${JSON.stringify(new URL('../../', import.meta.url).href)}).href)
      const { openFakeDesk, batchOf, settled, headerOf } = await at('tests/fixtures/desk.ts')
      const desk = openFakeDesk(${JSON.stringify(folder.path)})
      await desk.call('takeIn.start', batchOf([${JSON.stringify(clipFile(outside.path, 'face.mp4'))}]))
      await settled(desk)
      const { id } = await desk.call('walkthrough.begin', { swingId: null, studentId: null, title: 'Talk', sampleRate: 48000, header: headerOf(await desk.call('clip.list', {})) })
      for (let n = 0; ; n++) {
        const pcm = new Int16Array(4800).fill(n + 1)
        const { samples } = await desk.call('walkthrough.append', { id, at: n * 4800, sound: new Uint8Array(pcm.buffer), rows: [[n * 100 + 99, { type: 'chapter', title: 'n' + n }], [n * 100 + 99, { type: 'stop' }]] })
        console.log(id + ' ' + samples)
        await new Promise((resolve) => setTimeout(resolve, 5))
      }`
    const child = spawn(process.execPath, ['--input-type=module', '-e', source], { stdio: ['ignore', 'pipe', 'inherit'] })
    let answered = ''
    await new Promise<void>((resolve) =>
      child.stdout.on('data', (text: Buffer) => {
        answered += text.toString()
        if (answered.split('\n').length > 5) resolve()
      }),
    )
    const gone = new Promise((resolve) => child.once('close', resolve))
    child.kill('SIGKILL')
    await gone
    const [id, told] = answered.trimEnd().split('\n').at(-1)!.split(' ') as [string, string]
    const inside = join(layoutOf(folder.path).walkthroughs, id)
    // What a power cut leaves of a piece in the middle of being written.
    appendFileSync(join(inside, 'sound.pcm'), Buffer.from([7]))
    appendFileSync(join(inside, 'log.ndjson'), '[999999,{"type":"stop"}]\n[1000000,{"typ')

    const desk = openFakeDesk(folder.path)
    const [walkthrough] = await desk.call('walkthrough.list', {})
    expect(walkthrough).toMatchObject({ id, state: 'recovered' })
    const recovered = Math.round((walkthrough!.durationMs / 1000) * 48_000)
    expect(recovered).toBeGreaterThanOrEqual(Number(told))
    expect(recovered - Number(told)).toBeLessThanOrEqual(4800)
    expect(statSync(join(inside, 'sound.pcm')).size).toBe(recovered * 2)
    const rows = parseLog((await desk.call('walkthrough.log', { id })).text).rows
    expect(rows.at(-1)![0]).toBe(999_999)
    expect(rows.length).toBeGreaterThanOrEqual((Number(told) / 4800) * 2 + 1)
    await desk.close()
  })

  test('a clip that joins while recording counts as shown: it must be there, and what shows it goes with it', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const { id } = await recording(desk, outside.path)
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'line.mp4')]))
    await settled(desk)
    const joins = (await desk.call('clip.list', {})).find(({ fileName }) => fileName === 'line.mp4')!
    const row: LogRow = [5, { type: 'clips', clips: headerOf([joins]).clips }]
    const stranger: LogRow = [6, { type: 'clips', clips: { gone: { ...headerOf([joins]).clips[joins.id]!, id: 'gone' } } }]
    await desk.call('walkthrough.append', { id, at: 0, sound: samples(0, 10), rows: [row] })
    await expect(desk.call('walkthrough.append', { id, at: 10, sound: samples(10, 10), rows: [stranger] })).rejects.toMatchObject({ fault: { kind: 'not-found', where: 'gone' } })
    await desk.call('walkthrough.finish', { id })
    const log = parseLog((await desk.call('walkthrough.log', { id })).text)
    expect(Object.keys(log.header.clips)).toContain(joins.id)
    expect((await desk.call('clip.remove', { id: joins.id })).walkthroughs).toBe(1)
    expect(await desk.call('walkthrough.list', {})).toEqual([])
    await desk.close()
  })

  test('a walkthrough of a clip that is not there is refused and leaves nothing', async () => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    await expect(
      desk.call('walkthrough.begin', {
        swingId: null,
        studentId: null,
        title: 'x',
        sampleRate: 48_000,
        header: headerOf([{ id: 'gone', view: 'other' }]),
      }),
    ).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    expect(await desk.call('walkthrough.list', {})).toEqual([])
    expect(await desk.call('library.check', { deep: false })).toEqual({ sound: true, findings: [], swept: [] })
    await desk.close()
  })
})
