import type { Clip } from '../../../shared/contract/clip.ts'
import { History } from '../../../shared/markup/history.ts'
import { tellFault } from '../../ui/notices.ts'
import type { Bench } from '../bench.ts'
import { onOtherClips } from '../otherClips.ts'

/** How a clip was filmed, as far as its pictures do not show it. */
export type Filmed = Partial<Pick<Clip, 'mirrored' | 'captureRate' | 'captureRateBasis'>>

/** One press: what the coach says, and what was held before. */
interface Press { readonly clipId: string; readonly said: Filmed; readonly before: Filmed }

/** What the coach says of how clips on the Bench were filmed. Saying so is one step of undo. */
export class FilmedAs {
  readonly #bench: Bench
  #history = this.#anew()
  #presses = 0

  constructor(bench: Bench) {
    this.#bench = bench
  }

  /** Until the returned function is called. Steps begin anew with other clips: undo changes nothing that does not stand on the Bench. */
  start(): () => void {
    const stop = this.#bench.marks.runBeside({ history: () => this.#history })
    const stopAnew = onOtherClips(this.#bench, () => {
      this.#history = this.#anew()
    })
    return () => {
      stopAnew()
      stop()
    }
  }

  #anew(): History<Press> {
    return new History<Press>({}, ({ added, removed }) => {
      for (const { clipId, said } of Object.values(added)) this.#save(clipId, said)
      for (const { clipId, before } of Object.values(removed)) this.#save(clipId, before)
    })
  }

  mirrored(clipId: string, mirrored: boolean): void {
    this.#say({ clipId, said: { mirrored }, before: { mirrored: !mirrored } })
  }

  /** @param before as it was held before, and by whom */
  atRate(clipId: string, captureRate: number, before: Pick<Clip, 'captureRate' | 'captureRateBasis'>): void {
    this.#say({ clipId, said: { captureRate, captureRateBasis: 'coach' }, before: { captureRate: before.captureRate, captureRateBasis: before.captureRateBasis } })
  }

  #say(press: Press): void {
    this.#history.put({ [String(++this.#presses)]: press })
    this.#bench.marks.tellHistory()
  }

  #save(id: string, patch: Filmed): void {
    this.#bench.desk.call('clip.update', { id, patch }).catch(tellFault)
  }
}
