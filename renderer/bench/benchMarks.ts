import { copyAcross, acrossPictures, spanFrom, spanKind, withEnd } from '../../shared/markup/copy.ts'
import { History, redoable, redoNext, undoNewest } from '../../shared/markup/history.ts'
import { inks, type Mark } from '../../shared/markup/mark.ts'
import { movedBy } from '../../shared/markup/tools/handles.ts'
import { otherOf } from '../../shared/walkthrough/commands.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { PaneId } from '../../shared/walkthrough/stage.ts'
import type { Bench } from './bench.ts'
import type { MarkStyle, SpanKind } from './benchState.ts'

/** Records of another table, whose steps undo takes back in turn with those of the marks. */
export interface Beside {
  history(): Pick<History<never>, 'canUndo' | 'lastTurn' | 'next' | 'newestAt' | 'undo' | 'redo' | 'close'>
}

/** The marks on the Bench: what the coach does to them, with undo; each change is an event of the stage and goes to disk. */
export class BenchMarks {
  readonly #bench: Bench
  #history: History<Mark>
  #beside: readonly Beside[] = []

  constructor(bench: Bench) {
    this.#bench = bench
    this.#history = this.newHistory({})
  }

  newHistory(marks: Readonly<Record<string, Mark>>): History<Mark> {
    const history = new History<Mark>(marks, (diff) => {
      this.#bench.store.dispatch({ type: 'marks', diff })
      this.#bench.saver.add(diff)
      const { selected } = this.#bench.state.getState()
      if (selected !== null && diff.removed[selected]) this.#bench.state.setState({ selected: null })
    })
    return history
  }
  useHistory(history: History<Mark>): void {
    this.#history = history
    this.tellHistory()
  }
  /** Has undo and redo run through another table as well, until the returned function is called. */
  runBeside(beside: Beside): () => void {
    this.#beside = [...this.#beside, beside]
    return () => { this.#beside = this.#beside.filter((one) => one !== beside) }
  }
  get #all(): readonly ReturnType<Beside['history']>[] {
    return [this.#history, ...this.#beside.map((beside) => beside.history())]
  }
  tellHistory(): void {
    const canUndo = this.#all.some((history) => history.canUndo)
    const canRedo = redoable(this.#all) !== null
    const before = this.#bench.state.getState()
    if (before.canUndo !== canUndo || before.canRedo !== canRedo) this.#bench.state.setState({ canUndo, canRedo })
  }
  put(marks: readonly Mark[]): void {
    this.#history.put(Object.fromEntries(marks.map((mark) => [mark.id, mark])))
    this.tellHistory()
  }
  /** Brings marks that are drawn from measures up to date, as no step of undo. */
  amend(marks: readonly Mark[]): void {
    this.#history.amend(Object.fromEntries(marks.map((mark) => [mark.id, mark])))
  }
  remove(ids: readonly string[]): void {
    this.#history.remove(ids)
    this.tellHistory()
  }
  /** Makes one undo of all that comes until `endStep`. */
  beginStep(): void {
    this.#history.open()
  }
  endStep(): void {
    this.#history.close()
    this.tellHistory()
  }
  undo(): void {
    undoNewest(this.#all)
    this.tellHistory()
  }
  redo(): void {
    redoNext(this.#all)
    this.tellHistory()
  }
  get selected(): Mark | null {
    const { selected } = this.#bench.state.getState()
    return selected === null ? null : this.#bench.store.stage.marks[selected] ?? null
  }
  select(id: string | null): void {
    if (this.#bench.state.getState().selected === id) return
    this.#bench.state.setState({ selected: id })
  }
  change(patch: Partial<Mark>): void {
    const mark = this.selected
    if (mark) this.put([{ ...mark, ...patch }])
  }
  /** The chosen mark's look; without one, that of the marks to come. */
  restyle(patch: Partial<MarkStyle>): void {
    if (this.selected) this.change(patch)
    else this.#bench.state.setState(({ style }) => ({ style: { ...style, ...patch } }))
  }
  get style(): MarkStyle {
    return this.selected ?? this.#bench.state.getState().style
  }
  nextInk(by: 1 | -1): void {
    const { ink } = this.style
    this.restyle({ ink: inks[(inks.indexOf(ink) + by + inks.length) % inks.length]! })
  }
  heavier(by: number): void {
    this.restyle({ weight: Math.min(Math.max(this.style.weight + by, 1), 30) })
  }
  nudgeMark(dx: number, dy: number): void {
    const mark = this.selected
    if (!mark) return
    const pane = this.paneOf(mark)
    // What goes right on the screen goes left in a mirrored picture.
    this.put([movedBy(mark, pane !== null && this.#bench.store.stage.panes[pane].mirror ? -dx : dx, dy)])
  }
  /** The pane a mark's clip stands in, the active one first. */
  paneOf(mark: Mark): PaneId | null {
    const { panes } = this.#bench.store.stage
    return ([this.#bench.active, otherOf(this.#bench.active)] as const).find((pane) => panes[pane].clipId === mark.clipId) ?? null
  }
  get spanKind(): SpanKind {
    return this.selected ? spanKind(this.selected.span) : this.#bench.state.getState().spanKind
  }
  /** When the chosen mark shows; without one, when the marks to come do. */
  setSpan(kind: SpanKind): void {
    const mark = this.selected
    if (!mark) {
      this.#bench.state.setState({ spanKind: kind })
      return
    }
    const pane = this.paneOf(mark)
    if (pane !== null && spanKind(mark.span) !== kind) this.put([{ ...mark, span: spanFrom(kind, this.#bench.clip(pane)!, this.#bench.frame(pane)) }])
  }
  /** The chosen mark shows from the frame now on, or up to it. */
  setSpanEnd(end: 'from' | 'to'): void {
    const mark = this.selected
    const pane = mark ? this.paneOf(mark) : null
    if (mark && pane !== null) this.put([{ ...mark, span: withEnd(mark.span, end, this.#bench.clip(pane)!.frames, this.#bench.frame(pane)) }])
  }
  /** A copy on the other pane's clip, where the same place of the picture lies, at the instant it shows there. */
  duplicate(): void {
    const mark = this.selected
    const pane = mark ? this.paneOf(mark) : null
    if (!mark || pane === null) return
    const other = otherOf(pane)
    const [from, to] = [this.#bench.clip(pane), this.#bench.clip(other)]
    if (!from || !to) return
    const { panes, marks } = this.#bench.store.stage
    const copy = copyAcross(
      mark,
      { id: crypto.randomUUID(), clipId: to.id, span: spanFrom(spanKind(mark.span), to, this.#bench.frame(other)), order: nextOrder(marks) },
      acrossPictures(from, to, panes[0].mirror !== panes[1].mirror),
    )
    this.put([copy])
    this.select(copy.id)
  }
  clearPane(pane: PaneId = this.#bench.active): void {
    const { clipId } = this.#bench.store.stage.panes[pane]
    this.remove(marksOf(this.#bench.store.stage.marks, clipId).map((mark) => mark.id))
  }
  /** Hides all marks of the pane, or shows them where all are hidden. */
  toggleAll(pane: PaneId = this.#bench.active): void {
    const { clipId } = this.#bench.store.stage.panes[pane]
    const marks = marksOf(this.#bench.store.stage.marks, clipId)
    const hidden = marks.some((mark) => !mark.hidden)
    this.put(marks.filter((mark) => mark.hidden !== hidden).map((mark) => ({ ...mark, hidden })))
  }
  /** Chooses the mark after, or before, the chosen one on the active pane, and goes to where it shows. */
  cycle(by: 1 | -1): void {
    const { clipId } = this.#bench.store.stage.panes[this.#bench.active]
    const marks = marksOf(this.#bench.store.stage.marks, clipId)
    if (marks.length === 0) return
    const at = marks.findIndex((mark) => mark.id === this.#bench.state.getState().selected)
    this.goToMark(marks[at < 0 ? (by > 0 ? 0 : marks.length - 1) : (at + by + marks.length) % marks.length]!)
  }
  goToMark(mark: Mark): void {
    const pane = this.paneOf(mark)
    if (pane === null) return
    this.#bench.activate(pane)
    this.select(mark.id)
    const clip = this.#bench.clip(pane)!
    const now = tickOf(clip.frames, this.#bench.frame(pane))
    if (mark.span && (now < mark.span.from || now > mark.span.to)) this.#bench.transport.seek(pane, mark.span.from)
  }

  /** The next of: this frame, a while, the whole clip. */
  nextSpan(): void {
    const kinds = ['frame', 'span', 'clip'] as const
    this.setSpan(kinds[(kinds.indexOf(this.spanKind) + 1) % 3]!)
  }
}

/** Above all that is there. */
export const nextOrder = (marks: Readonly<Record<string, Mark>>): number => Math.max(0, ...Object.values(marks).map((mark) => mark.order)) + 1

/** The marks of one clip in the order of drawing, whenever they show. */
export const marksOf = (marks: Readonly<Record<string, Mark>>, clipId: string | null): Mark[] =>
  Object.values(marks).filter((mark) => mark.clipId === clipId).sort((a, b) => a.order - b.order)
