import { landmarkId, type GuideName } from '../../../shared/contract/digitising.ts'
import { positionNames, type PointName, type PositionName } from '../../../shared/contract/pointsFile.ts'
import { imagePoint, type ImagePoint } from '../../../shared/geometry/vec.ts'
import { meanPlacing, withRepeats } from '../../../shared/swing/clickError.ts'
import { guideTitles, landmarksOn, pointTitle, positionTitle } from '../../../shared/swing/digitised.ts'
import { placingWords } from '../../../shared/swing/placing.ts'
import { isPlaced, planFor, type Choice, type PlannedClip, type Step } from '../../../shared/swing/plan.ts'
import { frameAt } from '../../../shared/walkthrough/motion.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import { tellFault } from '../../ui/notices.ts'
import { matWords, moveEnd, placeCorner, sidesOf } from './guideEnds.ts'
import type { Measuring } from './measuring.ts'
import type { Task } from './measuringState.ts'

/** How often a point is placed to learn the hand's error. */
export const placings = 3

/** A point that is to be placed next, and where. */
export interface Wanted {
  readonly point: PointName
  /** Null: on whatever frame is shown. */
  readonly step: Step | null
}

const round = (value: number): number => Math.round(value * 100) / 100

/** Places points one after another: what is wanted next, and what a press or a key does about it. */
export class Placer {
  readonly #measuring: Measuring

  constructor(measuring: Measuring) {
    this.#measuring = measuring
  }

