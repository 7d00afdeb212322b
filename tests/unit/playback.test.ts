import fc from 'fast-check'
import { describe, expect, test, vi } from 'vitest'
import { groupStarts, keepingCost, neighbours, nextPacket, onGrid, strideFor } from '../../renderer/playback/decodePlan.ts'
import { FrameCache } from '../../renderer/playback/frameCache.ts'
import { FrameLoop } from '../../renderer/playback/frameLoop.ts'
import { halvePlane, planesOf } from '../../renderer/playback/halving.ts'
import { checkPackets } from '../../renderer/playback/packetReader.ts'
import { fittingSize } from '../../renderer/playback/pictureSize.ts'
import { PlayedFrames } from '../../renderer/playback/playedFrames.ts'
import { SharedPicture } from '../../renderer/playback/sharedPicture.ts'
import type { FrameSource } from '../../renderer/playback/frameSource.ts'
import { fitted } from '../../renderer/playback/videoLayer.ts'
import { WarmSources, type WarmClip } from '../../renderer/playback/warmSources.ts'
import { apply } from '../../shared/geometry/affine.ts'

describe('decode plan', () => {
  test('feeding what it says until the target is fed gives an unbroken run from a key packet', () => {
    fc.assert(fc.property(
      fc.array(fc.boolean(), { minLength: 1, maxLength: 60 }).map((keys) => keys.map((key, i) => i === 0 || key)),
      fc.nat(59), fc.integer({ min: -1, max: 59 }),
      (isKey, wanted, fedBefore) => {
        const target = wanted % isKey.length
        const fed = Math.min(fedBefore, isKey.length - 1)
        const starts = groupStarts(isKey)
        const run: number[] = []
        let at = fed
        do {
          at = nextPacket(starts, target, at)
          run.push(at)
        } while (at !== target && run.length < 100)
        expect(run.at(-1)).toBe(target)
        expect(run.every((packet, i) => i === 0 ? isKey[packet] || packet === fed + 1 : packet === run[i - 1]! + 1)).toBe(true)
        expect(run.length).toBeLessThanOrEqual(target - starts[target]! + 1)
      },
    ))
  })

  test('neighbours lean the way of travel and stay inside the clip', () => {
    expect(neighbours(50, 1, 4, 100)).toEqual([51, 49, 52, 53])
    expect(neighbours(50, -1, 4, 100)).toEqual([49, 51, 48, 47])
    expect(neighbours(0, 1, 3, 100)).toEqual([1, 2, 3])
    expect(neighbours(0, 1, 6, 1)).toEqual([])
  })

  test('what is asked for costs least, then what lies ahead, then what lies behind', () => {
    const cost = (index: number) => keepingCost(index, 10, [40, 41], 1)
    expect([10, 40, 41, 11, 8, 15].map(cost)).toEqual([0, 1, 2, 1001, 1004, 1005])
  })

  test('a 240 a second clip on a 60 Hz screen shows every fourth frame, always the same ones', () => {
    expect(strideFor(4.1)).toBe(4)
    expect(strideFor(0.25)).toBe(1)
    expect([8, 9, 10, 11, 12].map((frame) => onGrid(frame, 4))).toEqual([8, 8, 8, 8, 12])
  })
})

describe('FrameCache', () => {
  test('keeps its budget, closes what it drops once, and drops the costliest', () => {
    fc.assert(fc.property(fc.array(fc.tuple(fc.nat(20), fc.integer({ min: 1, max: 40 })), { maxLength: 80 }), (puts) => {
      const closed: number[] = []
      const cache = new FrameCache<{ id: number, close: () => void }>(100)
      puts.forEach(([index, bytes], id) => cache.put(index, { id, close: () => closed.push(id) }, bytes, (at) => at))
      expect(cache.bytes).toBeLessThanOrEqual(100)
      expect(cache.peak).toBeLessThanOrEqual(100)
      expect(closed.length + cache.size).toBe(puts.length)
      cache.clear()
      expect(closed.toSorted((a, b) => a - b)).toEqual(puts.map((_, id) => id))
      expect(cache.bytes).toBe(0)
    }))
    const cache = new FrameCache<{ close: () => void }>(30)
    for (const index of [5, 1, 9, 3]) cache.put(index, { close: () => undefined }, 10, (at) => at)
    expect([1, 3, 5, 9].filter((index) => cache.has(index))).toEqual([1, 3, 5])
    cache.resize(10, (at) => at)
    expect([1, 3, 5].filter((index) => cache.has(index))).toEqual([1])
  })
})

