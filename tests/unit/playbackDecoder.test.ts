import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { FrameDecoder, type DecoderLike, type FrameDecoderOptions } from '../../renderer/playback/frameDecoder.ts'
import type { PlaybackError } from '../../renderer/playback/protocol.ts'

/** Pictures that count how many of them are open. */
class Pictures {
  open = 0
  readonly bytes: number
  constructor(bytes: number) {
    this.bytes = bytes
  }
  make(timestamp: number): VideoFrame {
    this.open++
    let closed = false
    const picture = {
      timestamp, format: 'I420', codedWidth: 10, codedHeight: 10,
      allocationSize: () => this.bytes,
      clone: () => {
        if (closed) throw new Error('cloned after close')
        return this.make(timestamp)
      },
      close: () => {
        if (!closed) this.open--
        closed = true
      },
    }
    return picture as unknown as VideoFrame
  }
}

interface Bent {
  /** Frames on which decoding fails, each time. */
  broken?: ReadonlySet<number>
  /** Fails at the nth chunk given to any decoder, once each. */
  failAt?: Set<number>
  /** Puts nothing out until flushed. */
  holdsBack?: boolean
  /** Puts nothing out as long as this stands, as where the computer has no time for it. */
  silent?: boolean
  /** Bytes of a picture, where they are not what its size says. */
  bytes?: number
}

/** A decoder that puts frames out a little later, in order, and refuses what a real one refuses. */
function rig(isKey: readonly boolean[], bent: Bent = {}, budgetFrames = 40) {
  const pictures = new Pictures(bent.bytes ?? 150)
  const got: { serial: number, index: number }[] = []
  const errors: { error: PlaybackError, fatal: boolean }[] = []
  const fedTwice: string[] = []
  let chunks = 0
  let decoders = 0
  const held = new Map<number, VideoFrame>()
  const options: FrameDecoderOptions = {
    isKey, config: { codec: 'avc1.42001f', codedWidth: 10, codedHeight: 10 }, budgetBytes: budgetFrames * 150,
    read: async (index) => {
      await new Promise((resolve) => setTimeout(resolve, 0))
      return new Uint8Array([index & 255, index >> 8])
    },
    deliver: (serial, index, frame) => {
      if (Math.round(frame.timestamp / 1000) !== index) fedTwice.push(`frame ${frame.timestamp} came as ${index}`)
      got.push({ serial, index })
      held.get(index)?.close()
      held.set(index, frame)
    },
    fail: (error, fatal) => errors.push({ error, fatal }),
    parts: {
      makeChunk: (init) => init as unknown as EncodedVideoChunk,
      makeDecoder: (output, error): DecoderLike => {
        decoders++
        let state: CodecState = 'unconfigured'
        let last = -1
        let waiting: number[] = []
        const putOut = () => {
          if (bent.silent) {
            setTimeout(putOut, 5)
            return
          }
          for (const timestamp of waiting.splice(0)) output(pictures.make(timestamp))
        }
        return {
          get state() { return state },
          configure: () => { state = 'configured' },
          decode: (chunk) => {
            if (state !== 'configured') throw new Error('not configured')
            const index = Math.round(chunk.timestamp / 1000)
            const data = (chunk as unknown as { data: Uint8Array }).data
            if (data[0]! + data[1]! * 256 !== index) throw new Error('another packet\'s bytes')
            if (chunk.type !== 'key' && last !== index - 1) throw new Error(`a delta out of turn: ${index} after ${last}`)
            last = index
            chunks++
            if (bent.broken?.has(index) || bent.failAt?.delete(chunks)) {
              setTimeout(() => {
                if (state === 'closed') return
                state = 'closed'
                error(new Error('broken'))
              }, 1)
              return
            }
            waiting.push(chunk.timestamp)
            if (!bent.holdsBack) setTimeout(putOut, 1)
          },
          flush: async () => {
            do await new Promise((resolve) => setTimeout(resolve, 1))
            while (bent.silent)
            putOut()
            last = -1
          },
          close: () => { state = 'closed' },
        }
      },
    },
  }
  const decoder = new FrameDecoder(options)
  const until = async (condition: () => boolean, limit = 3000) => {
    for (const began = performance.now(); !condition();) {
      if (performance.now() - began > limit) throw new Error(`waited in vain; got ${JSON.stringify(got.slice(-5))}, errors ${errors.map(({ error }) => error.message).join('; ')}`)
      await new Promise((resolve) => setTimeout(resolve, 1))
    }
  }
  const end = () => {
    decoder.dispose()
    for (const frame of held.values()) frame.close()
  }
  return { decoder, got, errors, pictures, until, end, fedTwice, counts: () => ({ decoders, chunks }) }
}

const groups = (frames: number, length: number) => Array.from({ length: frames }, (_, i) => i % length === 0)

