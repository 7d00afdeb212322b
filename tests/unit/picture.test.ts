import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { apply, invert } from '../../shared/geometry/affine.ts'
import { imagePoint, type Vec2 } from '../../shared/geometry/vec.ts'
import type { Canvas2D } from '../../shared/picture/canvas.ts'
import { drawOverlay, OverlayWatch, paneViews } from '../../shared/picture/drawInstant.ts'
import { toEdges } from '../../shared/picture/drawMark.ts'
import { paneRects, paneTransform } from '../../shared/picture/layout.ts'
import type { Stage, StageClip } from '../../shared/walkthrough/stage.ts'
import { lesson, mark } from '../fixtures/lesson.ts'

const clipOf = (id: string, width: number, height: number): StageClip => ({
  id, view: 'face-on', handedness: 'right', width, height, captureRate: 30, playRate: 30, frames: { timescale: 30, ticks: [0, 1, 2, 3], endTick: 4 },
})
const size = fc.record({ width: fc.integer({ min: 100, max: 2000 }).map((n) => n * 2), height: fc.integer({ min: 100, max: 2000 }).map((n) => n * 2) })
const side = fc.integer({ min: 16, max: 4000 })

describe('the panes', () => {
  it('are whole, even, inside the picture and apart', () => {
    fc.assert(fc.property(size, side, side, (whole, w, h) => {
      const clips = { a: clipOf('a', w, h), b: clipOf('b', h, w) }
      const { initial } = lesson([clips.a, clips.b], []).header
      const [one, two] = paneRects(whole, initial, clips)
      for (const rect of [one!, two!]) {
        expect([rect.x, rect.y, rect.width, rect.height].every((value) => value >= 0 && value % 2 === 0)).toBe(true)
        expect(rect.x + rect.width).toBeLessThanOrEqual(whole.width)
        expect(rect.y + rect.height).toBeLessThanOrEqual(whole.height)
      }
      expect(one!.x + one!.width <= two!.x || one!.y + one!.height <= two!.y).toBe(true)
      const single = paneRects(whole, { ...initial, layout: 'single', active: 1 }, clips)
      expect(single).toEqual([null, { x: 0, y: 0, ...whole }])
    }))
  })

  it('stand beside each other for tall clips on a wide picture and above each other on a tall one for wide clips', () => {
    const tall = clipOf('t', 1080, 1920)
    const wide = clipOf('w', 1920, 1080)
    const [a, b] = paneRects({ width: 1920, height: 1080 }, lesson([tall, tall], []).header.initial, { t: tall })
    expect(a!.y).toBe(b!.y)
    const [c, d] = paneRects({ width: 1080, height: 1920 }, lesson([wide, wide], []).header.initial, { w: wide })
    expect(c!.x).toBe(d!.x)
  })
})

