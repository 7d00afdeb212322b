import { createStore } from 'zustand/vanilla'
import type { Swing } from '../../../shared/contract/student.ts'
import { History } from '../../../shared/markup/history.ts'
import { assembleSwing, tieError } from '../../../shared/swing/assemble.ts'
import { prepareSwing } from '../../../shared/swing/measureSwing.ts'
import type { KeyBinding } from '../../ui/keys.ts'
import { tellFault } from '../../ui/notices.ts'
import type { Bench } from '../bench.ts'
import type { Measuring } from '../measuring/measuring.ts'

type Pairing = Swing['pairing']
interface Said { readonly pairing: Pairing }

/** What could be said of the pair instead of what it is, and why. */
export interface Offer {
  readonly pairing: Pairing
  readonly why: string
}

/** Points that meet within this many times their errors are taken to be of one swing; those of two meet at several times as much. */
const meets = 1.6
/** It takes a solve to tell: only once nothing has changed for as long, milliseconds. */
const quietMs = 900
const key = 'pairing'

/** Whether a pair that is said to be two swings looks like one, or the other way round; saying so is one step of undo. */
export class OneSwing {
  readonly state = createStore<{ readonly offer: Offer | null }>()(() => ({ offer: null }))
  readonly #bench: Bench
  readonly #measuring: Measuring
  #history = this.#fresh('two-swings')
  #timer: ReturnType<typeof setTimeout> | null = null
  /** The tie for which the points of two swings have told: more of them tell no other, and each look is a solve of its own. */
  #toldFor: string | null = null

  constructor(bench: Bench, measuring: Measuring) {
    this.#bench = bench
    this.#measuring = measuring
  }

  start(): () => void {
    const again = (): void => {
      if (this.#timer) clearTimeout(this.#timer)
      this.#timer = setTimeout(() => this.#look(), quietMs)
    }
    const begin = (): void => {
      this.#toldFor = null
      this.#history = this.#fresh(this.#bench.state.getState().swing?.pairing ?? 'two-swings')
    }
    begin()
    const stops = [
      this.#bench.marks.runBeside({ history: () => this.#history }),
      this.#bench.state.subscribe((now, before) => {
        if (now.swing?.id !== before.swing?.id) begin()
        if (now.swing?.pairing !== before.swing?.pairing || now.isTied !== before.isTied) {
          this.#toldFor = null
          this.state.setState({ offer: null })
          again()
        }
      }),
      this.#measuring.state.subscribe((now, before) => { if (now.outcome !== before.outcome && this.#toldFor !== this.#tie()) again() }),
    ]
    again()
    return () => {
      for (const stop of stops) stop()
      if (this.#timer) clearTimeout(this.#timer)
    }
  }

  /** Says what is offered. */
  accept(): void {
    const { offer } = this.state.getState()
    if (!offer || !this.#bench.state.getState().swing) return
    this.#history.put({ [key]: { pairing: offer.pairing } })
    this.#bench.marks.tellHistory()
  }

  #fresh(pairing: Pairing): History<Said> {
    return new History<Said>({ [key]: { pairing } }, (_, table) => this.#save(table[key]?.pairing ?? 'two-swings'))
  }

  #save(pairing: Pairing): void {
    const { swing } = this.#bench.state.getState()
    if (!swing || swing.pairing === pairing) return
    const next = { ...swing, pairing }
    this.#bench.state.setState({ swing: next })
    const { createdAt: _, ...rest } = next
    this.#bench.desk.call('swing.save', rest).catch((error: unknown) => {
      if (this.#bench.state.getState().swing === next) this.#bench.state.setState({ swing })
      tellFault(error)
    })
  }

  /** The tie of the two clips, as one word. */
  #tie(): string {
    return JSON.stringify(this.#bench.store.stage.tie)
  }

  #look(): void {
    this.#timer = null
    this.state.setState({ offer: this.#offer() })
  }

  #offer(): Offer | null {
    const { swing } = this.#bench.state.getState()
    const { outcome } = this.#measuring.state.getState()
    if (!swing || outcome.kind !== 'measured' || outcome.file.views.length !== 2) return null
    if (swing.pairing === 'one-swing') {
      const why = outcome.swing.solved.refused ?? outcome.swing.solved.why
      return why?.includes('cannot be of one swing') ? { pairing: 'two-swings', why: 'If each clip shows a swing of its own, they can be read together position by position.' } : null
    }
    const records = { ...this.#measuring.records(), oneSwing: true }
    if (!records.tie) return null
    const assembled = assembleSwing(records)
    const solved = assembled.ok ? prepareSwing(assembled.file).solved : null
    const isOther = solved?.why?.includes('cannot be of one swing') ?? false
    if (solved?.solve || isOther) this.#toldFor = this.#tie()
    if (solved?.solve)
      return solved.widened < meets ? { pairing: 'one-swing', why: `The points of both clips meet as those of one swing do: within ${(1000 * (solved.gapM ?? 0)).toFixed(0)} mm, ${Math.max(1, solved.solve.misfit).toFixed(1)} times their error.` } : null
    return tieError(records).isHeard && !isOther
      ? { pairing: 'one-swing', why: 'They are tied by the sound of impact: if both phones heard the same one, they show one swing.' } : null
  }
}

export const oneSwingKeys = (oneSwing: OneSwing): KeyBinding[] => [
  { id: 'one-swing', keys: 'Alt+o', words: 'Say that the two clips are of one swing, or of two, where that is offered', scope: 'bench', group: 'Measuring', when: () => oneSwing.state.getState().offer !== null, run: () => oneSwing.accept() },
]
