/**
 * Take-in: review frames a second and memory, against decoding alone in the same run; every frame a key frame against
 * groups of eight. Inputs are made here, in the system's temporary folder.
 *
 *     node tests/speed/takein.ts
 */
import { mkdtemp, rm, stat } from 'node:fs/promises'
import { availableParallelism, tmpdir } from 'node:os'
import { join } from 'node:path'
import { FrameReader } from '../../electron/media/decodeFrames.ts'
import { MediaClient } from '../../electron/media/mediaClient.ts'
import { OriginalFrames } from '../../electron/media/originalFrame.ts'
import { openPictures } from '../../electron/media/pictures.ts'
import { probe } from '../../electron/media/probe.ts'
import { reviewGroup } from '../../electron/media/reviewCopy.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

const folder = await mkdtemp(join(tmpdir(), 'crossbearing-speed-'))
const timed = async <T>(work: () => Promise<T>): Promise<[T, number]> => {
  const start = performance.now()
  const result = await work()
  return [result, (performance.now() - start) / 1000]
}
const decodeAll = async (path: string) => {
  await using pictures = await openPictures(path)
  let count = 0
  for (;;) {
    using frame = await pictures.next()
    if (!frame) return count
    count++
  }
}
const quantile = (values: number[], q: number) => values.toSorted((a, b) => a - b)[Math.min(values.length - 1, Math.floor(q * values.length))]!

async function seekTimes(path: string, kind: 'reader' | 'original'): Promise<string> {
  const probed = await probe(path)
  const total = probed.index.ticks.length
  const times: number[] = []
  let seed = 5
  // One thread and no cache to speak of, as a decoder in a page has it.
  await using reader = await FrameReader.open(path, probed.index, { threads: 1, cacheBytes: 1 })
  await using originals = new OriginalFrames()
  for (let n = 0; n < 60; n++) {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0
    const number = (seed >>> 8) % total
    const start = performance.now()
    if (kind === 'original') await originals.get({ path, ...probed, frame: number })
    else (await reader.frameAt(number))[Symbol.dispose]()
    times.push(performance.now() - start)
  }
  return `median ${quantile(times, 0.5).toFixed(1)} ms, p95 ${quantile(times, 0.95).toFixed(1)} ms`
}

try {
  console.log(`take-in on ${availableParallelism()} cores`)
  const sdr = join(folder, 'sdr.mp4')
  const hdr = join(folder, 'hdr.mp4')
  await makeNumberedClip(sdr, { width: 1080, height: 1920, frames: 360, fps: 60, gop: 60, bframes: 2, texture: true, rotate: 90, sound: 'beep' })
  await makeNumberedClip(hdr, { width: 1920, height: 1080, frames: 150, fps: 60, gop: 60, texture: true, hlg: true })

  await using client = new MediaClient()
  for (const [name, path, floor] of [['1080p H.264', sdr, 120], ['1080p HDR HEVC', hdr, 40]] as const) {
    const [frames, plain] = await timed(() => decodeAll(path))
    const probed = await client.probe(path)
    for (const group of new Set([reviewGroup, 8])) {
      const out = join(folder, `${group}.mp4`)
      const before = (await client.usage()).cpuSeconds
      const [copy, seconds] = await timed(() => client.makeReviewCopy({ path, ...probed, out, group }))
      const cpu = (await client.usage()).cpuSeconds - before
      console.log(`${name}, groups of ${group}: ${(frames / seconds).toFixed(0)} review frames a second (floor ${floor}), `
        + `${(seconds / plain).toFixed(2)} x plain decoding (${(frames / plain).toFixed(0)}/s), ${(cpu / frames * 1000).toFixed(1)} ms of processor time a frame, ${(copy.bytes / frames / 1024).toFixed(1)} KB a frame, `
        + `seek in the copy: ${await seekTimes(out, 'reader')}`)
    }
    console.log(`${name}: the original's own frame at rest, random: ${await seekTimes(path, 'original')}`)
  }

  const probed = await client.probe(sdr)
  const memory: number[] = []
  for (let n = 0; n < 6; n++) {
    const out = join(folder, 'batch.mp4')
    const watch = setInterval(() => void client.usage().then(({ memoryBytes }) => memory.push(memoryBytes), () => {}), 150)
    await client.makeReviewCopy({ path: sdr, ...probed, out })
    clearInterval(watch)
    console.log(`batch ${n + 1}: highest memory so far ${(Math.max(...memory) / 2 ** 20).toFixed(0)} MB, now ${((await client.usage()).memoryBytes / 2 ** 20).toFixed(0)} MB (limit 600), copy ${((await stat(out)).size / 2 ** 20).toFixed(1)} MB`)
  }
} finally {
  await rm(folder, { recursive: true, force: true })
}
