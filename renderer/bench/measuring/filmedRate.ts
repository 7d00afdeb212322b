import { History } from '../../../shared/markup/history.ts'
import { tellFault } from '../../ui/notices.ts'
import type { Bench } from '../bench.ts'

/** One press: how fast a clip was filmed, and how fast it was held to be before; frames a second. */
interface Press { readonly clipId: string; readonly rate: number; readonly before: number }

/** What the coach says of clips on the Bench: how fast they were filmed. Saying so is one step of undo. */
export class FilmedRate {
  readonly #bench: Bench
  readonly #history = new History<Press>({}, ({ added, removed }) => {
    for (const { clipId, rate } of Object.values(added)) this.#save(clipId, rate)
    for (const { clipId, before } of Object.values(removed)) this.#save(clipId, before)
  })
  #presses = 0

  constructor(bench: Bench) {
    this.#bench = bench
  }

  /** Until the returned function is called. */
  start(): () => void {
    return this.#bench.marks.runBeside({ history: () => this.#history })
  }

  set(clipId: string, rate: number, before: number): void {
    this.#history.put({ [String(++this.#presses)]: { clipId, rate, before } })
    this.#bench.marks.tellHistory()
  }

  #save(id: string, captureRate: number): void {
    this.#bench.desk.call('clip.update', { id, patch: { captureRate } }).catch(tellFault)
  }
}
