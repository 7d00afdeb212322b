/** A comparison in the hand-off: placed to a fraction of a pixel, let through by the slider, cut at the wipe, at the same instant as on the screen. */
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Composer } from '../../electron/handoff/composer.ts'
import { openClips, probedClips } from '../../electron/handoff/openClips.ts'
import { placeReference } from '../../electron/handoff/placeReference.ts'
import { newPicture, planesOf } from '../../electron/handoff/planes.ts'
import { renderHandoff } from '../../electron/handoff/renderHandoff.ts'
import { Scratch } from '../../electron/handoff/scratch.ts'
import { handoffSize } from '../../shared/contract/walkthrough.ts'
import { apply, invert } from '../../shared/geometry/affine.ts'
import { paneViews, referenceViews, seenRect } from '../../shared/picture/views.ts'
import { stateAt, type LogRow } from '../../shared/walkthrough/log.ts'
import { similarityMap, type Reference } from '../../shared/walkthrough/reference.ts'
import { emptyPane, emptyStage, type Stage, type StageClip } from '../../shared/walkthrough/stage.ts'
import { eachPicture, lesson, rgbAt, stageClip, talk, wholeTake, writeWav } from '../fixtures/lesson.ts'
import { makeNumberedClip, readFrameNumber } from '../fixtures/numberedClip.ts'

describe('a reference laid onto the canvas', () => {
  it('has every sample where its map says, luma and chroma, turned and mirrored, let through by as much as is asked for', () => {
    const scratch = new Scratch()
    const source = newPicture({ width: 200, height: 160 })
    const from = planesOf(source)
    // Straight slopes, which linear sampling gives back exactly: what is off is off in place.
    const slope = (x: number, y: number): number => 40 + 0.5 * x + 0.35 * y
    for (let y = 0; y < 160; y++) for (let x = 0; x < 200; x++) from.data[0][y * from.stride[0] + x] = Math.round(slope(x + 0.5, y + 0.5))
    for (const plane of [1, 2] as const) for (let y = 0; y < 80; y++) for (let x = 0; x < 100; x++) from.data[plane][y * from.stride[plane] + x] = Math.round(slope(2 * x + 0.5, 2 * y + 1))
    const canvas = newPicture({ width: 320, height: 240 })
    const to = planesOf(canvas)
    const wish = fc.record({ scale: fc.double({ min: 0.6, max: 2, noNaN: true }), turn: fc.double({ min: -9, max: 9, noNaN: true }), mirror: fc.boolean(), shift: fc.tuple(fc.integer({ min: -40, max: 200 }), fc.integer({ min: -40, max: 80 })) })
    fc.assert(fc.property(wish, fc.constantFrom(1, 0.5, 0.25), (similarity, alpha) => {
      for (const [plane, data] of to.data.entries()) data.fill(plane === 0 ? 90 : 128)
      const transform = similarityMap(similarity)
      const rect = { x: 40, y: 20, width: 240, height: 200 }
      placeReference(to, { picture: source, imageSize: { width: 200, height: 160 }, transform, rect, alpha, ground: null }, scratch)
      const back = invert(transform)!
      for (let i = 0; i < 120; i++) {
        const [column, row] = [(i * 37) % 320, (i * 53) % 240]
        for (const [plane, step, dx, dy] of [[0, 1, 0.5, 0.5], [1, 2, 0.5, 1]] as const) {
          const [px, py] = [Math.floor(column / step), Math.floor(row / step)]
          const [x, y] = apply(back, [px * step + dx, py * step + dy])
          const value = to.data[plane]![py * to.stride[plane]! + px]!
          const before = plane === 0 ? 90 : 128
          const isOut = px * step < rect.x || px * step >= rect.x + rect.width || py * step < rect.y || py * step >= rect.y + rect.height
          if (isOut || x < -2 || y < -2 || x > 202 || y > 162) expect(value).toBe(before)
          else if (x > 2 && y > 2 && x < 198 && y < 158) expect(Math.abs(value - (before * (1 - alpha) + slope(x, y) * alpha))).toBeLessThan(1.6)
        }
      }
    }), { numRuns: 40 })
    source.free()
    canvas.free()
    scratch[Symbol.dispose]()
  })
})

