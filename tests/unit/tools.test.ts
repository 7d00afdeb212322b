import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { imagePoint, type ImagePoint } from '../../shared/geometry/vec.ts'
import { History } from '../../shared/markup/history.ts'
import { markSchema, shapes, shapeSchema, type Mark, type Shape } from '../../shared/markup/mark.ts'
import { toolRun, type ToolContext, type ToolEffect, type ToolInput, type ToolName, type ToolRun } from '../../shared/markup/tools/index.ts'
import { handlesOf, movedBy, withHandle } from '../../shared/markup/tools/handles.ts'
import { distanceTo, markAt } from '../../shared/markup/tools/hit.ts'

const blank = (shape: Shape, id = 'new'): Mark => ({
  id, clipId: 'clip', shape, meaning: null, points: [], text: '', span: null, ink: 'plain', weight: 4, dashed: false, hidden: false, order: 1,
})
const context = (shape: Shape, more: Partial<ToolContext> = {}): ToolContext => ({
  blank: blank(shape), marks: [], selected: null, reach: 10, size: { width: 1080, height: 1920 }, unit: 1, mirror: false, ...more,
})
const at = (x: number, y: number): ImagePoint => imagePoint(x, y)
const hand = (type: 'down' | 'move' | 'up', x: number, y: number, constrain = false): ToolInput => ({ type, at: at(x, y), constrain })
const key = (name: 'Escape' | 'Enter' | 'Backspace'): ToolInput => ({ type: 'key', key: name })

function drive(name: ToolName, inputs: readonly ToolInput[], given: ToolContext): { run: ToolRun; effects: ToolEffect[] } {
  let run = toolRun(name)
  const effects: ToolEffect[] = []
  for (const input of inputs) {
    const step = run.next(input, given)
    run = step.run
    effects.push(...step.effects)
  }
  return { run, effects }
}
const puts = (effects: readonly ToolEffect[]): Mark[] => effects.flatMap((effect) => (effect.type === 'put' ? [effect.mark] : []))
const lastDraft = (effects: readonly ToolEffect[]): Mark | null | undefined => effects.findLast((effect) => effect.type === 'draft')?.draft

describe('shapes of two points', () => {
  test.each(['line', 'segment', 'arrow', 'box', 'circle'] as const)('%s: drag from point to point', (shape) => {
    const { run, effects } = drive(shape, [hand('down', 100, 200), hand('move', 150, 260), hand('up', 300, 400)], context(shape))
    expect(puts(effects)).toEqual([{ ...blank(shape), points: [[100, 200], [300, 400]] }])
    expect(run.isBusy).toBe(false)
    expect(lastDraft(effects)).toBe(null)
  })

  test('two clicks make the same mark as a drag', () => {
    const { effects } = drive('line', [hand('down', 100, 200), hand('up', 101, 201), hand('move', 250, 300), hand('down', 300, 400), hand('up', 300, 400)], context('line'))
    expect(puts(effects)).toEqual([{ ...blank('line'), points: [[100, 200], [300, 400]] }])
  })

  test('held constraint: level, plumb and 45 degrees for lines, square for boxes', () => {
    const line = puts(drive('segment', [hand('down', 0, 0), hand('up', 200, 9, true)], context('segment')).effects)[0]!
    expect(line.points[1]![1]).toBeCloseTo(0, 6)
    const box = puts(drive('box', [hand('down', 10, 10), hand('up', 60, -20, true)], context('box')).effects)[0]!
    expect(box.points).toEqual([[10, 10], [60, -40]])
  })
})

describe('shapes of more points', () => {
  test('an angle takes three presses', () => {
    const { effects } = drive('angle', [hand('down', 0, 0), hand('up', 0, 0), hand('down', 100, 0), hand('up', 100, 0), hand('down', 100, 80), hand('move', 100, 90), hand('up', 100, 100)], context('angle'))
    expect(puts(effects)).toEqual([{ ...blank('angle'), points: [[0, 0], [100, 0], [100, 100]] }])
  })

  test('a polyline ends at Enter, and Backspace takes its last point off', () => {
    const press = (x: number, y: number): ToolInput[] => [hand('down', x, y), hand('up', x, y)]
    const { effects } = drive('polyline', [...press(0, 0), ...press(50, 0), ...press(90, 90), key('Backspace'), ...press(100, 0), key('Enter')], context('polyline'))
    expect(puts(effects)[0]!.points).toEqual([[0, 0], [50, 0], [100, 0]])
  })

  test('a polyline ends at a second press on its last point', () => {
    const press = (x: number, y: number): ToolInput[] => [hand('down', x, y), hand('up', x, y)]
    expect(puts(drive('polyline', [...press(0, 0), ...press(50, 0), ...press(50, 1)], context('polyline')).effects)[0]!.points).toEqual([[0, 0], [50, 0]])
  })

  test('a path keeps no more points than a mark holds', () => {
    const moves = Array.from({ length: 6000 }, (_, i) => hand('move', i * 3, (i % 7) * 5))
    const [mark] = puts(drive('freehand', [hand('down', 0, 0), ...moves, hand('up', 18_000, 0)], context('freehand')).effects)
    expect(mark!.points.length).toBe(shapes.freehand.most)
    expect(mark!.points.at(-1)).toEqual([18_000, 0])
  })
})

test('a text asks for its words, shows them as they come, and is nothing without any', () => {
  const begin = [hand('down', 40, 50), hand('up', 42, 50)]
  const { effects } = drive('text', [...begin, { type: 'words', text: 'trail el', isDone: false }, { type: 'words', text: 'trail elbow', isDone: true }], context('text'))
  expect(effects.some((effect) => effect.type === 'write')).toBe(true)
  expect(puts(effects)).toEqual([{ ...blank('text'), points: [[42, 50]], text: 'trail elbow' }])
  expect(puts(drive('text', [...begin, { type: 'words', text: '  ', isDone: true }], context('text')).effects)).toEqual([])
})

