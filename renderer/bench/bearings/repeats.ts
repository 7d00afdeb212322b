import type { RepeatabilityFigure } from '../../../shared/contract/repeatability.ts'
import type { Student } from '../../../shared/contract/student.ts'
import { History } from '../../../shared/markup/history.ts'
import { tellFault } from '../../ui/notices.ts'
import type { Bench } from '../bench.ts'
import { onOtherClips } from '../otherClips.ts'

interface Said { readonly figure: RepeatabilityFigure | null }
const key = 'repeatability'

/** What the coach says of how the student on the Bench repeats the swing; saying so is one step of undo. */
export class RepeatsOnBench {
  readonly #bench: Bench
  #studentId: string | null = null
  /** How many figures are on their way to the desk: what the library says of the student is older then. */
  #saving = 0
  #history = new History<Said>({})

  constructor(bench: Bench) {
    this.#bench = bench
  }

  /** Until the returned function is called. Steps begin anew with other clips: undo changes nothing that does not stand on the Bench. */
  start(): () => void {
    const stop = this.#bench.marks.runBeside({ history: () => this.#history })
    const stopAnew = onOtherClips(this.#bench, () => {
      this.#studentId = null
      this.#history = new History<Said>({})
    })
    return () => {
      stopAnew()
      stop()
    }
  }

  /** Sets the student's figure; null goes back to what is assumed. */
  set(student: Student, figure: RepeatabilityFigure | null): void {
    this.#follow(student)
    this.#history.put({ [key]: { figure } })
    this.#bench.marks.tellHistory()
  }

  /** Steps begin anew with another student, and where another room has set the figure meanwhile. */
  #follow({ id, repeatability }: Student): void {
    const now = repeatability ?? null
    if (id === this.#studentId && (this.#saving > 0 || JSON.stringify(this.#history.table[key]?.figure ?? null) === JSON.stringify(now))) return
    this.#studentId = id
    this.#history = new History<Said>({ [key]: { figure: now } }, (_, table) => {
      this.#saving++
      this.#bench.desk.call('repeatability.set', { studentId: id, figure: table[key]?.figure ?? null }).catch(tellFault).finally(() => { this.#saving-- })
    })
  }
}