test('the frame loop runs while a step asks for more, and stands still otherwise', () => {
  const queue: ((now: number) => void)[] = []
  const loop = new FrameLoop({ requestAnimationFrame: (callback) => queue.push(callback), cancelAnimationFrame: () => queue.splice(0) })
  const turn = () => queue.splice(0).forEach((callback) => callback(0))
  let more = 2
  let ran = 0
  loop.add(() => {
    ran++
    return more-- > 0
  })
  const off = loop.add(() => {
    ran += 100
    off()
    return false
  })
  loop.wake()
  loop.wake()
  expect(queue.length).toBe(1)
  for (let i = 0; i < 10; i++) turn()
  expect(ran).toBe(103)
  loop.wake()
  loop.end()
  loop.wake()
  turn()
  expect(ran).toBe(103)
})

describe('packets against the index', () => {
  const packet = (timestamp: number, type: 'key' | 'delta' = 'key') => ({ timestamp, type })
  test('a copy with other frames, another order or no key at its head is refused', () => {
    expect(() => checkPackets([packet(0), packet(1, 'delta')], 2)).not.toThrow()
    expect(() => checkPackets([packet(0)], 2)).toThrow(/holds 1 frames where the clip has 2/)
    expect(() => checkPackets([packet(0), packet(2), packet(1)], 3)).toThrow(/not stored in the order/)
    expect(() => checkPackets([packet(0, 'delta')], 1)).toThrow(/does not stand alone/)
  })
})

describe('played frames', () => {
  test('drawn while due is shown; passed over or drawn later is dropped', () => {
    const played = new PlayedFrames()
    for (const [due, drawn] of [[0, 0], [0, 0], [1, 0], [1, 1], [2, 1], [3, 2], [3, 3], [6, 6]] as const) played.record(due, drawn, 1)
    // 2 was never drawn while due, but afterwards; 4 and 5 had no refresh.
    expect(played.counts).toEqual({ shown: 4, dropped: 3, late: 1 })
    played.rest()
    played.record(90, 90, 1)
    expect(played.counts).toMatchObject({ shown: 5, dropped: 3 })
  })

  test('frames between two of a stride, and the way back round a loop, are not dropped', () => {
    const played = new PlayedFrames()
    for (const due of [0, 4, 8, 0, 4]) played.record(due, due, 4)
    expect(played.counts).toEqual({ shown: 5, dropped: 0, late: 0 })
  })
})

test('a fitted picture lies in the middle and touches two edges', () => {
  const m = fitted({ width: 1080, height: 1920 }, { width: 500, height: 600 })
  expect(apply(m, [0, 0])).toEqual([81.25, 0])
  expect(apply(m, [1080, 1920])).toEqual([418.75, 600])
})