describe('image space on the canvas', () => {
  const rect = { x: 964, y: 0, width: 956, height: 1080 }
  const pane = fc.record({
    zoom: fc.double({ min: 1, max: 40, noNaN: true }), mirror: fc.boolean(),
    centre: fc.option(fc.tuple(fc.integer({ min: -500, max: 4500 }), fc.integer({ min: -500, max: 4500 })).map(([x, y]) => imagePoint(x, y))),
  })

  /** A whole picture moves onto even pixels. */
  const atRest = (view: { zoom: number; centre: unknown }): boolean => view.zoom === 1 && view.centre === null

  it('stands on even pixels when a whole picture rests in its pane, as large and in the middle as near as nobody sees', () => {
    fc.assert(fc.property(side, side, fc.boolean(), (width, height, mirror) => {
      fc.pre(width / height > 0.4 && width / height < 2.2)
      const { a, d, e, f } = paneTransform(rect, { width, height }, { zoom: 1, centre: null, mirror })
      const fit = Math.min(rect.width / width, rect.height / height)
      const [left, right] = mirror ? [e + a * width, e] : [e, e + a * width]
      for (const edge of [left, right, f, f + d * height]) expect(Math.abs(edge / 2 - Math.round(edge / 2))).toBeLessThan(1e-9)
      expect(Math.abs(Math.abs(a) / fit - 1)).toBeLessThanOrEqual(1 / 400)
      expect(Math.abs(d / fit - 1)).toBeLessThanOrEqual(1 / 400)
      expect(Math.abs((left + right) / 2 - rect.x - rect.width / 2)).toBeLessThanOrEqual(1)
    }))
  })

  it('covers the pane with picture wherever there is enough, and goes there and back', () => {
    fc.assert(fc.property(side, side, pane, (width, height, view) => {
      const transform = paneTransform(rect, { width, height }, view)
      const corners = [apply(transform, [0, 0]), apply(transform, [width, height])]
      const xs = corners.map((c) => c[0])
      const ys = corners.map((c) => c[1])
      const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)]
      const near = 1e-6 * view.zoom
      if (x1 - x0 >= rect.width) expect(x0 <= rect.x + near && x1 >= rect.x + rect.width - near).toBe(true)
      else expect(Math.abs(x0 - rect.x - (rect.x + rect.width - x1))).toBeLessThan(atRest(view) ? 2.001 : 1e-5)
      if (y1 - y0 >= rect.height) expect(y0 <= rect.y + near && y1 >= rect.y + rect.height - near).toBe(true)
      else expect(Math.abs(y0 - rect.y - (rect.y + rect.height - y1))).toBeLessThan(atRest(view) ? 2.001 : 1e-5)
      const back = apply(invert(transform)!, apply(transform, [12, 34]))
      expect(back[0]).toBeCloseTo(12, 5)
      expect(back[1]).toBeCloseTo(34, 5)
      expect(Math.sign(transform.a)).toBe(view.mirror ? -1 : 1)
    }))
  })

  it('mirrored is the same about the middle of the pane', () => {
    fc.assert(fc.property(side, side, pane, (width, height, view) => {
      const [x, y] = apply(paneTransform(rect, { width, height }, { ...view, mirror: false }), [5, 7])
      const [mx, my] = apply(paneTransform(rect, { width, height }, { ...view, mirror: true }), [5, 7])
      expect(Math.abs(mx - (2 * rect.x + rect.width - x))).toBeLessThan(atRest(view) ? 2.001 : 1e-4)
      expect(my).toBeCloseTo(y, 6)
    }))
  })
})

describe('an endless line', () => {
  const rect = { x: 10, y: 20, width: 300, height: 200 }
  const point = fc.tuple(fc.integer({ min: -500, max: 900 }), fc.integer({ min: -500, max: 900 }))
  it('ends at the edges of its pane, on the line', () => {
    fc.assert(fc.property(point, point, (a, b) => {
      const ends = toEdges(a, b, rect)
      if (!ends) return
      for (const [x, y] of ends) {
        expect(x >= rect.x - 1e-6 && x <= rect.x + rect.width + 1e-6 && y >= rect.y - 1e-6 && y <= rect.y + rect.height + 1e-6).toBe(true)
        const across = (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])
        expect(Math.abs(across) / Math.hypot(b[0] - a[0], b[1] - a[1])).toBeLessThan(1e-6)
      }
      const onEdge = ([x, y]: Vec2): boolean => Math.min(Math.abs(x - rect.x), Math.abs(x - rect.x - rect.width), Math.abs(y - rect.y), Math.abs(y - rect.y - rect.height)) < 1e-6
      expect(ends.every(onEdge)).toBe(true)
    }))
    expect(toEdges([5, 5], [5, 5], rect)).toBeNull()
    expect(toEdges([0, 0], [1, 0], rect)).toBeNull()
  })
})

