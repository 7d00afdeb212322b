import type { StoreApi } from 'zustand/vanilla'
import type { Student } from '../../../shared/contract/student.ts'
import { guideId, positionId, type Digitised, type DigitisedTable, type GuideName, type LandmarkRecord } from '../../../shared/contract/digitising.ts'
import type { PositionName } from '../../../shared/contract/pointsFile.ts'
import type { ImagePoint } from '../../../shared/geometry/vec.ts'
import { History } from '../../../shared/markup/history.ts'
import { assembleSwing, withFallbacks, type MeasuredClip, type SwingRecords } from '../../../shared/swing/assemble.ts'
import { digitisedFault } from '../../../shared/swing/digitised.ts'
import { measurePrepared, prepareSwing } from '../../../shared/swing/measureSwing.ts'
import { sidesOf } from '../../../shared/swing/sides/sides.ts'
import { handsDisagree, sidesWarnings } from '../../../shared/swing/sides/sidesWords.ts'
import { tellFrames } from '../../../shared/swing/sides/tellFrames.ts'
import { frameAt, tickOf } from '../../../shared/walkthrough/motion.ts'
import type { PaneId, StageClip } from '../../../shared/walkthrough/stage.ts'
import { appStore } from '../../ui/appStore.ts'
import type { ClipSummary } from '../../ui/libraryStore.ts'
import { faultOf, tellFault } from '../../ui/notices.ts'
import type { Bench } from '../bench.ts'
import { MarksSaver } from '../marksSaver.ts'
import type { Peg } from '../strip/pegs.ts'
import { pegsOf } from './positionLines.ts'
import { createMeasuringState, type MeasuringState, type Outcome } from './measuringState.ts'

/** What measuring needs to know of the library. */
export interface Known {
  readonly clips: readonly ClipSummary[]
  readonly students: readonly Student[]
}

/**
 * The records that the coach measures by, outside React: kept with an undo of their own that runs in turn with the marks',
 * put on disk as they change, and measured anew at most once an animation frame.
 */
export class Measuring {
  readonly bench: Bench
  readonly state: StoreApi<MeasuringState> = createMeasuringState()
  readonly saver: MarksSaver<Digitised>
  #history = new History<Digitised>({})
  readonly #histories = new Map<string, History<Digitised>>()
  #known: Known = { clips: [], students: [] }
  #frame = 0
  #serial = 0
  #loaded = ''
  readonly #stops: (() => void)[] = []

