import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { applyDiff, diffBetween, isEmpty, reverse, squash } from '../../shared/markup/diff.ts'
import { History } from '../../shared/markup/history.ts'
import { markSchema, marksAt, shapes, shapeSchema, showsAt, type Mark } from '../../shared/markup/mark.ts'
import { pictureAngle } from '../../shared/markup/pictureAngle.ts'
import { mark } from '../fixtures/lesson.ts'

type Table = Readonly<Record<string, { readonly n: number }>>
const id = fc.constantFrom('a', 'b', 'c', 'd', 'e')
const table: fc.Arbitrary<Table> = fc.dictionary(id, fc.record({ n: fc.integer() }))
/** A table and another that keeps some of its records by identity. */
const change: fc.Arbitrary<{ before: Table; after: Table }> = fc
  .tuple(table, table, fc.subarray(['a', 'b', 'c', 'd', 'e']))
  .map(([before, other, kept]) => ({ before, after: { ...other, ...Object.fromEntries(kept.filter((k) => before[k]).map((k) => [k, before[k]!])) } }))

describe('diffs of records', () => {
  it('lead there and back', () => {
    fc.assert(fc.property(change, ({ before, after }) => {
      const diff = diffBetween(before, after)
      expect(applyDiff(before, diff)).toEqual(after)
      expect(applyDiff(after, reverse(diff))).toEqual(before)
      expect(reverse(reverse(diff))).toEqual(diff)
      expect(isEmpty(diffBetween(before, before))).toBe(true)
    }))
  })

  it('keep by identity what they do not name', () => {
    fc.assert(fc.property(change, ({ before, after }) => {
      const diff = diffBetween(before, after)
      const result = applyDiff(before, diff)
      for (const key of Object.keys(before)) if (!diff.updated[key] && !diff.removed[key]) expect(result[key]).toBe(before[key])
    }))
  })

  it('squashed do what one after the other does, both ways', () => {
    fc.assert(fc.property(fc.array(table, { minLength: 2, maxLength: 6 }), (tables) => {
      const steps = tables.slice(1).map((next, i) => diffBetween(tables[i]!, next))
      const whole = steps.reduce((first, second) => squash(first, second))
      expect(applyDiff(tables[0]!, whole)).toEqual(tables.at(-1))
      expect(applyDiff(tables.at(-1)!, reverse(whole))).toEqual(tables[0])
    }))
  })
})

type Act = { do: 'put'; id: string; n: number } | { do: 'remove'; id: string } | { do: 'open' | 'close' | 'cancel' | 'undo' | 'redo' }
const act: fc.Arbitrary<Act> = fc.oneof(
  fc.record({ do: fc.constant('put' as const), id, n: fc.integer() }),
  fc.record({ do: fc.constant('remove' as const), id }),
  fc.record({ do: fc.constantFrom('open' as const, 'close' as const, 'cancel' as const, 'undo' as const, 'redo' as const) }),
)
function run(history: History<{ readonly n: number }>, step: Act): void {
  if (step.do === 'put') history.put({ [step.id]: { n: step.n } })
  else if (step.do === 'remove') history.remove([step.id])
  else history[step.do]()
}