describe('what is drawn', () => {
  const clip = clipOf('c', 1080, 1920)
  const overlay = (stage: Stage): { size: { width: number; height: number }; stage: Stage; clips: { c: StageClip } } => ({ size: { width: 1920, height: 1080 }, stage, clips: { c: clip } })
  const initial = (marks: Stage['marks'], more: Partial<Stage> = {}): Stage => lesson([clip, clip], [], { marks, ...more }).header.initial

  /** A context that writes down what it is asked. */
  function notes(): { ctx: Canvas2D; calls: string[] } {
    const calls: string[] = []
    const ctx = new Proxy({ measureText: (text: string) => ({ width: text.length * 10 }) } as Record<string, unknown>, {
      get: (target, name: string) => target[name] ?? ((...args: unknown[]) => void calls.push(`${name} ${args.map((v) => (typeof v === 'number' ? v.toFixed(2) : v)).join(' ')}`)),
      set: (_, name: string, value) => {
        calls.push(`${name} = ${String(value)}`)
        return true
      },
    })
    return { ctx: ctx as unknown as Canvas2D, calls }
  }
  const drawn = (stage: Stage): string => {
    const { ctx, calls } = notes()
    drawOverlay(ctx, overlay(stage))
    return calls.join('\n')
  }

  it('keeps inside each pane', () => {
    const text = drawn(initial({ m: mark('m', 'c') }))
    for (const { rect } of paneViews(overlay(initial({})))) expect(text).toContain(`rect ${[rect.x, rect.y, rect.width, rect.height].map((v) => v.toFixed(2)).join(' ')}\nclip`)
  })

  it('ends an endless line with the picture, not with the pane, mirrored and zoomed alike', () => {
    const line = mark('m', 'c', { shape: 'line', points: [imagePoint(100, 960), imagePoint(900, 970)] })
    fc.assert(fc.property(fc.boolean(), fc.double({ min: 1, max: 3, noNaN: true }), (mirror, zoom) => {
      const stage = initial({ m: line })
      const whole = overlay({ ...stage, panes: [{ ...stage.panes[0], mirror, zoom }, { ...stage.panes[1], mirror, zoom }] })
      const { ctx, calls } = notes()
      drawOverlay(ctx, whole)
      const edges = paneViews(whole).map(({ rect, place }) => {
        const xs = [apply(place.transform, imagePoint(0, 0))[0], apply(place.transform, imagePoint(clip.width, 0))[0]]
        return [Math.max(rect.x, Math.min(...xs)), Math.min(rect.x + rect.width, Math.max(...xs))] as const
      })
      const reached = calls.filter((call) => /^(moveTo|lineTo) /.test(call)).map((call) => Number(call.split(' ')[1]))
      expect(reached).toHaveLength(8)
      for (const x of reached) expect(edges.some(([from, to]) => Math.min(Math.abs(x - from), Math.abs(x - to)) < 0.02)).toBe(true)
      if (zoom < 1.5) expect(edges[0]![0]).toBeGreaterThan(paneViews(whole)[0]!.rect.x)
    }))
  })

  it('is told of by the watch whenever it differs, and not while only the frame does', () => {
    const marks = { m: mark('m', 'c', { span: { from: 1, to: 2 } }), n: mark('n', 'c') }
    const step = fc.oneof(
      fc.integer({ min: 0, max: 3 }).map((tick) => (s: Stage): Stage => ({ ...s, panes: [{ ...s.panes[0], tick }, s.panes[1]] })),
      fc.constantFrom(1, 2, 3).map((zoom) => (s: Stage): Stage => ({ ...s, panes: [s.panes[0], { ...s.panes[1], zoom }] })),
      fc.constantFrom(null, imagePoint(3, 4), imagePoint(300, 4)).map((at) => (s: Stage): Stage => ({ ...s, pointer: at && { pane: 0, at } })),
      fc.constantFrom('twin' as const, 'single' as const).map((layout) => (s: Stage): Stage => ({ ...s, layout })),
      fc.boolean().map((hidden) => (s: Stage): Stage => ({ ...s, marks: { ...s.marks, n: { ...marks.n, hidden } } })),
      fc.boolean().map((mirror) => (s: Stage): Stage => ({ ...s, panes: [{ ...s.panes[0], mirror }, s.panes[1]] })),
    )
    fc.assert(fc.property(fc.array(step, { maxLength: 20 }), (steps) => {
      const watch = new OverlayWatch()
      let stage = initial(marks)
      watch.changed(overlay(stage))
      let shown = drawn(stage)
      for (const next of steps) {
        stage = next(stage)
        const changed = watch.changed(overlay(stage))
        const now = drawn(stage)
        if (now !== shown) expect(changed).toBe(true)
        shown = now
      }
    }))
    const watch = new OverlayWatch()
    const still = initial({ n: marks.n })
    watch.changed(overlay(still))
    expect(watch.changed(overlay({ ...still, panes: [{ ...still.panes[0], tick: 2 }, still.panes[1]] }))).toBe(false)
  })

  it('draws the mark in the making in the place of the one it changes, never twice', () => {
    const m = mark('m', 'c')
    const moved = { ...m, points: [imagePoint(500, 500), imagePoint(700, 700)] }
    expect(drawn(initial({ m }, { draft: moved }))).toBe(drawn(initial({ m: moved })))
    expect(drawn(initial({ m: { ...m, hidden: true } }))).toBe(drawn(initial({})))
  })
})
