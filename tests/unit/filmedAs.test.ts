import { describe, expect, it } from 'vitest'
import { createStore } from 'zustand/vanilla'
import type { Bench } from '../../renderer/bench/bench.ts'
import { FilmedAs } from '../../renderer/bench/measuring/filmedAs.ts'
import type { History } from '../../shared/markup/history.ts'

/** A Bench on which two clips stand, with what reaches the desk. */
function benchWith(clipIds: readonly [string | null, string | null]) {
  const said: unknown[] = []
  let history = (): Pick<History<never>, 'canUndo' | 'undo' | 'redo' | 'canRedo'> => { throw new Error('not started') }
  const state = createStore(() => ({ clipIds }))
  const bench = {
    state, marks: { runBeside: (beside: { history: typeof history }) => { history = beside.history; return () => undefined }, tellHistory: () => undefined },
    desk: { call: (_: string, { id, patch }: { id: string; patch: unknown }) => { said.push([id, patch]); return Promise.resolve() } },
  }
  return { bench: bench as unknown as Bench, state, said, history: () => history() }
}

describe('what is said of how a clip was filmed', () => {
  it('is taken back in one step, the rate with whose word it was', () => {
    const { bench, said, history } = benchWith(['a', 'b'])
    const filmed = new FilmedAs(bench)
    filmed.start()
    filmed.atRate('b', 120, { captureRate: 240, captureRateBasis: 'tag' })
    filmed.mirrored('a', true)
    history().undo()
    history().undo()
    expect(said).toEqual([
      ['b', { captureRate: 120, captureRateBasis: 'coach' }], ['a', { mirrored: true }],
      ['a', { mirrored: false }], ['b', { captureRate: 240, captureRateBasis: 'tag' }],
    ])
  })

  it('cannot be undone or done again from another student\'s clips; the same clips swapped are no others', () => {
    const { bench, state, said, history } = benchWith(['a', 'b'])
    const filmed = new FilmedAs(bench)
    filmed.start()
    filmed.mirrored('a', true)
    state.setState({ clipIds: ['b', 'a'] })
    expect(history().canUndo).toBe(true)
    history().undo()
    state.setState({ clipIds: ['c', 'd'] })
    expect([history().canUndo, history().canRedo]).toEqual([false, false])
    history().redo()
    expect(said).toHaveLength(2)
  })
})
