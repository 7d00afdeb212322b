import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { apply, compose, scaleOf } from '../../shared/geometry/affine.ts'
import type { Vec2 } from '../../shared/geometry/vec.ts'
import type { Canvas2D } from '../../shared/picture/canvas.ts'
import { drawOverlay, OverlayWatch } from '../../shared/picture/drawInstant.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { inkColours } from '../../shared/picture/palette.ts'
import { wayOf } from '../../shared/picture/drawReference.ts'
import { stageRects } from '../../shared/picture/layout.ts'
import { paneViews, pictureAlpha, referenceViews, seenRect, type Overlay } from '../../shared/picture/views.ts'
import { applyEvent, type StageEvent } from '../../shared/walkthrough/events.ts'
import { encodeHeader, encodeRows, parseLog, Replay, stateAt, type Log, type LogRow } from '../../shared/walkthrough/log.ts'
import { looks, similarityMap, trackAt, type Reference } from '../../shared/walkthrough/reference.ts'
import { clipsShown, emptyPane, emptyStage, referenceFrame, referenceOf, type Stage, type StageClip } from '../../shared/walkthrough/stage.ts'

const clipOf = (id: string, width = 1080, height = 1920, captureRate = 30, count = 60): StageClip => ({
  id, view: 'face-on', handedness: 'right', width, height, captureRate, playRate: 30,
  frames: { timescale: 30, ticks: Array.from({ length: count }, (_, i) => i), endTick: count },
})
const clips = { a: clipOf('a'), b: clipOf('b'), r: clipOf('r', 720, 1280, 60, 120), wide: clipOf('wide', 1920, 1080) }
const plain: Reference = {
  clipId: 'r', tie: [[10, 20], [30, 50]], tiedBy: 'positions', transform: { scale: 1.5, turn: 0, mirror: false, shift: [0, 0] }, aligned: true,
  look: 'beside', amount: 0.5, picture: true, skeleton: false, shaft: false, traces: false, tracks: { own: null, reference: null },
}
const stageWith = (references: Stage['references'], more: Partial<Stage> = {}): Stage =>
  ({ ...emptyStage, panes: [{ ...emptyPane, clipId: 'a' }, { ...emptyPane, clipId: 'b' }], ...(references && { references }), ...more })
const size = { width: 1920, height: 1080 }
const overlay = (stage: Stage, whole = size): Overlay => ({ size: whole, stage, clips })

describe('a reference on the stage', () => {
  const after = (stage: Stage, ...events: StageEvent[]): Stage => events.reduce((now, event, i) => applyEvent(now, event, i, clips), stage)

  it('comes, changes, goes with its pane, and goes when the pane shows another clip', () => {
    const set = after(stageWith(undefined), { type: 'reference', pane: 0, reference: plain })
    expect(referenceOf(set, 0)).toEqual(plain)
    expect(clipsShown(set)).toEqual(['a', 'b', 'r'])
    const ghost = after(set, { type: 'compare', pane: 0, patch: { look: 'ghost', amount: 0.2 } })
    expect(referenceOf(ghost, 0)).toEqual({ ...plain, look: 'ghost', amount: 0.2 })
    expect(after(set, { type: 'compare', pane: 1, patch: { look: 'ghost' } })).toBe(set)
    const swapped = after(ghost, { type: 'swap' })
    expect([referenceOf(swapped, 0), referenceOf(swapped, 1)?.look]).toEqual([null, 'ghost'])
    expect(referenceOf(after(set, { type: 'pane', pane: 0, patch: { zoom: 2 } }), 0)).toBe(plain)
    expect(referenceOf(after(set, { type: 'pane', pane: 0, patch: { clipId: 'b' } }), 0)).toBeNull()
    expect(after(stageWith(undefined), { type: 'reference', pane: 1, reference: null })).not.toHaveProperty('references')
  })

  it('is at the same instant whatever way the log is read, and comes through the file as it was', () => {
    const rows: LogRow[] = [
      [100, { type: 'clips', clips: { r: clips.r } }], [100, { type: 'reference', pane: 0, reference: { ...plain, tracks: { own: { points: ['hands'], rows: [[0, 1.5, 2], [3, null, null]] }, reference: null } } }],
      [200, { type: 'play', motion: { rate: 0.5, moving: 'both', loop: { from: 5, to: 45 } } }], [900, { type: 'compare', pane: 0, patch: { look: 'wipe', tie: [[12, 18], [30, 55]] } }],
      [1500, { type: 'swap' }], [2500, { type: 'stop' }],
    ]
    const { r: _, ...first } = clips
    const log: Log = { header: { format: 'crossbearing-walkthrough', version: 1, clips: first, initial: stageWith(undefined) }, rows }
    const read = parseLog(encodeHeader(log.header) + encodeRows(rows))
    expect(read.rows).toEqual(rows)
    const replay = new Replay(read, 2)
    fc.assert(fc.property(fc.array(fc.double({ min: 0, max: 4000, noNaN: true }), { minLength: 1, maxLength: 6 }), (times) => {
      for (const t of times) {
        const [one, two] = [stateAt(read, t), replay.at(t)]
        expect(two).toEqual(one)
        for (const pane of [0, 1] as const) expect(referenceFrame(two, pane, read.header.clips)).toBe(referenceFrame(one, pane, read.header.clips))
      }
    }))
    // Frame 20 of the pane stands midway between the positions, so the reference midway between its own.
    expect(referenceFrame(stageWith([plain, null], { panes: [{ ...emptyPane, clipId: 'a', tick: 20 }, emptyPane] }), 0, clips)).toBe(35)
  })

  it('does not let a tie that goes back, or a row that does not fit its points, into a log', () => {
    const bad = (reference: unknown): string => `${encodeHeader({ format: 'crossbearing-walkthrough', version: 1, clips, initial: stageWith(undefined) })}${JSON.stringify([1, { type: 'reference', pane: 0, reference }])}\n`
    expect(() => parseLog(bad({ ...plain, tie: [[3, 4], [3, 5]] }))).toThrow('the tie does not rise')
    expect(() => parseLog(bad({ ...plain, tracks: { own: { points: ['hands'], rows: [[1, 2]] }, reference: null } }))).toThrow('a row does not fit its points')
    expect(() => parseLog(bad(plain))).not.toThrow()
  })
})

