import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { apply, invert } from '../../shared/geometry/affine.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { acrossPictures, copyAcross, spanFrom, withEnd } from '../../shared/markup/copy.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { paneTransform } from '../../shared/picture/layout.ts'
import { fit, lagOf, loopOf, mostZoom, nudgeTied, panBy, tieWithLag, toggleLayout, toggleMirror, zoomAbout } from '../../shared/walkthrough/commands.ts'
import { applyEvent, type StageEvent } from '../../shared/walkthrough/events.ts'
import { emptyStage, stageSchema, type Stage, type StageClip } from '../../shared/walkthrough/stage.ts'

const clip = (id: string, fps: number, more: Partial<StageClip> = {}): StageClip => ({
  id, view: 'face-on', handedness: 'right', width: 1080, height: 1920, captureRate: fps, playRate: fps,
  frames: { timescale: 90_000, ticks: Array.from({ length: 120 }, (_, i) => 900 + Math.round((i * 90_000) / fps)), endTick: 900 + Math.round((120 * 90_000) / fps) }, ...more,
})
const clips = { l: clip('l', 60), r: clip('r', 30) }
const start: Stage = { ...emptyStage, panes: [{ ...emptyStage.panes[0], clipId: 'l', tick: 900 }, { ...emptyStage.panes[1], clipId: 'r', tick: 900 }] }
const after = (stage: Stage, events: readonly StageEvent[]): Stage => events.reduce((now, event) => applyEvent(now, event, 0, clips), stage)
const onCanvas = { rect: { x: 20, y: 10, width: 640, height: 700 }, image: { width: 1080, height: 1920 } }
const canvasPoint = fc.tuple(fc.integer({ min: 21, max: 659 }), fc.integer({ min: 11, max: 709 }))

describe('zoom and pan', () => {
  test('what lies under the pointer stays there while the picture covers the pane', () => {
    fc.assert(fc.property(canvasPoint, fc.boolean(), (at, mirror) => {
      // Zoomed so far that no edge holds the picture back.
      const mirrored = mirror ? after(start, toggleMirror(start, 0)) : start
      const close = after(mirrored, zoomAbout(mirrored, 0, onCanvas, 8, [340, 360]))
      const before = apply(invert(paneTransform(onCanvas.rect, onCanvas.image, close.panes[0]))!, at)
      const closer = after(close, zoomAbout(close, 0, onCanvas, 1.5, at))
      const there = apply(paneTransform(onCanvas.rect, onCanvas.image, closer.panes[0]), before)
      expect(there[0]).toBeCloseTo(at[0], 0)
      expect(there[1]).toBeCloseTo(at[1], 0)
    }))
  })

  test('a drag moves the picture with the hand, mirrored or not', () => {
    fc.assert(fc.property(fc.integer({ min: -60, max: 60 }), fc.integer({ min: -60, max: 60 }), fc.boolean(), (dx, dy, mirror) => {
      const mirrored = mirror ? after(start, toggleMirror(start, 0)) : start
      const close = after(mirrored, zoomAbout(mirrored, 0, onCanvas, 6, [340, 360]))
      const moved = after(close, panBy(close, 0, onCanvas, dx, dy))
      const point = imagePoint(540, 960)
      const one = apply(paneTransform(onCanvas.rect, onCanvas.image, close.panes[0]), point)
      const two = apply(paneTransform(onCanvas.rect, onCanvas.image, moved.panes[0]), point)
      expect(Math.abs(two[0] - one[0] - dx)).toBeLessThan(0.1)
      expect(Math.abs(two[1] - one[1] - dy)).toBeLessThan(0.1)
    }))
  })

  test('whatever is done, the stage stays valid and fit brings the whole picture back', () => {
    const step = fc.oneof(
      fc.tuple(fc.constant('zoom' as const), fc.double({ min: 0.1, max: 10, noNaN: true }), canvasPoint),
      fc.tuple(fc.constant('pan' as const), fc.double({ min: -2000, max: 2000, noNaN: true }), canvasPoint),
      fc.tuple(fc.constant('mirror' as const), fc.constant(0), canvasPoint),
    )
    fc.assert(fc.property(fc.array(step, { maxLength: 20 }), (steps) => {
      let stage = start
      for (const [kind, amount, at] of steps) {
        stage = after(stage, kind === 'zoom' ? zoomAbout(stage, 0, onCanvas, amount, at) : kind === 'pan' ? panBy(stage, 0, onCanvas, amount, at[1]) : toggleMirror(stage, 0))
        expect(stageSchema.safeParse(stage).success).toBe(true)
        expect(stage.panes[0].zoom).toBeLessThanOrEqual(mostZoom)
      }
      const fitted = after(stage, fit(stage, 0))
      expect(fitted.panes[0].zoom).toBe(1)
      expect(fitted.panes[0].centre).toBe(null)
      expect(fitted.panes[1]).toBe(start.panes[1])
    }))
  })
})