describe('choosing and dragging', () => {
  const segment: Mark = { ...blank('segment', 'a'), points: [at(0, 0), at(100, 0)] }
  const box: Mark = { ...blank('box', 'b'), points: [at(200, 200), at(300, 320)] }
  const marks = [segment, box]

  test('a press on a mark chooses it, one on nothing lets go', () => {
    expect(drive('select', [hand('down', 50, 4), hand('up', 50, 4)], context('line', { marks })).effects).toContainEqual({ type: 'select', id: 'a' })
    expect(drive('select', [hand('down', 600, 600)], context('line', { marks, selected: 'a' })).effects).toContainEqual({ type: 'select', id: null })
  })

  test('a drag moves the whole mark, by exactly as much as the hand moved', () => {
    const { effects } = drive('select', [hand('down', 50, 4), hand('move', 70, 30), hand('up', 80, 44)], context('line', { marks }))
    expect(puts(effects)).toEqual([{ ...segment, points: [[30, 40], [130, 40]] }])
  })

  test('a handle moves one point; a corner of a box leaves the opposite one', () => {
    expect(puts(drive('select', [hand('down', 98, 1), hand('up', 120, 60)], context('line', { marks, selected: 'a' })).effects)[0]!.points).toEqual([[0, 0], [120, 60]])
    // The corner at the top right: its opposite lies at the bottom left.
    expect(withHandle(box, 1, at(350, 150), false).points).toEqual([[200, 320], [350, 150]])
    expect(handlesOf(box)).toHaveLength(4)
  })

  test('distance to what is drawn: an endless line has no end, a box is its frame', () => {
    expect(distanceTo({ ...segment, shape: 'line' }, at(900, 7), { unit: 1, mirror: false })).toBeCloseTo(7)
    expect(distanceTo(segment, at(103, 4), { unit: 1, mirror: false })).toBeCloseTo(5)
    expect(distanceTo(box, at(250, 260), { unit: 1, mirror: false })).toBeCloseTo(50)
    expect(markAt(marks, at(250, 260), { reach: 10, unit: 1, mirror: false })).toBe(null)
  })
})

const point = fc.tuple(fc.double({ min: -500, max: 2500, noNaN: true }), fc.double({ min: -500, max: 2500, noNaN: true })).map(([x, y]) => at(x, y))
const input: fc.Arbitrary<ToolInput> = fc.oneof(
  { weight: 8, arbitrary: fc.record({ type: fc.constantFrom('down' as const, 'move' as const, 'up' as const), at: point, constrain: fc.boolean() }) },
  { weight: 1, arbitrary: fc.record({ type: fc.constant('key' as const), key: fc.constantFrom('Enter' as const, 'Backspace' as const) }) },
  { weight: 1, arbitrary: fc.record({ type: fc.constant('words' as const), text: fc.string(), isDone: fc.boolean() }) },
)
const toolNames = [...shapeSchema.options, 'select'] as const

describe('whatever the hand does', () => {
  test.each(toolNames)('%s: drafts and marks are valid, and giving up changes nothing', (name) => {
    fc.assert(
      fc.property(fc.array(input, { maxLength: 40 }), fc.integer({ min: 0, max: 40 }), (inputs, cancelAt) => {
        const shape = name === 'select' ? 'line' : name
        let changes = 0
        const existing: Mark = { ...blank('box', 'old'), points: [at(0, 0), at(1500, 1500)] }
        const history = new History<Mark>({ old: existing }, () => void changes++)
        let run = toolRun(name)
        let selected: string | null = 'old'
        let n = 0
        let draft: Mark | null = null
        const feed = (one: ToolInput) => {
          const marks = Object.values(history.table)
          const step = run.next(one, context(shape, { blank: blank(shape, `n${n}`), marks, selected }))
          run = step.run
          for (const effect of step.effects) {
            if (effect.type === 'put') {
              expect(markSchema.safeParse(effect.mark).success).toBe(true)
              history.put({ [effect.mark.id]: effect.mark })
              n++
            } else if (effect.type === 'draft') {
              draft = effect.draft
              if (draft) expect(markSchema.safeParse(draft).success).toBe(true)
            } else if (effect.type === 'select') selected = effect.id
          }
        }
        for (const one of inputs.slice(0, cancelAt)) feed(one)
        const before = history.table
        const changesBefore = changes
        feed(key('Escape'))
        expect(run.isBusy).toBe(false)
        expect(draft).toBe(null)
        expect(history.table).toBe(before)
        expect(changes).toBe(changesBefore)
        // And it works on afterwards.
        for (const one of inputs.slice(cancelAt)) feed(one)
        while (history.undo()) { /* back to the beginning */ }
        expect(history.table).toEqual({ old: existing })
      }),
      { numRuns: 150 },
    )
  })

  test('moving there and back leaves a mark where it was', () => {
    fc.assert(fc.property(point, point, fc.integer({ min: -900, max: 900 }), fc.integer({ min: -900, max: 900 }), (a, b, dx, dy) => {
      const mark = movedBy({ ...blank('segment'), points: [a, b] }, 0.01, 0)
      const back = movedBy(movedBy(mark, dx, dy), -dx, -dy)
      back.points.forEach(([x, y], i) => {
        expect(x).toBeCloseTo(mark.points[i]![0], 6)
        expect(y).toBeCloseTo(mark.points[i]![1], 6)
      })
    }))
  })
})