describe('undo and redo', () => {
  it('all undone is where it began, all redone where it ended, whatever was done', () => {
    fc.assert(fc.property(table, fc.array(act, { maxLength: 40 }), (start, acts) => {
      const history = new History<{ readonly n: number }>(start)
      for (const step of acts) run(history, step)
      history.close()
      const end = history.table
      let undone = 0
      // Redo first, so that the end is where nothing lies ahead.
      while (history.redo()) undone--
      const last = history.table
      while (history.undo()) undone++
      expect(history.table).toEqual(start)
      while (history.redo()) undone--
      expect(history.table).toEqual(last)
      if (undone === 0) expect(history.table).toEqual(end)
    }))
  })

  it('one undo takes back one step and one redo brings it again', () => {
    fc.assert(fc.property(table, fc.array(act, { maxLength: 30 }), (start, acts) => {
      const history = new History<{ readonly n: number }>(start)
      for (const step of acts) run(history, step)
      history.close()
      if (!history.canUndo) return
      const before = history.table
      history.undo()
      expect(history.canRedo).toBe(true)
      history.redo()
      expect(history.table).toEqual(before)
    }))
  })

  it('cancel is back to where the step was opened, and leaves the past as it was', () => {
    fc.assert(fc.property(table, fc.array(act.filter(({ do: what }) => what === 'put' || what === 'remove'), { maxLength: 12 }), (start, acts) => {
      const history = new History<{ readonly n: number }>(start)
      history.put({ z: { n: 1 } })
      const opened = history.table
      history.open()
      for (const step of acts) run(history, step)
      history.cancel()
      expect(history.table).toEqual(opened)
      expect(history.isOpen).toBe(false)
      expect(history.canRedo).toBe(false)
      history.undo()
      expect(history.table).toEqual(start['z'] ? { ...start } : start)
    }))
  })

  it('tells of every change, so that whoever listens has the same table', () => {
    fc.assert(fc.property(table, fc.array(act, { maxLength: 40 }), (start, acts) => {
      let heard: Table = start
      const history = new History<{ readonly n: number }>(start, (diff) => (heard = applyDiff(heard, diff)))
      for (const step of acts) {
        run(history, step)
        expect(heard).toEqual(history.table)
      }
    }))
  })

  it('a new change forgets what was undone; a step without a change is none', () => {
    const history = new History<{ readonly n: number }>({})
    history.put({ a: { n: 1 } })
    history.undo()
    history.put({ b: { n: 2 } })
    expect(history.canRedo).toBe(false)
    history.open()
    history.close()
    history.undo()
    expect(history.table).toEqual({})
    expect(history.canUndo).toBe(false)
  })
})

describe('marks', () => {
  it('have as many points as their shape', () => {
    for (const shape of shapeSchema.options) {
      const { least, most } = shapes[shape]
      const points = (n: number): Mark['points'] => Array.from({ length: n }, (_, i) => imagePoint(i, i))
      expect(markSchema.safeParse(mark('m', 'c', { shape, points: points(least) })).success).toBe(true)
      expect(markSchema.safeParse(mark('m', 'c', { shape, points: points(least - 1) })).success).toBe(false)
      expect(markSchema.safeParse(mark('m', 'c', { shape, points: points(most + 1) })).success).toBe(false)
    }
  })

  it('show from the first to the last tick of their span, in their order', () => {
    const m = mark('m', 'c', { span: { from: 10, to: 20 } })
    expect([9, 10, 20, 21].map((tick) => showsAt(m, tick))).toEqual([false, true, true, false])
    expect(showsAt({ ...m, hidden: true }, 15)).toBe(false)
    const marks = { b: mark('b', 'c', { order: 1 }), a: mark('a', 'c', { order: 1 }), z: mark('z', 'c', { order: 0 }), other: mark('other', 'd') }
    expect(marksAt(marks, 'c', 0).map(({ id: name }) => name)).toEqual(['z', 'a', 'b'])
  })
})

describe('the angle in the picture', () => {
  it('is the angle, whichever arm comes first, however it is turned', () => {
    fc.assert(fc.property(fc.double({ min: 1, max: 179, noNaN: true }), fc.double({ min: 0, max: 6.28, noNaN: true }), (degrees, turn) => {
      const point = (angle: number, length: number): [number, number] => [500 + length * Math.cos(angle), 400 + length * Math.sin(angle)]
      const [a, b] = [point(turn, 300), point(turn + (degrees * Math.PI) / 180, 200)]
      expect(pictureAngle([a, [500, 400], b])!.degrees).toBeCloseTo(degrees, 6)
      expect(pictureAngle([b, [500, 400], a])!.degrees).toBeCloseTo(degrees, 6)
    }))
    expect(pictureAngle([[1, 1], [1, 1], [2, 2]])).toBeNull()
  })

  it('is off by what a thousand shaken placings are off by', () => {
    // Box-Muller over a plain congruential sequence; 4000 draws know their own deviation to 1.1 %.
    let seed = 11
    const uniform = (): number => (seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0) / 2 ** 32
    const normal = (): number => Math.sqrt(-2 * Math.log(uniform() + 1e-12)) * Math.cos(2 * Math.PI * uniform())
    const points: [[number, number], [number, number], [number, number]] = [[420, 300], [500, 400], [620, 340]]
    const { degrees, sigma } = pictureAngle(points, 2)!
    let sum = 0
    for (let i = 0; i < 4000; i++) {
      const shaken = points.map(([x, y]) => [x + 2 * normal(), y + 2 * normal()]) as typeof points
      sum += (pictureAngle(shaken)!.degrees - degrees) ** 2
    }
    expect(Math.abs(Math.sqrt(sum / 4000) / sigma - 1)).toBeLessThan(0.06)
  })
})