describe('pictures made small', () => {
  test('a halved plane holds the mean of each four samples; edges of odd lengths stand for what is missing', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1, max: 9 }), fc.integer({ min: 0, max: 3 }), fc.nat(), (width, height, pad, seed) => {
      const source = Uint8Array.from({ length: (width + pad) * height + 5 }, (_, i) => (seed * 31 + i * 97) % 256)
      const [w, h] = [2 * Math.ceil(width / 4), 2 * Math.ceil(height / 4)]
      const target = new Uint8Array(w * h)
      halvePlane(source, { offset: 5, stride: width + pad, width, height }, target, { offset: 0, stride: w, width: w, height: h })
      const at = (x: number, y: number): number => source[5 + Math.min(y, height - 1) * (width + pad) + Math.min(x, width - 1)]!
      for (let y = 0; y < h; y++) {
        for (let x = 0; x < w; x++) {
          const mean = (at(2 * x, 2 * y) + at(2 * x + 1, 2 * y) + at(2 * x, 2 * y + 1) + at(2 * x + 1, 2 * y + 1)) / 4
          expect(Math.abs(target[y * w + x]! - mean)).toBeLessThanOrEqual(0.5)
        }
      }
    }))
  })

  test('planes of 4:2:0 lie one behind another and fill their bytes', () => {
    const { planes, bytes } = planesOf(361, 641)
    expect(planes.map(({ offset }) => offset)).toEqual([0, 361 * 641, 361 * 641 + 181 * 321])
    expect(bytes).toBe(361 * 641 + 2 * 181 * 321)
  })

  test('a size is as large as what is drawn, stays while it serves, and is none where the copy is hardly larger', () => {
    const copy = { width: 720, height: 1280 }
    const now = fittingSize({ width: 348.2, height: 618.6 }, copy, null)
    expect(now).toEqual({ width: 348, height: 619 })
    expect(fittingSize({ width: 300, height: 534 }, copy, now)).toBe(now)
    expect(fittingSize({ width: 200, height: 356 }, copy, now)).toEqual({ width: 200, height: 356 })
    expect(fittingSize({ width: 400, height: 711 }, copy, now)).toEqual({ width: 400, height: 711 })
    expect(fittingSize({ width: 640, height: 1138 }, copy, now)).toBeNull()
  })

  test('a shared picture is closed when the last holder lets go', () => {
    let closed = 0
    const shared = new SharedPicture({ close: () => { closed++ } } as unknown as ImageBitmap)
    shared.share().close()
    expect(closed).toBe(0)
    shared.close()
    expect(closed).toBe(1)
  })
})

test('sources held ready: each opened once, the first frame asked for, let go when no longer wanted or handed over', () => {
  const log: string[] = []
  const broken = new Set<string>()
  const warm = new WarmSources(({ id, frames }) => ({
    frames, get failed() { return broken.has(id) },
    want: (index: number) => log.push(`${id} ${index}`), dispose: () => log.push(`${id} gone`),
  }) as unknown as FrameSource)
  const clip = (id: string, first: number): WarmClip => ({ id, url: id, frames: 90, first })
  warm.hold([clip('a', 3), clip('b', 4)])
  warm.hold([clip('b', 5), clip('c', 6)])
  expect(log.splice(0)).toEqual(['a 3', 'b 4', 'a gone', 'b 5', 'c 6'])
  expect(warm.take('a', 90)).toBeNull()
  expect(warm.take('b', 90)).not.toBeNull()
  expect(warm.take('b', 90)).toBeNull()
  broken.add('c')
  expect(warm.take('c', 90)).toBeNull()
  warm.hold([clip('d', 0)])
  expect(warm.take('d', 80)).toBeNull()
  warm.hold([clip('e', 1)])
  warm.dispose()
  expect(log).toEqual(['c gone', 'd 0', 'd gone', 'e 1', 'e gone'])
})

test('decoders that run ahead of need are handed out before new ones are started, and end where they are not needed', async () => {
  const ended: number[] = []
  let started = 0
  vi.stubGlobal('Worker', class {
    readonly number = ++started
    terminate(): void { ended.push(this.number) }
  })
  const { keepDecoderWorkers, takeDecoderWorker } = await import('../../renderer/playback/decoderWorkers.ts')
  const take = (): number => (takeDecoderWorker() as unknown as { number: number }).number
  keepDecoderWorkers(2)
  expect([take(), take(), take()]).toEqual([1, 2, 3])
  keepDecoderWorkers(2)
  keepDecoderWorkers(2)
  expect(started).toBe(5)
  keepDecoderWorkers(1)
  expect(ended).toEqual([5])
  expect(take()).toBe(4)
  keepDecoderWorkers(0)
  expect(ended).toEqual([5])
  vi.unstubAllGlobals()
})
