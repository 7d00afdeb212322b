import type { Clip } from '../../../shared/contract/clip.ts'
import { History } from '../../../shared/markup/history.ts'
import { tellFault } from '../../ui/notices.ts'
import type { Bench } from '../bench.ts'

/** How fast a clip was filmed, frames a second, and who says so. */
export type Rate = Pick<Clip, 'captureRate' | 'captureRateBasis'>

/** One press: what the coach says, and what was held before. */
interface Press { readonly clipId: string; readonly rate: Rate; readonly before: Rate }

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

  set(clipId: string, captureRate: number, before: Rate): void {
    this.#history.put({ [String(++this.#presses)]: { clipId, rate: { captureRate, captureRateBasis: 'coach' }, before: { captureRate: before.captureRate, captureRateBasis: before.captureRateBasis } } })
    this.#bench.marks.tellHistory()
  }

  #save(id: string, { captureRate, captureRateBasis }: Rate): void {
    this.#bench.desk.call('clip.update', { id, patch: { captureRate, captureRateBasis } }).catch(tellFault)
  }
}