  get #state() {
    return this.#measuring.state.getState()
  }
  get isOn(): boolean {
    return this.#state.task !== null
  }

  /** What the hand is to place next, or null where it only moves what is there. */
  get wanted(): Wanted | null {
    const { task, repeat } = this.#state
    if (repeat) return { point: repeat.point, step: null }
    if (task?.kind === 'follow') return { point: task.point, step: null }
    if (task?.kind !== 'plan') return null
    const step = task.plan.steps[task.at]
    return step ? { point: step.point, step } : null
  }

  choose(choice: Choice): void {
    const plan = planFor(choice, this.#planned())
    this.#begin({ kind: 'plan', choice, plan, at: this.#nextOpen(plan.steps, -1) })
    this.#goToStep()
  }
  follow(point: PointName, every: number): void {
    this.#begin({ kind: 'follow', point, every: Math.max(1, Math.round(every)) })
  }
  guide(name: GuideName): void {
    this.#begin({ kind: 'guide', name, first: null, clipId: null })
  }
  mat(): void {
    this.#begin({ kind: 'mat', corners: [], sides: sidesOf(this.#measuring), clipId: null })
  }
  #begin(task: Task): void {
    this.#measuring.bench.takeTool('select')
    this.#measuring.bench.marks.select(null)
    this.#measuring.state.setState({ task, isShown: true, repeat: null, refusal: null, chord: null })
  }
  /** Puts the points away; what is placed stays. */
  stop(): void {
    this.#measuring.state.setState({ task: null, repeat: null, chosen: null })
  }
  /** Shows the evidence, or puts it away with what is being placed. */
  toggleEvidence(): void {
    const { isShown } = this.#state
    if (isShown) this.stop()
    this.#measuring.state.setState({ isShown: !isShown })
  }
  /** Step by step: the point in the making, what is chosen, then the task. */
  escape(): void {
    const { task, repeat, chosen } = this.#state
    if (repeat) this.#measuring.state.setState({ repeat: null })
    else if (task?.kind === 'guide' && task.first) this.#measuring.state.setState({ task: { ...task, first: null, clipId: null } })
    else if (task?.kind === 'mat' && task.corners.length > 0) this.#measuring.state.setState({ task: { ...task, corners: task.corners.slice(0, -1) }, refusal: null })
    else if (chosen !== null) this.#measuring.state.setState({ chosen: null })
    else this.stop()
  }

  #planned(): PlannedClip[] {
    const measuring = this.#measuring
    return measuring.records().clips.map((clip) => {
      const pane = measuring.paneOf(clip.id)
      const tied = measuring.tiedOf(clip.id)
      const zero = tied ?? clip.frames.ticks[0]!
      const positions: Partial<Record<PositionName, number>> = {}
      for (const name of positionNames) {
        const own = measuring.table[`${clip.id}/position/${name}`]
        const perSecond = (clip.frames.timescale * clip.captureRate) / clip.playRate
        if (own?.kind === 'position' && own.falls === 'on') positions[name] = (own.tick - zero) / perSecond
        else if (own?.kind === 'position') {
          // Between two frames: both are wanted, wherever between them it will be found.
          const next = clip.frames.ticks[frameAt(clip.frames, own.tick) + 1] ?? own.tick
          positions[name] = ((own.tick + next) / 2 - zero) / perSecond
        } else {
          const t = pane === null ? null : measuring.positionTime(pane, name)
          if (t !== null) positions[name] = t
        }
      }
      return { clip, tied, positions }
    })
  }

  /** Works the plan out anew, after a position was set or moved. */
  replan(): void {
    const { task } = this.#state
    if (task?.kind !== 'plan') return
    const plan = planFor(task.choice, this.#planned())
    if (JSON.stringify(plan) === JSON.stringify(task.plan)) return
    const wanted = task.plan.steps[task.at]
    const same = wanted ? plan.steps.findIndex((step) => step.tick === wanted.tick && step.point === wanted.point && step.clipId === wanted.clipId) : -1
    this.#measuring.state.setState({ task: { ...task, plan, at: same >= 0 ? same : this.#nextOpen(plan.steps, -1) } })
    if (same < 0) this.#goToStep()
  }

  /** The first step after this one, round to the front, that is not placed; past the end where all are. */
  #nextOpen(steps: readonly Step[], after: number): number {
    const { table } = this.#measuring
    for (let i = after + 1; i < steps.length; i++) if (!isPlaced(steps[i]!, table)) return i
    for (let i = 0; i <= after && i < steps.length; i++) if (!isPlaced(steps[i]!, table)) return i
    return steps.length
  }

  /** To another step, by one, placed or not. */
  move(by: 1 | -1): void {
    const { task } = this.#state
    if (task?.kind !== 'plan') return
    this.to(Math.min(Math.max(task.at + by, 0), task.plan.steps.length))
  }
  to(at: number): void {
    const { task } = this.#state
    if (task?.kind !== 'plan') return
    this.#measuring.state.setState({ task: { ...task, at }, repeat: null })
    this.#goToStep()
  }
  #goToStep(): void {
    const step = this.wanted?.step
    if (!step) return
    const { bench } = this.#measuring
    const pane = this.#measuring.paneOf(step.clipId)
    if (pane === null) return
    bench.activate(pane)
    if (this.#measuring.tickShown(pane) !== step.tick || bench.transport.isPlaying) bench.transport.seek(pane, step.tick)
    const there = this.#measuring.table[landmarkId(step.clipId, step.tick, step.point)]
    this.#measuring.state.setState({ chosen: there?.id ?? null })
  }

  /** Puts what is wanted at a place of the picture that a pane shows. False where nothing was placed. */
  place(pane: PaneId, at: ImagePoint): boolean {
    const measuring = this.#measuring
    const clip = measuring.bench.clip(pane)
    const { task, thrice } = this.#state
    const wanted = this.wanted
    const point = imagePoint(round(at[0]), round(at[1]))
    if (!clip) return false
    if (point[0] < 0 || point[1] < 0 || point[0] > clip.width || point[1] > clip.height) {
      measuring.refuse('That is off the picture: place the point on it, or leave it out.')
      return false
    }
    if (task?.kind === 'guide' && !this.#state.repeat) return this.#placeEnd(task, clip.id, point)
    if (task?.kind === 'mat' && !this.#state.repeat) return placeCorner(measuring, task, clip.id, point)
    if (!wanted) return false
    // A step may be wanted on a pane whose frame is still on its way.
    const step = wanted.step && wanted.step.clipId === clip.id ? wanted.step : null
    const tick = measuring.tickShown(pane)!
    const own = this.#state.repeat
    if (own && (own.clipId !== clip.id || own.tick !== tick)) {
      measuring.refuse(`Place it again on the same frame (${frameAt(measuring.clipOf(own.clipId)!.frames, own.tick) + 1}), or press Esc.`)
      return false
    }
    const repeat = own ? { ...own, placings: [...own.placings, point] } : { clipId: clip.id, tick, point: wanted.point, placings: [point] }
    if ((own || thrice) && repeat.placings.length < placings) {
      measuring.state.setState({ repeat, refusal: null })
      return true
    }
    const [x, y] = meanPlacing(repeat.placings)
    const id = landmarkId(clip.id, tick, wanted.point)
    if (!measuring.change([{ kind: 'landmark', id, clipId: clip.id, tick, point: wanted.point, at: imagePoint(round(x), round(y)), sigmaPx: null, placed: repeat.placings.length, by: 'coach' }])) return false
    if (repeat.placings.length > 1) this.#learn(repeat.placings, clip)
    measuring.state.setState({ repeat: null, chosen: id })
    this.#goOn(step !== null && step.tick === tick, pane)
    return true
  }

  #placeEnd(task: Extract<Task, { kind: 'guide' }>, clipId: string, point: ImagePoint): boolean {
    const measuring = this.#measuring
    if (!task.first || task.clipId !== clipId) {
      measuring.state.setState({ task: { ...task, first: point, clipId }, refusal: null })
      return true
    }
    const before = measuring.table[`${clipId}/guide/${task.name}`]
    const metres = task.name === 'known' ? (before?.kind === 'guide' ? before.metres : null) ?? 1 : null
    if (!measuring.putGuide(clipId, task.name, [task.first, point], metres)) return false
    measuring.state.setState({ task: { ...task, first: null, clipId: null } })
    return true
  }

  #goOn(wasStep: boolean, pane: PaneId): void {
    const { task } = this.#state
    if (task?.kind === 'follow') {
      this.#measuring.bench.transport.step(pane, task.every)
      return
    }
    if (task?.kind !== 'plan' || !wasStep) return
    this.#measuring.state.setState({ task: { ...task, at: this.#nextOpen(task.plan.steps, task.at) } })
    const next = this.wanted?.step
    if (next) this.#goToStepQuietly(next)
  }
  /** Goes on without choosing: what was just placed stays chosen, so that it can be moved a little. */
  #goToStepQuietly(step: Step): void {
    const { bench } = this.#measuring
    const pane = this.#measuring.paneOf(step.clipId)
    if (pane === null) return
    bench.activate(pane)
    if (this.#measuring.tickShown(pane) !== step.tick) bench.transport.seek(pane, step.tick)
  }

  #learn(points: readonly ImagePoint[], picture: { readonly width: number; readonly height: number }): void {
    const clickError = withRepeats(this.#state.clickError, points, picture)
    this.#measuring.state.setState({ clickError })
    this.#measuring.schedule()
    this.#measuring.bench.desk.call('settings.set', { clickError }).catch(tellFault)
  }
  forgetHand(): void {
    const clickError = { squares: 0, freedom: 0 }
    this.#measuring.state.setState({ clickError })
    this.#measuring.schedule()
    this.#measuring.bench.desk.call('settings.set', { clickError }).catch(tellFault)
  }

  /** Begins to place the chosen point again; what is there counts as the first of three. */
  repeat(): void {
    const record = this.#measuring.chosen
    if (record) this.#measuring.state.setState({ repeat: { clipId: record.clipId, tick: record.tick, point: record.point, placings: [record.at] } })
  }

  // What is placed already.
  /** The nearest landmark of the frame that a pane shows, within a reach in pixels of the picture. */
  near(pane: PaneId, at: ImagePoint, reach: number): string | null {
    const clip = this.#measuring.bench.clip(pane)
    const tick = this.#measuring.tickShown(pane)
    if (!clip || tick === null) return null
    let best: string | null = null
    let least = reach
    for (const record of Object.values(landmarksOn(this.#measuring.table, clip.id, tick))) {
      const d = Math.hypot(record.at[0] - at[0], record.at[1] - at[1])
      if (d <= least) {
        least = d
        best = record.id
      }
    }
    return best
  }
  /** Moves a landmark: it is then the coach's own, placed once. */
  moveTo(id: string, at: ImagePoint): boolean {
    const record = this.#measuring.table[id]
    if (record?.kind !== 'landmark') return false
    return this.#measuring.change([{ ...record, at: imagePoint(round(at[0]), round(at[1])), sigmaPx: null, placed: 1, by: 'coach' }])
  }
  nudge(dx: number, dy: number): void {
    const { chosen, end } = this.#state
    const record = chosen === null ? undefined : this.#measuring.table[chosen]
    if (!record) return
    const pane = this.#measuring.paneOf(record.clipId)
    const sign = pane !== null && this.#measuring.bench.store.stage.panes[pane].mirror ? -1 : 1
    if (record.kind === 'landmark') this.moveTo(record.id, imagePoint(record.at[0] + sign * dx, record.at[1] + dy))
    else moveEnd(this.#measuring, record.id, end, ([x, y]) => imagePoint(x + sign * dx, y + dy))
  }
  remove(): void {
    const { chosen } = this.#state
    if (chosen !== null) this.#measuring.change([], [chosen])
  }

  /** What is asked of the hand now, in words; null for nothing. */
  words(): { readonly what: string; readonly how: string } | null {
    const { task, repeat, thrice } = this.#state
    if (repeat) return { what: `${capital(pointTitle(repeat.point))} again`, how: `${repeat.placings.length + 1} of ${placings}: ${placingWords[repeat.point]}, as if for the first time` }
    if (!task) return null
    if (task.kind === 'guide') return { what: capital(guideTitles[task.name]), how: `${task.first ? 'second' : 'first'} point: ${guideWords[task.name][task.first ? 1 : 0]}` }
    if (task.kind === 'mat') return { what: 'Mat', how: matWords(this.#measuring, task) }
    const wanted = this.wanted
    if (!wanted) return null
    const times = thrice ? `, ${placings} times` : ''
    if (task.kind === 'follow') return { what: capital(pointTitle(wanted.point)), how: `${placingWords[wanted.point]}${times}; the clip then goes on ${task.every === 1 ? 'a frame' : `${task.every} frames`}` }
    const at = wanted.step!.position
    return { what: capital(pointTitle(wanted.point)), how: `${placingWords[wanted.point]}${times} (${at === 'swing' ? 'throughout' : positionTitle(at)})` }
  }
}

const guideWords: Readonly<Record<GuideName, readonly [string, string]>> = {
  plumb: ['low on something that hangs or stands plumb, near the player', 'high on it'],
  horizon: ['one end of something level, square to the camera', 'its other end'],
  targetLine: ['on the ground, away from the target', 'on the ground, toward the target'],
  stanceLine: ['the tip of the trail foot', 'the tip of the lead foot'],
  ball: ['one edge of the ball', 'the edge opposite'],
  known: ['one end of the known length, in the plane of the player', 'its other end'],
}

export const capital = (words: string): string => words[0]!.toUpperCase() + words.slice(1)
