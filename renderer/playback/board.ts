import { createStore } from 'zustand/vanilla'
import type { Swing } from '../../shared/contract/student.ts'
import type { Mark, Marks } from '../../shared/markup/mark.ts'
import type { StageClip } from '../../shared/walkthrough/stage.ts'

/**
 * The stage as the other rooms reach it: what stands on it, and marks put on it as the coach would put them, with undo, on
 * disk, and in the recording where one runs. Whoever has the stage on the page publishes it here.
 */
export interface Board {
  clips(): readonly StageClip[]
  marks(): Marks
  /** Puts marks in and takes others out as one step of undo. */
  put(marks: readonly Mark[], remove?: readonly string[]): void
  /** Stands every pane that shows one of these clips on the frame of its tick. */
  goTo(places: readonly { readonly clipId: string; readonly tick: number }[]): void
}

export interface BoardState {
  readonly board: Board | null
  /** The library's swing that the panes were opened as; null for clips put together by hand. */
  readonly swing: Swing | null
  readonly clipIds: readonly [string | null, string | null]
}

export const boardStore = createStore<BoardState>()(() => ({ board: null, swing: null, clipIds: [null, null] }))

const savers = new Set<() => Promise<void>>()

/** Has what a saver still holds put on disk when `onDisk` is asked for, until the returned function is called. */
export function savedBy(flush: () => Promise<void>): () => void {
  savers.add(flush)
  return () => void savers.delete(flush)
}

/** Resolves once all that was placed and drawn is on disk, so that another room reads what the coach sees. */
export async function onDisk(): Promise<void> {
  await Promise.all([...savers].map((flush) => flush()))
}

/** The board as soon as it shows all of these clips; null where it does not within the time. */
export function boardShowing(clipIds: readonly string[], within = 10_000): Promise<Board | null> {
  const shows = ({ board, clipIds: shown }: BoardState): Board | null => (board && clipIds.every((id) => shown.includes(id)) ? board : null)
  const now = shows(boardStore.getState())
  if (now) return Promise.resolve(now)
  return new Promise((done) => {
    const finish = (board: Board | null): void => {
      clearTimeout(timer)
      stop()
      done(board)
    }
    const timer = setTimeout(() => finish(null), within)
    const stop = boardStore.subscribe((state) => {
      const board = shows(state)
      if (board) finish(board)
    })
  })
}
