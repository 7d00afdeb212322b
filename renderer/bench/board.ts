import type { Board } from '../playback/board.ts'
import { boardStore, savedBy } from '../playback/board.ts'
import type { Bench } from './bench.ts'

const panes = [0, 1] as const

/** Publishes the Bench's stage to the other rooms until the returned function is called. */
export function publishBoard(bench: Bench): () => void {
  const board: Board = {
    clips: () => panes.flatMap((pane) => bench.clip(pane) ?? []),
    marks: () => bench.store.stage.marks,
    put(marks, remove = []) {
      bench.marks.beginStep()
      bench.marks.remove(remove)
      bench.marks.put(marks)
      bench.marks.endStep()
    },
    goTo(places) {
      // The active pane last: where the panes are tied it leads, and the other comes along.
      for (const pane of [bench.active === 0 ? 1 : 0, bench.active] as const) {
        const place = places.find(({ clipId }) => clipId === bench.clip(pane)?.id)
        if (place) bench.transport.seek(pane, place.tick)
      }
    },
  }
  const tell = (): void => {
    const { swing, clipIds } = bench.state.getState()
    boardStore.setState({ board, swing, clipIds })
  }
  tell()
  const stops = [
    bench.state.subscribe((now, before) => { if (now.swing !== before.swing || now.clipIds !== before.clipIds) tell() }),
    savedBy(() => bench.saver.flush()),
  ]
  return () => {
    for (const stop of stops) stop()
    boardStore.setState({ board: null, swing: null, clipIds: [null, null] })
  }
}