describe('the places of panes and references', () => {
  const sizes = fc.record({ width: fc.integer({ min: 150, max: 1000 }).map((n) => n * 2), height: fc.integer({ min: 150, max: 1000 }).map((n) => n * 2) })
  const any = fc.option(fc.constantFrom(...looks).map((look) => ({ ...plain, look })))

  it('are even, inside, apart where they stand beside, the same where they lie over', () => {
    fc.assert(fc.property(sizes, any, any, fc.constantFrom('twin' as const, 'single' as const), fc.constantFrom('a', 'wide'), (whole, one, two, layout, id) => {
      const stage = stageWith([one, two], { layout, panes: [{ ...emptyPane, clipId: id }, { ...emptyPane, clipId: 'b' }] })
      const { panes, references } = stageRects(whole, stage, clips)
      const boxes = [...panes, ...references].flatMap((rect, i) => (rect && !(i > 1 && referenceOf(stage, (i - 2) as 0 | 1)!.look !== 'beside') ? [rect] : []))
      for (const [i, rect] of boxes.entries()) {
        expect([rect.x, rect.y, rect.width, rect.height].every((value) => value >= 0 && value % 2 === 0)).toBe(true)
        expect(rect.x + rect.width <= whole.width && rect.y + rect.height <= whole.height).toBe(true)
        for (const other of boxes.slice(i + 1)) expect(rect.x + rect.width <= other.x || other.x + other.width <= rect.x || rect.y + rect.height <= other.y || other.y + other.height <= rect.y).toBe(true)
      }
      for (const pane of [0, 1] as const) {
        const shows = panes[pane] !== null && referenceOf(stage, pane) !== null
        expect(references[pane] !== null).toBe(shows)
        if (shows && referenceOf(stage, pane)!.look !== 'beside') expect(references[pane]).toEqual(panes[pane])
        if (shows && referenceOf(stage, pane)!.look === 'beside') expect([references[pane]!.width, references[pane]!.height]).toEqual([panes[pane]!.width, panes[pane]!.height])
      }
    }))
  })

  it('put four upright pictures in a row on a wide screen, and four wide ones in a square', () => {
    const row = stageRects(size, stageWith([plain, plain]), clips)
    expect(new Set([...row.panes, ...row.references].map((rect) => rect!.y))).toEqual(new Set([0]))
    const wide = stageWith([{ ...plain, clipId: 'wide' }, { ...plain, clipId: 'wide' }], { panes: [{ ...emptyPane, clipId: 'wide' }, { ...emptyPane, clipId: 'wide' }] })
    const square = stageRects(size, wide, clips)
    expect(new Set([...square.panes, ...square.references].map((rect) => `${rect!.x > 0} ${rect!.y > 0}`)).size).toBe(4)
  })

  it('have a point of the reference where the student has the same point, beside as in the overlay, zoomed and mirrored alike', () => {
    const pane = fc.record({ zoom: fc.double({ min: 1, max: 8, noNaN: true }), mirror: fc.boolean(), centre: fc.option(fc.tuple(fc.integer({ min: 0, max: 1080 }), fc.integer({ min: 0, max: 1920 }))) })
    fc.assert(fc.property(pane, fc.constantFrom(...looks), fc.boolean(), fc.double({ min: -5, max: 5, noNaN: true }), (view, look, mirror, turn) => {
      const reference: Reference = { ...plain, look, transform: { scale: 1.3, turn, mirror, shift: [mirror ? 900 : 40, -30] } }
      const [shown] = referenceViews(overlay(stageWith([reference, null], { panes: [{ ...emptyPane, clipId: 'a', ...view }, emptyPane] })))
      const point: Vec2 = [300, 500]
      const there = apply(shown!.place.transform, point)
      const own = apply(shown!.own.place.transform, apply(similarityMap(reference.transform), point))
      expect(there[0] - shown!.rect.x).toBeCloseTo(own[0] - shown!.own.rect.x, 4)
      expect(there[1] - shown!.rect.y).toBeCloseTo(own[1] - shown!.own.rect.y, 4)
      expect(scaleOf(shown!.place.transform)).toBeCloseTo(1.3 * scaleOf(shown!.own.place.transform), 6)
    }))
  })

  it('fit the reference in as it was filmed where it is not aligned', () => {
    const [shown] = referenceViews(overlay(stageWith([{ ...plain, aligned: false }, null])))
    const { a, d, e, f } = shown!.place.transform
    // To the pixel, which may differ a little across and down.
    expect(a).toBeCloseTo(d, 2)
    expect(e).toBeGreaterThanOrEqual(shown!.rect.x - 1e-6)
    expect(f + d * clips.r.height).toBeLessThanOrEqual(shown!.rect.y + shown!.rect.height + 1e-6)
  })

  it('show of a wipe what lies right of its edge, of a ghost as much as its slider says', () => {
    const rect = { x: 100, y: 0, width: 401, height: 300 }
    expect(seenRect({ rect, reference: { ...plain, look: 'wipe', amount: 0.25 } })).toEqual({ x: 200, y: 0, width: 301, height: 300 })
    expect(seenRect({ rect, reference: { ...plain, look: 'ghost', amount: 0.25 } })).toEqual(rect)
    expect(looks.map((look) => pictureAlpha({ ...plain, look, amount: 0.25 }))).toEqual([1, 0.25, 1])
    expect(pictureAlpha({ ...plain, look: 'ghost', picture: false })).toBe(0)
  })
})

