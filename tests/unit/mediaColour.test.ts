import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import {
  AV_PIX_FMT_YUV420P, AV_PIX_FMT_YUV420P10LE, AVCOL_RANGE_JPEG, AVCOL_RANGE_MPEG, AVCOL_SPC_BT2020_NCL, AVCOL_SPC_SMPTE170M, Frame,
} from 'node-av'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { Colour } from '../../electron/media/colour.ts'
import { displayFilter } from '../../electron/media/displayFilter.ts'
import { pictureChain } from '../../electron/media/filterChain.ts'
import { MediaError } from '../../electron/media/mediaError.ts'
import { probe } from '../../electron/media/probe.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

const size = { width: 32, height: 32 }
const upright = { rotation: 0, mirrored: false } as const

/** One flat colour through the display filter: Y, U, V in, Y, U, V out. */
async function shown(colour: Colour, yuv: readonly [number, number, number]): Promise<number[]> {
  const wide = colour.hdr
  const samples = new (wide ? Uint16Array : Uint8Array)(size.width * size.height * 3 / 2)
  samples.fill(yuv[0], 0, 1024).fill(yuv[1], 1024, 1280).fill(yuv[2], 1280)
  const format = wide ? AV_PIX_FMT_YUV420P10LE : AV_PIX_FMT_YUV420P
  using frame = Frame.fromVideoBuffer(Buffer.from(samples.buffer), { ...size, format, timeBase: { num: 1, den: 30 }, pts: 0n })
  frame.colorSpace = wide ? AVCOL_SPC_BT2020_NCL : AVCOL_SPC_SMPTE170M
  frame.colorRange = colour.fullRange ? AVCOL_RANGE_JPEG : AVCOL_RANGE_MPEG
  using chain = await pictureChain(displayFilter({ stored: size, orientation: upright, colour }, size), {
    ...size, format, timeBase: { num: 1, den: 30 }, colorSpace: frame.colorSpace, colorRange: frame.colorRange,
  })
  let out: number[] = []
  await chain.push(frame, (done) => {
    using own = done
    expect(own.format).toBe(AV_PIX_FMT_YUV420P)
    out = [0, 1, 2].map((plane) => own.data![plane]![(plane ? 8 : 16) * own.linesize[plane]! + (plane ? 8 : 16)]!)
  })
  return out
}

describe('the way to the screen', () => {
  const phone: Colour = { primaries: 'bt470bg', transfer: 'smpte170m', matrix: 'smpte170m', fullRange: true, hdr: false }

  it('turns full-range BT.601 into limited BT.709', async () => {
    // Pure red, green and blue: JFIF full range in, ITU-T H.273 8-bit limited BT.709 out.
    for (const [from, to] of [[[76, 85, 255], [63, 102, 240]], [[150, 44, 21], [173, 42, 26]], [[29, 255, 107], [32, 240, 118]], [[255, 128, 128], [235, 128, 128]], [[0, 128, 128], [16, 128, 128]]] as const) {
      const out = await shown(phone, from)
      out.forEach((sample, plane) => expect(Math.abs(sample - to[plane]!), `${from} plane ${plane} ${out}`).toBeLessThanOrEqual(2))
    }
  })

  it('tone-maps HLG greys to greys, rising from black to white', async () => {
    const hlg: Colour = { primaries: 'bt2020', transfer: 'hlg', matrix: 'bt2020-ncl', fullRange: false, hdr: true }
    const greys: number[] = []
    for (const share of [0, 0.25, 0.5, 0.75, 1]) {
      const [y, u, v] = await shown(hlg, [Math.round(64 + 876 * share), 512, 512])
      expect(Math.abs(u! - 128) + Math.abs(v! - 128)).toBeLessThanOrEqual(2)
      greys.push(y!)
    }
    expect(greys).toEqual(greys.toSorted((a, b) => a - b))
    expect(new Set(greys).size).toBe(5)
    expect(greys[0]).toBeLessThanOrEqual(17)
    // Reference white is 75 % in HLG (ITU-R BT.2408): bright on an SDR screen, with highlights above it.
    expect(greys[3]).toBeGreaterThan(190)
    expect(greys[4]).toBeLessThanOrEqual(236)
  })
})

describe('files that hold no picture to show', () => {
  let folder = ''
  beforeAll(async () => { folder = await mkdtemp(join(tmpdir(), 'crossbearing-none-')) })
  afterAll(() => rm(folder, { recursive: true, force: true }))
  const kindOf = (path: string) => probe(path).then(() => 'no error', (error: unknown) => error instanceof MediaError ? error.kind : String(error))

  it('a track without frames', async () => {
    const path = join(folder, 'none.mp4')
    await makeNumberedClip(path, { width: 64, height: 64, frames: 5 })
    const bytes = await readFile(path)
    // The counts of the sample tables (ISO/IEC 14496-12, 8.6 and 8.7) lie behind version and flags; that of stsz behind one number more.
    for (const [table, count] of [['stts', 8], ['stsc', 8], ['stco', 8], ['stss', 8], ['stsz', 12]] as const) bytes.writeUInt32BE(0, bytes.indexOf(table) + count)
    await writeFile(path, bytes)
    expect(await kindOf(path)).toBe('no-frames')
  })

  it('a codec that nothing here reads', async () => {
    const path = join(folder, 'strange.mp4')
    await makeNumberedClip(path, { width: 64, height: 64, frames: 5 })
    const bytes = await readFile(path)
    bytes.write('zzzz', bytes.indexOf('avc1', bytes.indexOf('stsd')), 'latin1')
    bytes.write('zzzz', bytes.indexOf('avcC'), 'latin1')
    await writeFile(path, bytes)
    expect(await kindOf(path)).toBe('unknown-codec')
  })
})