  constructor(bench: Bench) {
    this.bench = bench
    this.saver = new MarksSaver<Digitised>((diff) => this.#save(diff), (saving) => this.state.setState({ saving }))
  }

  /** Follows the Bench until the returned function is called. */
  start(): () => void {
    const { bench } = this
    const follow = (): void => void this.#load()
    this.#stops.push(
      bench.state.subscribe((now, before) => {
        if (now.clipIds !== before.clipIds) follow()
        if (now.clipIds !== before.clipIds || now.isTied !== before.isTied || now.swing !== before.swing || now.active !== before.active) this.schedule()
      }),
      bench.store.listen((_, event) => { if (event.type === 'tie') this.schedule() }),
      bench.marks.runBeside({ history: () => this.#history }),
    )
    follow()
    bench.desk.call('settings.get', {}).then(({ clickError }) => this.state.setState({ clickError }), () => undefined)
    const flush = (): void => void this.saver.flush()
    window.addEventListener('blur', flush)
    window.addEventListener('pagehide', flush)
    return () => {
      window.removeEventListener('blur', flush)
      window.removeEventListener('pagehide', flush)
      for (const stop of this.#stops.splice(0)) stop()
      cancelAnimationFrame(this.#frame)
      this.#frame = 0
      flush()
    }
  }

  know(known: Known): void {
    this.#known = known
    this.schedule()
  }

  async #load(): Promise<void> {
    const serial = ++this.#serial
    const ids = this.bench.state.getState().clipIds.filter((id) => id !== null)
    const key = ids.toSorted().join(' ')
    if (key === this.#loaded) return
    this.#loaded = key
    this.state.setState({ refusal: null })
    await this.saver.flush()
    try {
      const records = ids.length ? await this.bench.desk.call('digitising.list', { clipIds: [...new Set(ids)] }) : []
      if (serial !== this.#serial) return
      const table: DigitisedTable = Object.fromEntries(records.map((record) => [record.id, record]))
      const kept = this.#histories.get(key)
      this.#use(kept && sameRecords(kept.table, table) ? kept : new History<Digitised>(table, (diff, next) => {
        this.saver.add(diff)
        this.#took(next)
      }))
      this.#histories.set(key, this.#history)
    } catch (error) {
      this.#loaded = ''
      tellFault(error)
    }
  }

  #use(history: History<Digitised>): void {
    this.#history = history
    // While the coach talks nothing opens by itself.
    const isShown = this.state.getState().isShown || (appStore.getState().recording === null && Object.keys(history.table).length > 0)
    this.state.setState({ task: null, repeat: null, chosen: null, chord: null, isShown })
    this.#took(history.table)
    this.bench.marks.tellHistory()
  }

  #took(table: DigitisedTable): void {
    const { chosen } = this.state.getState()
    this.state.setState({ table, ...(chosen !== null && !table[chosen] ? { chosen: null } : {}) })
    this.schedule()
  }

