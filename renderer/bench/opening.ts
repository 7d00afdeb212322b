import { isEmpty, diffBetween } from '../../shared/markup/diff.ts'
import type { History } from '../../shared/markup/history.ts'
import type { Mark, Marks } from '../../shared/markup/mark.ts'
import type { Clip } from '../../shared/contract/clip.ts'
import type { Swing } from '../../shared/contract/student.ts'
import { throughTie, tickOf } from '../../shared/walkthrough/motion.ts'
import { clipsShown, emptyPane, emptyStage, type PaneId, referenceOf, type Stage } from '../../shared/walkthrough/stage.ts'
import type { BenchRequest } from '../ui/appStore.ts'
import { nearestTick } from '../playback/head.ts'
import { faultOf } from '../ui/notices.ts'
import type { Bench } from './bench.ts'

/** Brings clips and their marks onto the panes. The newest request wins; undo of a pair is kept while the window lives. */
export class Opening {
  readonly #bench: Bench
  readonly #histories = new Map<string, History<Mark>>()
  #serial = 0

  constructor(bench: Bench) {
    this.#bench = bench
  }

  async open(request: BenchRequest): Promise<void> {
    const bench = this.#bench
    let swing: Swing | null = null
    if ('swingId' in request) {
      const serial = ++this.#serial
      bench.state.setState({ opening: 'Fetching the swing', fault: null })
      try {
        swing = (await bench.desk.call('swing.some', { ids: [request.swingId] }))[0] ?? null
      } catch (error) {
        if (serial === this.#serial) bench.state.setState({ opening: null, fault: faultOf(error) })
        return
      }
      if (serial !== this.#serial) return
    }
    const ids: [string | null, string | null] = 'clipId' in request ? [request.clipId, null] : [swing?.leftClipId ?? null, swing?.rightClipId ?? null]
    // A swing of one clip stands in the left pane.
    const clipIds: [string | null, string | null] = ids[0] === null ? [ids[1], null] : ids
    await this.#show(clipIds, swing, ids[0] === null ? null : swing?.tie ?? null)
  }

  /** Puts another clip into one pane; what the other shows stays. */
  async put(pane: PaneId, clipId: string | null): Promise<void> {
    const { panes } = this.#bench.store.stage
    const clipIds: [string | null, string | null] = [panes[0].clipId, panes[1].clipId]
    clipIds[pane] = clipId
    await this.#show(clipIds, null, null)
  }

  /**
   * Puts a stage back as it stood in a lesson, its marks too. What is drawn from here on goes to disk; marks of the clips that
   * were not on it stay on disk and off the stage, until the swing is opened again.
   */
  async restore(stage: Stage): Promise<void> {
    const bench = this.#bench
    const serial = ++this.#serial
    bench.state.setState({ opening: 'Putting the stage back as it stood', fault: null })
    try {
      await bench.saver.flush()
      const clips = await Promise.all(clipsShown(stage).map((id) => bench.desk.call('clip.get', { id })))
      if (serial !== this.#serial) return
      bench.store.know(clips.map(stageClipOf))
      bench.transport.pause()
      bench.clearLoop()
      const history = bench.marks.newHistory(stage.marks)
      bench.dispatch([{ type: 'stage', stage: { ...stage, motion: null, draft: null, pointer: null } }])
      bench.marks.useHistory(history)
      // Without a swing: its own tie on disk is not this stage's to change.
      bench.state.setState({ opening: null, swing: null, selected: null, writing: null, palette: null })
    } catch (error) {
      if (serial === this.#serial) bench.state.setState({ opening: null, fault: faultOf(error) })
    }
  }

  async #show(clipIds: readonly [string | null, string | null], swing: Swing | null, tie: Swing['tie']): Promise<void> {
    const bench = this.#bench
    const serial = ++this.#serial
    const ids = [...new Set(clipIds.filter((id) => id !== null))]
    bench.state.setState({ opening: ids.length > 1 ? 'Fetching both clips and their marks' : 'Fetching the clip and its marks', fault: null })
    try {
      await bench.saver.flush()
      const [clips, marks] = await Promise.all([
        Promise.all(ids.map((id) => bench.desk.call('clip.get', { id }))),
        ids.length ? bench.desk.call('marks.list', { clipIds: ids }) : [],
      ])
      if (serial !== this.#serial) return
      this.#put(clipIds, clips, Object.fromEntries(marks.map((mark) => [mark.id, mark])), swing, tie)
    } catch (error) {
      if (serial === this.#serial) bench.state.setState({ opening: null, fault: faultOf(error) })
    }
  }

  #put(clipIds: readonly [string | null, string | null], clips: readonly Clip[], marks: Marks, swing: Swing | null, tie: Swing['tie']): void {
    const bench = this.#bench
    const before = bench.store.stage
    bench.store.know(clips.map(stageClipOf))
    const [left, right] = clipIds.map((id) => clips.find((clip) => clip.id === id))
    // As after any step: the left pane rests on the frame nearest to the tie, the right one on its nearest to that.
    const tiedTick = (pane: PaneId): number | null => {
      if (!tie || !left || !right) return null
      const first = nearestTick(left.frames, tie.left)
      return pane === 0 ? first : nearestTick(right.frames, throughTie(left, right, tie.left, tie.right, first))
    }
    const paneWith = (pane: PaneId): typeof emptyPane => {
      const clip = clips.find(({ id }) => id === clipIds[pane])
      if (!clip) return emptyPane
      // A pane that keeps its clip keeps what it shows.
      if (!swing && before.panes[pane].clipId === clip.id) return { ...before.panes[pane], tick: bench.store.settled().panes[pane].tick }
      return { ...emptyPane, clipId: clip.id, tick: tiedTick(pane) ?? tickOf(clip.frames, 0), mirror: clip.mirrored ?? false }
    }
    const key = clips.map(({ id }) => id).toSorted().join(' ')
    const kept = this.#histories.get(key)
    const history = kept && isEmpty(diffBetween(textOf(kept.table), textOf(marks))) ? kept : bench.marks.newHistory(marks)
    this.#histories.set(key, history)
    bench.clearLoop()
    const stays: PaneId = swing ? 0 : before.active
    const active: PaneId = clipIds[stays] !== null ? stays : clipIds[0] !== null ? 0 : 1
    // One clip alone has the whole stage.
    const layout = clipIds[0] !== null && clipIds[1] !== null ? 'twin' : 'single'
    // So does a pane's reference stay, while the pane keeps what it was set beside.
    const references = [0, 1].map((pane) => (swing || before.panes[pane as PaneId].clipId !== clipIds[pane] ? null : referenceOf(before, pane as PaneId)))
    bench.dispatch([{ type: 'stage', stage: { ...emptyStage, layout, panes: [paneWith(0), paneWith(1)], tie, marks: history.table, active, ...(references.some((one) => one !== null) && { references: [references[0] ?? null, references[1] ?? null] as const }) } }])
    bench.marks.useHistory(history)
    bench.state.setState({ opening: null, swing, selected: null, writing: null, palette: null })
  }
}

/** What the stage, and so a walkthrough's log, knows of a clip; nothing that names a student or a file. */
const stageClipOf = ({ id, view, handedness, mirrored, width, height, frames, captureRate, playRate }: Clip) =>
  ({ id, view, handedness, mirrored, width, height, frames, captureRate, playRate })

/** Records as text, so that two loadings of the same marks compare as the same. */
const textOf = (marks: Marks): Record<string, string> => Object.fromEntries(Object.entries(marks).map(([id, mark]) => [id, JSON.stringify(Object.entries(mark).toSorted())]))

/** Keeps a swing's tie on disk as the coach changes it, 300 ms after the last change or when told to stop. */
export function keepTie(bench: Bench): () => void {
  let waiting: { readonly swing: Swing; readonly timer: ReturnType<typeof setTimeout> } | null = null
  const save = (): void => {
    if (!waiting) return
    const { createdAt: _, ...swing } = waiting.swing
    clearTimeout(waiting.timer)
    waiting = null
    bench.desk.call('swing.save', swing).then(
      (saved) => {
        if (bench.state.getState().swing?.id === saved.id) bench.state.setState({ swing: saved })
      },
      (error: unknown) => bench.state.setState({ fault: faultOf(error) }),
    )
  }
  const stop = bench.store.listen((_, event, { tie, panes }) => {
    // Another pair comes onto the panes: the tie of the one before it does not wait.
    if (event.type === 'stage') return save()
    const { swing } = bench.state.getState()
    if (event.type !== 'tie' || !swing) return
    if (waiting) clearTimeout(waiting.timer)
    // The panes may have been swapped: a swing keeps its own left and right.
    const isSwapped = panes[0].clipId === swing.rightClipId && panes[0].clipId !== swing.leftClipId
    waiting = { swing: { ...swing, tie: tie && isSwapped ? { left: tie.right, right: tie.left } : tie }, timer: setTimeout(save, 300) }
  })
  return () => {
    stop()
    save()
  }
}
