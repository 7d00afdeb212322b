import { createStore, type StoreApi } from 'zustand/vanilla'
import { tellDone, tellFault } from '../ui/notices.ts'

/** Something done to a lesson's findings, drills or plan that can be taken back. */
export interface Step {
  /** What was done, in words: "Removed the finding". */
  readonly words: string
  readonly redo: () => Promise<unknown>
  readonly undo: () => Promise<unknown>
}

export interface StepsState {
  readonly done: readonly Step[]
  readonly undone: readonly Step[]
}

const most = 200

/** The steps of one opened lesson, one after another: each waits for the one before, and what fails is told and not kept. */
export class Steps {
  readonly state: StoreApi<StepsState> = createStore<StepsState>()(() => ({ done: [], undone: [] }))
  #turn: Promise<unknown> = Promise.resolve()

  #next<T>(work: () => Promise<T>): Promise<T | null> {
    const mine = this.#turn.then(work).catch((error: unknown) => {
      tellFault(error)
      return null
    })
    this.#turn = mine
    return mine
  }

  /** Does something now; true once it is on disk. */
  act(words: string, redo: () => Promise<unknown>, undo: () => Promise<unknown>): Promise<boolean> {
    return this.#next(async () => {
      await redo()
      this.state.setState(({ done }) => ({ done: [...done, { words, redo, undo }].slice(-most), undone: [] }))
      return true
    }).then((done) => done === true)
  }

  undo(): Promise<unknown> {
    return this.#next(async () => {
      const step = this.state.getState().done.at(-1)
      if (!step) return
      await step.undo()
      this.state.setState(({ done, undone }) => ({ done: done.slice(0, -1), undone: [...undone, step] }))
      tellDone(`Undone: ${step.words}`)
    })
  }

  redo(): Promise<unknown> {
    return this.#next(async () => {
      const step = this.state.getState().undone.at(-1)
      if (!step) return
      await step.redo()
      this.state.setState(({ done, undone }) => ({ done: [...done, step], undone: undone.slice(0, -1) }))
      tellDone(`Done again: ${step.words}`)
    })
  }
}