describe('a mirrored similarity', () => {
  it('is its own undoing twice over, and keeps lengths', () => {
    fc.assert(fc.property(fc.double({ min: -20, max: 20, noNaN: true }), (turn) => {
      const map = similarityMap({ scale: 1, turn, mirror: true, shift: [0, 0] })
      const twice = compose(map, map)
      expect(apply(twice, [30, 40])[0]).toBeCloseTo(30, 6)
      expect(apply(twice, [30, 40])[1]).toBeCloseTo(40, 6)
      expect(map.a * map.d - map.b * map.c).toBeCloseTo(-1, 9)
    }))
  })
})

describe('tracks', () => {
  const track = { points: ['hands', 'clubhead'], rows: [[0, 10, 10, 0, 0], [1, 20, 10, null, null], [2, 30, 10, 40, 40], [30, 90, 90, 80, 80]] } as const
  it('give a frame its points, and between near frames the straight line', () => {
    expect(trackAt(track, 1, 0)).toEqual({ hands: [20, 10] })
    expect(trackAt(track, 1, 3)).toEqual({ hands: [20, 10], clubhead: [20, 20] })
    expect(trackAt(track, 16, 3)).toEqual({})
  })
  it('are joined only where frames are near, and only up to the instant', () => {
    expect(wayOf(track, ['butt', 'hands'], clips.a, 31)).toEqual([[[10, 10], [20, 10], [30, 10]], [[90, 90]]])
    expect(wayOf(track, ['hands'], clips.a, 1)).toEqual([[[10, 10], [20, 10]]])
    expect(wayOf(track, ['ball'], clips.a, 9)).toEqual([])
  })
})

