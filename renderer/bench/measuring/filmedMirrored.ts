import { History } from '../../../shared/markup/history.ts'
import { tellFault } from '../../ui/notices.ts'
import type { Bench } from '../bench.ts'

/** One press: a clip was said to be mirrored, or not to be, and was held to be the other before. */
interface Press { readonly clipId: string; readonly mirrored: boolean }

/** What the coach says of clips on the Bench: whether they were filmed mirrored. Saying so is one step of undo. */
export class FilmedMirrored {
  readonly #bench: Bench
  readonly #history = new History<Press>({}, ({ added, removed }) => {
    for (const { clipId, mirrored } of Object.values(added)) this.#save(clipId, mirrored)
    for (const { clipId, mirrored } of Object.values(removed)) this.#save(clipId, !mirrored)
  })
  #presses = 0

  constructor(bench: Bench) {
    this.#bench = bench
  }

  /** Until the returned function is called. */
  start(): () => void {
    return this.#bench.marks.runBeside({ history: () => this.#history })
  }

  set(clipId: string, mirrored: boolean): void {
    this.#history.put({ [String(++this.#presses)]: { clipId, mirrored } })
    this.#bench.marks.tellHistory()
  }

  #save(id: string, mirrored: boolean): void {
    this.#bench.desk.call('clip.update', { id, patch: { mirrored } }).catch(tellFault)
  }
}