test('single and twin, of the pane that is active', () => {
  const single = after(start, toggleLayout(start))
  expect(single).toMatchObject({ layout: 'single', active: 0 })
  expect(after(single, toggleLayout(single)).layout).toBe('twin')
})

test('a tie made of a lag has that lag, whatever the playheads and rates', () => {
  fc.assert(fc.property(fc.double({ min: -1, max: 1, noNaN: true }), fc.integer({ min: 0, max: 119 }), fc.constantFrom(0 as const, 1 as const), (lag, frame, keep) => {
    const stage = after(start, [{ type: 'pane', pane: keep, patch: { tick: clips.l.frames.ticks[frame]! } }])
    const tied = after(stage, tieWithLag(stage, clips.l, clips.r, lag, keep))
    expect(lagOf(tied, clips.l, clips.r)).toBeCloseTo(lag, 9)
    // Tying anew leaves the kept pane's tied instant where it was.
    const again = after(tied, tieWithLag(tied, clips.l, clips.r, lag + 0.1, keep))
    expect(lagOf(again, clips.l, clips.r)).toBeCloseTo(lag + 0.1, 9)
    expect(keep === 0 ? again.tie!.left : again.tie!.right).toBe(keep === 0 ? tied.tie!.left : tied.tie!.right)
  }))
})

test('a nudge moves one pane by a frame, however long its frames are, and there and back is nothing', () => {
  const uneven = { ...clips.l, frames: { timescale: 1000, ticks: [0, 8, 70, 81, 130], endTick: 140 } }
  const known = { ...clips, l: uneven }
  const tied: Stage = { ...start, panes: [{ ...start.panes[0], tick: 70 }, { ...start.panes[1], tick: 3900 }], tie: { left: 8, right: 900 } }
  const run = (stage: Stage, events: readonly StageEvent[]): Stage => events.reduce((now, event) => applyEvent(now, event, 0, known), stage)
  const on = run(tied, nudgeTied(tied, uneven, 0, 1))
  expect(on.panes.map((pane) => pane.tick)).toEqual([81, 3900])
  expect(on.tie).toEqual({ left: 19, right: 900 })
  expect(run(on, nudgeTied(on, uneven, 0, -1))).toEqual(tied)
  expect(nudgeTied({ ...tied, panes: [{ ...tied.panes[0], tick: 0 }, tied.panes[1]] }, uneven, 0, -1)).toEqual([])
})

test('a loop takes in its first and last frame whole', () => {
  expect(loopOf(clips.l, 0, 0)).toEqual({ from: 900, to: 2400 })
  expect(loopOf(clips.l, 118, 119)).toEqual({ from: 900 + 118 * 1500, to: clips.l.frames.endTick })
  expect(loopOf(clips.l, 5, 4)).toBe(null)
})

describe('marks on the other clip', () => {
  const mark: Mark = { id: 'm', clipId: 'l', shape: 'segment', meaning: null, points: [imagePoint(540, 960), imagePoint(640, 960)], text: '', span: null, ink: 'plain', weight: 4, dashed: false, hidden: false, order: 0 }
  test('scaled by the height about the middle, turned about where the panes are mirrored differently', () => {
    const to = { width: 720, height: 960 }
    const straight = copyAcross(mark, { id: 'n', clipId: 'r', span: null, order: 1 }, acrossPictures({ width: 1080, height: 1920 }, to, false))
    expect(straight).toMatchObject({ id: 'n', clipId: 'r', points: [[360, 480], [410, 480]] })
    const turned = copyAcross(mark, { id: 'n', clipId: 'r', span: null, order: 1 }, acrossPictures({ width: 1080, height: 1920 }, to, true))
    expect(turned.points).toEqual([[360, 480], [310, 480]])
  })

  test('spans: a frame, a quarter of a second of the world, the whole clip; ends give way', () => {
    expect(spanFrom('frame', clips.l, 10)).toEqual({ from: 15_900, to: 15_900 })
    expect(spanFrom('span', clips.l, 10)).toEqual({ from: 15_900, to: 15_900 + 15 * 1500 })
    expect(spanFrom('clip', clips.l, 10)).toBe(null)
    expect(withEnd({ from: 2400, to: 3900 }, 'from', clips.l.frames, 30)).toEqual({ from: 45_900, to: 45_900 })
    expect(withEnd(null, 'to', clips.l.frames, 30)).toEqual({ from: 900, to: 45_900 })
  })
})