describe('the lines of a comparison', () => {
  const track = { points: ['hands', 'clubhead', 'leadShoulder', 'leadElbow'], rows: Array.from({ length: 60 }, (_, i) => [i, 300 + i, 500, 400, 900 - i, 350, 300, 320, 400]) } as const
  const drawnOn: Mark = {
    id: 'm', clipId: 'r', shape: 'segment', meaning: null, points: [[100, 200], [300, 200]], text: '', ink: 'lead', weight: 4, dashed: false, span: { from: 10, to: 40 }, hidden: false, order: 1,
  }
  const withInk: Reference = { ...plain, look: 'ghost', skeleton: true, shaft: true, traces: true, tracks: { own: track, reference: track }, marks: [drawnOn] }
  const drawn = (of: Overlay): string => {
    const calls: string[] = []
    const ctx = new Proxy({} as Record<string, unknown>, {
      get: (target, name: string) => target[name] ?? ((...args: unknown[]) => void calls.push(`${name} ${args.map((v) => (typeof v === 'number' ? v.toFixed(2) : v)).join(' ')}`)),
      set: (_, name: string, value) => { calls.push(`${name} = ${String(value)}`); return true },
    })
    drawOverlay(ctx as unknown as Canvas2D, of)
    return calls.join('\n')
  }
  const at = (tick: number, reference: Reference = withInk): Stage => stageWith([reference, null], { panes: [{ ...emptyPane, clipId: 'a', tick }, { ...emptyPane, clipId: 'b' }] })

  it('show what was drawn on the reference where its picture lies, while it shows there, once that is asked for', () => {
    const marked: Reference = { ...plain, marks: [drawnOn], marked: true }
    const lead = `strokeStyle = ${inkColours.lead}`
    const tied = (tick: number, reference: Reference): string => drawn(overlay(at(tick, reference)))
    const shows = (tick: number): boolean => {
      const frame = referenceFrame(at(tick, marked), 0, clips)!
      return frame >= 10 && frame <= 40
    }
    for (const look of looks) for (let tick = 0; tick < 60; tick += 3) {
      expect(tied(tick, { ...marked, look }).includes(lead)).toBe(shows(tick))
      expect(tied(tick, { ...marked, look, marked: false }).includes(lead)).toBe(false)
    }
    const tick = Array.from({ length: 60 }, (_, i) => i).find(shows)!
    const [view] = referenceViews(overlay(at(tick, { ...marked, transform: { scale: 1.2, turn: 3, mirror: true, shift: [40, -20] } })))
    const [x, y] = apply(view!.place.transform, [100, 200])
    expect(tied(tick, view!.reference)).toContain(`moveTo ${x.toFixed(2)} ${y.toFixed(2)}`)
  })

  it('grow with time, and the watch tells of every change that is seen', () => {
    const change = fc.oneof(
      fc.integer({ min: 0, max: 59 }).map((tick) => (s: Stage): Stage => ({ ...s, panes: [{ ...s.panes[0], tick }, s.panes[1]] })),
      fc.constantFrom(...looks).map((look) => (s: Stage): Stage => ({ ...s, references: [{ ...s.references![0]!, look }, null] })),
      fc.constantFrom('skeleton', 'shaft', 'traces', 'picture', 'aligned', 'marked').chain((key) => fc.boolean().map((on) => (s: Stage): Stage => ({ ...s, references: [{ ...s.references![0]!, [key]: on }, null] }))),
      fc.double({ min: 0, max: 1, noNaN: true }).map((amount) => (s: Stage): Stage => ({ ...s, references: [{ ...s.references![0]!, amount }, null] })),
      fc.constantFrom(1, 2).map((zoom) => (s: Stage): Stage => ({ ...s, panes: [{ ...s.panes[0], zoom }, s.panes[1]] })),
    )
    fc.assert(fc.property(fc.array(change, { maxLength: 15 }), (changes) => {
      for (const only of [undefined, 'references', 'marks'] as const) {
        const watch = new OverlayWatch()
        const of = (stage: Stage): Overlay => ({ ...overlay(stage), ...(only && { only }) })
        let stage = at(12)
        watch.changed(of(stage))
        let shown = drawn(of(stage))
        for (const next of changes) {
          stage = next(stage)
          const told = watch.changed(of(stage))
          const now = drawn(of(stage))
          if (now !== shown) expect(told).toBe(true)
          shown = now
        }
      }
    }))
    expect(drawn(overlay(at(40))).length).toBeGreaterThan(drawn(overlay(at(12))).length)
  })

  it('are nothing for a reference that shows its picture alone, and stay inside their places', () => {
    expect(drawn({ ...overlay(at(12, plain)), only: 'references' })).toBe('')
    expect(drawn({ ...overlay(at(12)), only: 'marks' })).toBe(drawn(overlay(stageWith(undefined, { panes: at(12).panes }))))
    const of = overlay(at(12, { ...withInk, look: 'wipe' }))
    const [view] = referenceViews(of)
    const seen = seenRect(view!)
    expect(drawn(of)).toContain(`rect ${[seen.x, seen.y, seen.width, seen.height].map((v) => v.toFixed(2)).join(' ')}\nclip`)
    expect(paneViews(of)).toHaveLength(2)
  })
})