describe('FrameDecoder', () => {
  test('brings the newest want whatever was asked before, from groups of any length, and leaks nothing', async () => {
    await fc.assert(fc.asyncProperty(
      fc.integer({ min: 1, max: 15 }),
      fc.array(fc.record({ index: fc.nat(99), pause: fc.nat(4), ahead: fc.array(fc.nat(99), { maxLength: 6 }) }), { minLength: 1, maxLength: 20 }),
      async (length, wants) => {
        const { decoder, got, errors, pictures, until, end, fedTwice } = rig(groups(100, length))
        for (const [i, { index, pause, ahead }] of wants.entries()) {
          decoder.want(i + 1, index, ahead)
          if (pause > 0) await new Promise((resolve) => setTimeout(resolve, pause))
        }
        const last = wants[wants.length - 1]!
        const list = new Set([last.index, ...last.ahead])
        await until(() => [...list].every((index) => got.some((one) => one.index === index)))
        expect(errors).toEqual([])
        expect(fedTwice).toEqual([])
        expect(decoder.stats.peakBytes).toBeLessThanOrEqual(decoder.stats.budgetBytes)
        end()
        await new Promise((resolve) => setTimeout(resolve, 5))
        expect(pictures.open).toBe(0)
      },
    ), { numRuns: 40 })
  })

  test('decodes only the packets it must', async () => {
    const { decoder, got, until, end, counts } = rig(groups(100, 10))
    decoder.want(1, 25, [])
    await until(() => got.length === 1)
    expect(counts().chunks).toBe(6)
    decoder.want(2, 27, [])
    await until(() => got.length === 2)
    expect(counts().chunks).toBe(8)
    decoder.want(3, 22, [])
    await until(() => got.length === 3)
    expect(counts().chunks).toBe(8)
    end()
  })

  test('a budget smaller than what is asked ahead is kept, and the work ends', async () => {
    const { decoder, got, until, end, counts } = rig(groups(100, 1), {}, 5)
    decoder.want(1, 50, [51, 52, 53, 54, 55, 56, 57, 58])
    await until(() => got.some(({ index }) => index === 53))
    await new Promise((resolve) => setTimeout(resolve, 40))
    expect(counts().chunks).toBe(4)
    expect(decoder.stats.peakBytes).toBeLessThanOrEqual(decoder.stats.budgetBytes)
    end()
  })

  test('pictures larger than the file says do not keep it at work', async () => {
    const { decoder, got, until, end, counts } = rig(groups(100, 5), { bytes: 500 }, 8)
    decoder.want(1, 50, [51, 52, 53, 54, 55, 56])
    await until(() => got.some(({ index }) => index === 50))
    await new Promise((resolve) => setTimeout(resolve, 60))
    const before = counts().chunks
    await new Promise((resolve) => setTimeout(resolve, 60))
    expect(counts().chunks).toBe(before)
    expect(before).toBeLessThan(8)
    end()
  })

  test('after a stall it rests as before, and in time holds as much as before', async () => {
    const bent: Bent = { silent: true }
    const { decoder, got, until, end, counts } = rig(groups(400, 1), bent, 40)
    const full = decoder.stats.budgetBytes
    decoder.want(1, 50, [51, 52, 53, 54, 55, 56, 57, 58, 59, 60])
    await until(() => decoder.stats.budgetBytes < full)
    bent.silent = false
    await until(() => got.some(({ index }) => index === 52))
    await new Promise((resolve) => setTimeout(resolve, 60))
    const before = counts().chunks
    await new Promise((resolve) => setTimeout(resolve, 60))
    expect(counts().chunks).toBe(before)
    expect(before).toBeLessThan(14)
    for (let serial = 2; serial < 200; serial++) {
      decoder.want(serial, 60 + serial, [])
      await until(() => got.some(({ index }) => index === 60 + serial))
    }
    expect(decoder.stats.budgetBytes).toBe(full)
    end()
  })

  test('what is to go out again in another size is decoded anew where it is not held any more', async () => {
    const { decoder, got, until, end } = rig(groups(100, 1), {}, 3)
    decoder.want(1, 50, [51])
    await until(() => got.length === 2)
    got.length = 0
    decoder.sendAgain()
    await until(() => got.some(({ index }) => index === 50) && got.some(({ index }) => index === 51))
    end()
  })

  test('an old want does not come after a newer one', async () => {
    const { decoder, got, until, end } = rig(groups(100, 1))
    for (let serial = 1; serial <= 60; serial++) {
      decoder.want(serial, serial, [])
      await new Promise((resolve) => setTimeout(resolve, 1))
    }
    await until(() => got.some(({ index }) => index === 60))
    const serials = got.map(({ serial }) => serial)
    expect(serials).toEqual(serials.toSorted((a, b) => a - b))
    end()
  })

  test('a decoder that breaks once is started again and nothing is missed', async () => {
    const { decoder, got, errors, until, end, pictures } = rig(groups(100, 10), { failAt: new Set([4]) })
    decoder.want(1, 8, [9])
    await until(() => got.some(({ index }) => index === 9))
    expect(errors).toEqual([])
    expect(decoder.stats.restarts).toBe(1)
    end()
    expect(pictures.open).toBe(0)
  })

  test('a damaged frame is named, and the others still come', async () => {
    const { decoder, got, errors, until, end } = rig(groups(100, 10), { broken: new Set([35]) })
    decoder.want(1, 12, [])
    await until(() => got.length === 1)
    decoder.want(2, 36, [34, 44])
    await until(() => got.some(({ index }) => index === 34) && got.some(({ index }) => index === 44))
    await until(() => errors.length > 0)
    expect(errors.every(({ fatal }) => !fatal)).toBe(true)
    expect(errors[0]!.error).toMatchObject({ kind: 'frame-damaged', frame: 36 })
    expect(got.some(({ index }) => index === 36)).toBe(false)
    end()
  })

  test('a decoder that never works is given up after one restart', async () => {
    const { decoder, got, errors, until, end, counts } = rig(groups(20, 1), { broken: new Set(Array.from({ length: 20 }, (_, i) => i)) })
    decoder.want(1, 3, [4, 5])
    await until(() => errors.some(({ fatal }) => fatal))
    expect(errors.map(({ error }) => error.kind)).toEqual(['decoder-failed'])
    expect(counts().decoders).toBe(2)
    expect(got).toEqual([])
    end()
  })

  test('a decoder that holds frames back until it is told to finish still brings them', async () => {
    const { decoder, got, errors, until, end } = rig(groups(60, 10), { holdsBack: true })
    decoder.want(1, 14, [15])
    await until(() => got.some(({ index }) => index === 14) && got.some(({ index }) => index === 15))
    expect(errors).toEqual([])
    end()
  })
})
