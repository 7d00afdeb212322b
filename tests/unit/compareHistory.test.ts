import { afterEach, beforeEach, expect, test, vi } from 'vitest'
import { CompareHistory, plainLook, type Wish } from '../../renderer/bench/compare/compareHistory.ts'
import type { Beside } from '../../renderer/bench/compare/compareState.ts'

beforeEach(() => void vi.useFakeTimers())
afterEach(() => void vi.useRealTimers())

const beside = (key: string): Beside => ({ key, title: key, swing: null, student: null, clips: [], table: {}, marks: [], measured: null })
const wish = (key: string, more: Partial<Wish> = {}): Wish => ({ beside: beside(key), look: plainLook, sizeBy: 'stature', alignOn: 'feet', tieBy: 'positions', pairs: {}, ...more })

function setUp() {
  let now: Wish | null = null
  const history = new CompareHistory(() => now, (to) => { now = to }, () => undefined)
  return {
    history, now: () => now,
    become(to: Wish | null, kind: string | null = null) {
      now = to
      history.note(kind)
    },
  }
}

test('setting, changing and taking away go back one by one, and on again', () => {
  const { history, become, now } = setUp()
  const [first, second] = [wish('a'), wish('a', { tieBy: 'time', pairs: { own: [10, 20] } })]
  become(first)
  become(second)
  become(null)
  history.history.undo()
  expect(now()).toBe(second)
  history.history.undo()
  expect(now()).toBe(first)
  history.history.undo()
  expect(now()).toBeNull()
  expect(history.history.undo()).toBe(false)
  for (let i = 0; i < 3; i++) history.history.redo()
  expect(now()).toBeNull()
  history.history.undo()
  expect(now()).toBe(second)
})

test('a slider is one step while it moves, and another after a rest', () => {
  const { history, become, now } = setUp()
  const at = (amount: number): Wish => wish('a', { look: { ...plainLook, look: 'ghost', amount } })
  become(at(0.5))
  for (const amount of [0.6, 0.7, 0.8]) become(at(amount), 'amount')
  vi.advanceTimersByTime(1000)
  become(at(0.9), 'amount')
  become(wish('a', { look: { ...plainLook, look: 'wipe', amount: 0.9 } }))
  history.history.undo()
  expect(now()).toEqual(at(0.9))
  history.history.undo()
  expect(now()).toEqual(at(0.8))
  history.history.undo()
  expect(now()).toEqual(at(0.5))
})

test('nothing that is the same is a step, measured or not; other clips end it all', () => {
  const { history, become } = setUp()
  become(wish('a'))
  become({ ...wish('a'), beside: { ...beside('a'), measured: { kind: 'none', reasons: [] } } })
  expect(history.history.undo()).toBe(true)
  expect(history.history.canUndo).toBe(false)
  become(wish('b'))
  history.clear()
  expect(history.history.canUndo).toBe(false)
})