  async #save(diff: Parameters<MarksSaver<Digitised>['add']>[0]): Promise<void> {
    try {
      await this.bench.desk.call('digitising.apply', { diff })
    } catch (error) {
      // What the desk refuses for what it says will be refused again; what did not reach it is tried again.
      if ((error as { fault?: { kind?: string } }).fault?.kind !== 'bad-input') throw error
      tellFault(error)
      this.#loaded = ''
      this.#histories.clear()
      void this.#load()
    }
  }

  get table(): DigitisedTable {
    return this.#history.table
  }

  /**
   * Puts records in, and takes others out, as one step of undo. Refuses what does not hold together, with a sentence, and
   * then changes nothing.
   */
  change(put: readonly Digitised[], remove: readonly string[] = []): boolean {
    const gone = new Set([...remove, ...put.map(({ id }) => id)])
    const next = [...Object.values(this.table).filter(({ id }) => !gone.has(id)), ...put]
    const touched = new Set(put.map(({ clipId }) => clipId))
    for (const clipId of touched) {
      const clip = this.clipOf(clipId)
      const fault = clip ? digitisedFault(next.filter((record) => record.clipId === clipId), clip) : 'This clip is not on the Bench any more.'
      if (fault) {
        this.state.setState({ refusal: fault })
        return false
      }
    }
    const isOwn = !this.#history.isOpen
    if (isOwn) this.#history.open()
    if (remove.length) this.#history.remove(remove)
    if (put.length) this.#history.put(Object.fromEntries(put.map((record) => [record.id, record])))
    if (isOwn) this.#history.close()
    this.state.setState({ refusal: null })
    this.bench.marks.tellHistory()
    return true
  }
  /** One step of undo for all that comes until `endStep`; `cancelStep` takes it back. */
  beginStep(): void {
    this.#history.open()
  }
  endStep(): void {
    this.#history.close()
    this.schedule()
    this.bench.marks.tellHistory()
  }
  cancelStep(): void {
    this.#history.cancel()
    this.bench.marks.tellHistory()
  }
  refuse(sentence: string): void {
    this.state.setState({ refusal: sentence })
  }

  clipOf(id: string): StageClip | null {
    return this.bench.store.clips[id] ?? null
  }
  /** The pane a clip stands in, the active one first. */
  paneOf(clipId: string): PaneId | null {
    const { panes, active } = this.bench.store.stage
    return ([active, active === 0 ? 1 : 0] as const).find((pane) => panes[pane].clipId === clipId) ?? null
  }
  /** The frame that a pane shows, as its tick; null without a clip. */
  tickShown(pane: PaneId): number | null {
    const clip = this.bench.clip(pane)
    return clip && tickOf(clip.frames, this.bench.view?.shown()[pane] ?? this.bench.frame(pane))
  }
  get chosen(): LandmarkRecord | null {
    const { chosen } = this.state.getState()
    const record = chosen === null ? undefined : this.table[chosen]
    return record?.kind === 'landmark' ? record : null
  }

  // Positions.
  /** Sets a position at the frame that the active pane shows, or between it and the next. */
  setPosition(name: PositionName, falls: 'on' | 'between' = 'on'): void {
    const pane = this.bench.active
    const clip = this.bench.clip(pane)
    const tick = this.tickShown(pane)
    if (!clip || tick === null) return
    if (falls === 'between' && tick === clip.frames.ticks.at(-1)) return this.refuse('This is the last frame: there is no next one to lie between.')
    this.change([{ kind: 'position', id: positionId(clip.id, name), clipId: clip.id, name, tick, falls, sigmaS: null, by: 'coach' }])
  }
  removePosition(clipId: string, name: PositionName): void {
    this.change([], [positionId(clipId, name)])
  }
  /** Goes to a position on a pane: where it was set, else where it was found. */
  goTo(name: PositionName, pane: PaneId = this.bench.active): boolean {
    const tick = this.positionTick(pane, name)
    if (tick === null) return false
    this.bench.transport.seek(pane, tick)
    return true
  }
  /** The tick of the frame in which a position lies on a pane's clip, or null where it is not known. */
  positionTick(pane: PaneId, name: PositionName): number | null {
    const clip = this.bench.clip(pane)
    if (!clip) return null
    const own = this.table[positionId(clip.id, name)]
    if (own?.kind === 'position') return own.tick
    const t = this.positionTime(pane, name)
    return t === null ? null : tickOf(clip.frames, frameAt(clip.frames, this.tickAtTime(pane, t) + 1e-6))
  }
  /** Seconds of the pane's clock at which a position lies by the measurement. */
  positionTime(pane: PaneId, name: PositionName): number | null {
    const { outcome } = this.state.getState()
    const clip = this.bench.clip(pane)
    if (outcome.kind !== 'measured' || !clip || clip.view === 'other' || !outcome.clips.some(({ id }) => id === clip.id)) return null
    const own = outcome.result.viewPositions?.[clip.view] ?? (outcome.result.viewPositions ? {} : outcome.result.positions)
    return own[name]?.t ?? null
  }
  /** A pane's tied instant where the outcome is on one clock of both clips, else null: its clip's first frame is zero. */
  tiedOf(clipId: string): number | null {
    const { outcome } = this.state.getState()
    const { tie, panes } = this.bench.store.stage
    if (!tie || outcome.kind !== 'measured' || outcome.file.views.length !== 2 || !outcome.file.sameSwing) return null
    return panes[0].clipId === clipId ? tie.left : tie.right
  }
  tickAtTime(pane: PaneId, t: number): number {
    const clip = this.bench.clip(pane)!
    const zero = this.tiedOf(clip.id) ?? clip.frames.ticks[0]!
    return zero + (t * clip.frames.timescale * clip.captureRate) / clip.playRate
  }

  // Guides.
  putGuide(clipId: string, name: GuideName, ends: readonly [ImagePoint, ImagePoint], metres: number | null): boolean {
    const id = guideId(clipId, name)
    if (!this.change([{ kind: 'guide', id, clipId, name, ends, metres, by: 'coach' }])) return false
    this.state.setState({ chosen: id, end: 1 })
    return true
  }

  // Measuring.
  /** Measures anew before the next frame is painted. */
  schedule(): void {
    this.#frame ||= requestAnimationFrame(() => {
      this.#frame = 0
      this.state.setState({ outcome: this.#measured() })
      this.#tellPegs()
    })
  }

  /** Puts the positions on the strips. */
  #tellPegs(): void {
    const pegs = ([0, 1] as const).flatMap((pane): Peg[] => {
      const clip = this.bench.clip(pane)
      return clip ? pegsOf(this, pane, clip) : []
    })
    const { pegs: before } = this.bench.state.getState()
    if (JSON.stringify(before) !== JSON.stringify(pegs)) this.bench.state.setState({ pegs })
  }

  /** What is measured: both clips where they are one of each view and of one student, else the active pane's clip. */
  measuredClips(): readonly StageClip[] {
    const { bench } = this
    const [left, right] = [bench.clip(0), bench.clip(1)]
    const own = bench.clip(bench.active)
    if (!left || !right || left.id === right.id) return own ? [own] : []
    const views = [left.view, right.view].toSorted().join()
    const studentOf = (clip: StageClip) => this.#known.clips.find(({ id }) => id === clip.id)?.studentId
    return views === 'down-the-line,face-on' && studentOf(left) === studentOf(right) ? [left, right] : own ? [own] : []
  }

  records(): SwingRecords {
    const { bench } = this
    const clips = this.measuredClips()
    const { swing } = bench.state.getState()
    const first = this.#known.clips.find(({ id }) => id === clips[0]?.id)
    const student = this.#known.students.find(({ id }) => id === first?.studentId)
    const owned = student?.clubs.find(({ kind }) => kind.toLowerCase() === first?.club.toLowerCase())
    return {
      clips: clips as readonly MeasuredClip[],
      oneSwing: swing?.pairing === 'one-swing',
      tie: clips.length === 2 ? bench.store.stage.tie : null,
      statureM: student?.statureM ?? null,
      repeatability: student?.repeatability ?? null,
      club: first && first.club !== '' ? { kind: first.club, lengthM: owned?.lengthM ?? null } : null,
      records: this.table,
      clickError: this.state.getState().clickError,
    }
  }

  #measured(): Outcome {
    const began = performance.now()
    try {
      const records = this.records()
      const assembled = assembleSwing(records)
      if (!assembled.ok) return { kind: 'none', reasons: assembled.reasons }
      let { file } = assembled
      // While a point is dragged the cameras stay as they were solved; they are solved anew when it is let go.
      const { outcome } = this.state.getState()
      const held = this.#history.isOpen && outcome.kind === 'measured' && outcome.file.views.length === file.views.length ? outcome.swing.solved : null
      let swing = prepareSwing(file, held)
      const lost = assembled.left.filter(({ view, name }) => !swing.positions.get(view)?.[name])
      if (lost.length) {
        file = withFallbacks(file, lost)
        swing = prepareSwing(file, held)
      }
      const sides = sidesOf(swing)
      const disagree = handsDisagree(sides)
      const odd = sides.faults.find(({ kind }) => kind === 'hand')?.view
      if (disagree) return { kind: 'none', reasons: [disagree], ...(odd && { odd: { clips: records.clips, view: odd } }) }
      const warnings = sidesWarnings(sides, file.handedness, tellFrames(records, file))
      const result = measurePrepared(swing)
      return { kind: 'measured', clips: records.clips, file, swing, result, notes: assembled.notes, warnings, tookMs: performance.now() - began }
    } catch (error) {
      // The engine should never throw; if it does, the Bench goes on and says so.
      return { kind: 'none', reasons: [`These points could not be measured: ${faultOf(error).message}`] }
    }
  }
}

function sameRecords(one: DigitisedTable, two: DigitisedTable): boolean {
  const text = (table: DigitisedTable): string => JSON.stringify(Object.keys(table).toSorted().map((id) => Object.entries(table[id]!).toSorted()))
  return text(one) === text(two)
}