describe('a comparison handed off', () => {
  const settings = { size: '720p', orientation: 'landscape', fps: 30, title: '' } as const
  let folder = ''
  const clips = { own: { path: '' }, other: { path: '' } }
  let own: StageClip
  let other: StageClip
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'compare-handoff-'))
    clips.own.path = join(folder, 'own.mp4')
    clips.other.path = join(folder, 'other.mp4')
    await makeNumberedClip(clips.own.path, { width: 270, height: 480, frames: 60, fps: 30, gop: 30, preset: 'ultrafast' })
    await makeNumberedClip(clips.other.path, { width: 360, height: 640, frames: 120, fps: 30, gop: 30, preset: 'ultrafast' })
    own = await stageClip('own', clips.own.path)
    other = await stageClip('other', clips.other.path, 60)
  })
  afterAll(() => rm(folder, { recursive: true, force: true }))

  const tick = (clip: StageClip, frame: number): number => clip.frames.ticks[frame]!
  const reference = (more: Partial<Reference> = {}): Reference => ({
    clipId: 'other', tie: [[tick(own, 5), tick(other, 20)], [tick(own, 25), tick(other, 70)], [tick(own, 50), tick(other, 110)]], tiedBy: 'positions',
    transform: { scale: 0.75, turn: 0, mirror: false, shift: [0, 0] }, aligned: true, look: 'beside', amount: 0.5, picture: true, skeleton: false, shaft: false, traces: false,
    tracks: { own: null, reference: null }, ...more,
  })
  const stage = (one: Reference, frame: number): Stage => ({ ...emptyStage, layout: 'single', panes: [{ ...emptyPane, clipId: 'own', tick: tick(own, frame) }, emptyPane], references: [one, null] })

  it('shows in every picture the frame that the tie calls for, beside, mirrored and turned, and the screen would show', async () => {
    const sound = join(folder, 'talk.wav')
    await writeWav(sound, talk(2))
    const track = { points: ['hands', 'clubhead'] as const, rows: Array.from({ length: 60 }, (_, i) => [tick(own, i), 100 + i, 380, 60 + 2 * i, 420]) }
    const rows: LogRow[] = [
      [0, { type: 'reference', pane: 0, reference: reference({ transform: { scale: 0.75, turn: 1, mirror: true, shift: [270, 0] } }) }],
      [100, { type: 'play', motion: { rate: 1, moving: 0, loop: null } }],
      [1200, { type: 'compare', pane: 0, patch: { traces: true } }],
      [1500, { type: 'pane', pane: 0, patch: { zoom: 1.3 } }],
    ]
    const log = lesson([own], rows.map((row) => (row[1].type === 'reference' ? [row[0], { ...row[1], reference: { ...row[1].reference!, tracks: { own: track, reference: null } } }] : row) as LogRow), { layout: 'single' })
    const whole = { ...log, header: { ...log.header, clips: { own, other } } }
    const out = join(folder, 'lesson.mp4')
    await renderHandoff({ ...await wholeTake(whole, sound), clips, settings, out })
    const size = handoffSize(settings)
    const wrong: string[] = []
    let read = 0
    const way: [number, number, number][] = []
    await eachPicture(out, (picture, n) => {
      const overlay = { size, stage: stateAt(whole, (n / 30) * 1000), clips: whole.header.clips }
      const number = (view: ReturnType<typeof paneViews>[number], clip: StageClip): number | null => {
        const [a, b] = [apply(view.place.transform, [0, clip.height / 2]), apply(view.place.transform, [clip.width, clip.height / 2])]
        const height = clip.height * Math.abs(view.place.transform.d)
        const region = { x: Math.min(a[0], b[0]), y: (a[1] + b[1]) / 2 - height / 2, width: Math.abs(b[0] - a[0]), height }
        return readFrameNumber(picture.data![0]!, size.width, size.height, { stride: picture.linesize[0]!, region, mirrored: b[0] < a[0] })
      }
      for (const view of referenceViews(overlay)) {
        read++
        if (n >= 45) continue // Zoomed, the cells lie partly outside.
        if (number(view, other) !== view.frame) wrong.push(`picture ${n}: the reference reads ${number(view, other)}, should be ${view.frame}`)
        if (number(view.own, own) !== view.own.frame) wrong.push(`picture ${n}: the student reads ${number(view.own, own)}, should be ${view.own.frame}`)
        // The clubhead has gone through here at frame 20; its way is drawn from the moment it was asked for.
        const [x, y] = apply(view.own.place.transform, [100, 420]).map(Math.round) as [number, number]
        if (n === 34 || n === 42) way.push(rgbAt(picture, x, y))
      }
    })
    expect(wrong.slice(0, 3)).toEqual([])
    expect(read).toBe(60)
    expect(Math.max(...way[0]!.map((value, i) => Math.abs(value - way[1]![i]!)))).toBeGreaterThan(40)
  })

  it('is a mixture in a ghost and cut at the edge in a wipe, and leaves nothing behind when it goes', async () => {
    await using open = openClips(await probedClips({ own, other }, clips))
    open.fit({ own: 1, other: 1 })
    const size = { width: 540, height: 960 }
    using composer = new Composer(size, open.frame)
    const luma = async (of: Stage): Promise<(x: number, y: number) => number> => {
      const frame = await composer.compose({ kind: 'stage', stage: of, clips: { own, other } })
      const { data, stride } = planesOf(frame)
      const copy = Buffer.from(data[0])
      return (x, y) => copy[y * stride[0] + x]!
    }
    const none: Stage = { ...stage(reference(), 25), references: [null, null] }
    const alone = await luma(none)
    const full = await luma(stage(reference({ look: 'ghost', amount: 1 }), 25))
    const half = await luma(stage(reference({ look: 'ghost', amount: 0.5 }), 25))
    const wipe = await luma(stage(reference({ look: 'wipe', amount: 0.4 }), 25))
    const seen = seenRect(referenceViews({ size, stage: stage(reference({ look: 'wipe', amount: 0.4 }), 25), clips: { own, other } })[0]!)
    let differing = 0
    for (let i = 0; i < 4000; i++) {
      const [x, y] = [(i * 131) % 540, (i * 379) % 960]
      if (Math.abs(full(x, y) - alone(x, y)) > 20) differing++
      expect(Math.abs(half(x, y) - (alone(x, y) + full(x, y)) / 2)).toBeLessThan(2)
      // The edge itself is drawn as a line.
      if (Math.abs(x - seen.x) > 6) expect(Math.abs(wipe(x, y) - (x < seen.x ? alone : full)(x, y))).toBeLessThan(2)
    }
    expect(differing).toBeGreaterThan(100)
    const again = await luma(none)
    for (let i = 0; i < 4000; i++) expect(again((i * 131) % 540, (i * 379) % 960)).toBe(alone((i * 131) % 540, (i * 379) % 960))
    // A ghost whose picture is off is drawn in lines alone: nothing of it is decoded.
    const placed = composer.counts.placed
    await luma(stage(reference({ look: 'ghost', picture: false }), 25))
    expect(composer.counts.placed).toBe(placed)
  })
})
