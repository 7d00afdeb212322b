import type { ImagePoint } from '../../shared/geometry/vec.ts'
import { marksAt, meanings, type Mark } from '../../shared/markup/mark.ts'
import { spanFrom } from '../../shared/markup/copy.ts'
import { toolRun, type ToolContext, type ToolEffect, type ToolInput, type ToolRun } from '../../shared/markup/tools/index.ts'
import { unitOf } from '../../shared/picture/drawInstant.ts'
import { tickOf } from '../../shared/walkthrough/motion.ts'
import type { PaneId } from '../../shared/walkthrough/stage.ts'
import type { Bench } from './bench.ts'
import { nextOrder } from './benchMarks.ts'

/** CSS pixels within which a press counts as on a mark or a handle. */
const reachCss = 9

/** Where the magnifier looks. */
export interface Fine {
  readonly pane: PaneId
  readonly at: ImagePoint
}

/** Runs the tool in hand: gives it what the hand does, and does what it says. */
export class Drawing {
  readonly #bench: Bench
  #run: ToolRun = toolRun('select')
  /** The pane a mark in the making belongs to, and the mark it is going to be. */
  #begun: { readonly pane: PaneId; readonly blank: Mark } | null = null
  #fine: Fine | null = null
  /** Called when the magnifier is to be drawn anew. */
  onFine: () => void = () => undefined

  constructor(bench: Bench) {
    this.#bench = bench
    bench.state.subscribe((now, before) => {
      if (now.tool === before.tool && now.meaning === before.meaning) return
      this.cancel()
      this.#run = toolRun(now.tool === 'pointer' ? 'select' : now.tool)
    })
    // Undoing, or another pair of clips, leaves nothing in the making.
    bench.store.listen((_, event) => {
      if (event.type === 'stage' || event.type === 'swap') this.cancel()
    })
  }

  get isBusy(): boolean { return this.#run.isBusy }
  get pane(): PaneId | null { return this.#begun?.pane ?? null }
  get fine(): Fine | null { return this.#fine }

  /** Has the magnifier look at a place, or close: what else is placed by hand uses it too. */
  look(fine: Fine | null): void {
    this.#fine = fine
    this.onFine()
  }

  /** A press on a pane. False where the tool wants nothing of it. */
  down(pane: PaneId, at: ImagePoint, constrain: boolean): boolean {
    if (this.#begun === null || !this.#run.isBusy) {
      const blank = this.#blank(pane)
      if (!blank) return false
      this.#begun = { pane, blank }
    }
    this.#feed({ type: 'down', at, constrain })
    return this.#run.isBusy
  }

  /** Whether a press here would take hold of a mark. */
  isOver(pane: PaneId, at: ImagePoint): boolean {
    if (this.#bench.state.getState().tool !== 'select') return false
    const blank = this.#blank(pane)
    const context = blank && this.#context(pane, blank)
    return context ? toolRun('select').next({ type: 'down', at, constrain: false }, context).run.isBusy : false
  }

  move(at: ImagePoint, constrain: boolean): void {
    if (this.#run.isBusy) this.#feed({ type: 'move', at, constrain })
  }
  up(at: ImagePoint, constrain: boolean): void {
    if (this.#run.isBusy) this.#feed({ type: 'up', at, constrain })
  }
  key(key: 'Escape' | 'Enter' | 'Backspace'): void {
    if (this.#run.isBusy) this.#feed({ type: 'key', key })
  }
  cancel(): void {
    this.key('Escape')
    const { state, store } = this.#bench
    if (!state.getState().writing) return
    if (store.stage.draft) store.dispatch({ type: 'draft', draft: null })
    state.setState({ writing: null })
  }

  /** Begins to write a mark's words, in place. */
  write(mark: Mark): void {
    this.cancel()
    this.#bench.state.setState({ writing: { mark, isNew: false } })
  }
  /** The words so far, or for good; null leaves them as they were. */
  words(text: string | null, isDone: boolean): void {
    const { writing } = this.#bench.state.getState()
    if (!writing) return
    if (writing.isNew) {
      if (text === null) this.cancel()
      else this.#feed({ type: 'words', text, isDone })
      if (isDone) this.#bench.state.setState({ writing: null })
      return
    }
    const mark = { ...writing.mark, text: (text ?? '').slice(0, 2000) }
    this.#bench.store.dispatch({ type: 'draft', draft: text === null || isDone ? null : mark })
    if (!isDone && text !== null) return
    this.#bench.state.setState({ writing: null })
    if (text === null || mark.text === writing.mark.text) return
    // A text without words is nothing.
    if (mark.shape === 'text' && mark.text.trim() === '') this.#bench.marks.remove([mark.id])
    else this.#bench.marks.put([mark])
  }

  #feed(input: ToolInput): void {
    const begun = this.#begun
    const context = begun && this.#context(begun.pane, begun.blank)
    if (!context) return
    const { run, effects } = this.#run.next(input, context)
    this.#run = run
    for (const effect of effects) this.#do(effect, begun!.pane)
    if (run.isBusy) return
    this.#begun = null
    // One mark, and the hand is free again to choose and to jog.
    if (effects.some((effect) => effect.type === 'put')) this.#bench.takeTool('select')
  }

  #do(effect: ToolEffect, pane: PaneId): void {
    const bench = this.#bench
    switch (effect.type) {
      case 'draft':
        if (bench.store.stage.draft !== effect.draft) bench.store.dispatch(effect)
        break
      case 'put':
        if (JSON.stringify(bench.store.stage.marks[effect.mark.id]) !== JSON.stringify(effect.mark)) bench.marks.put([effect.mark])
        break
      case 'select':
        bench.marks.select(effect.id)
        break
      case 'fine':
        this.#fine = effect.at && { pane, at: effect.at }
        this.onFine()
        break
      case 'write':
        bench.state.setState({ writing: { mark: effect.mark, isNew: true } })
        break
    }
  }

  #blank(pane: PaneId): Mark | null {
    const bench = this.#bench
    const clip = bench.clip(pane)
    if (!clip) return null
    const { tool, meaning, style, spanKind } = bench.state.getState()
    return {
      id: crypto.randomUUID(), clipId: clip.id, shape: tool === 'select' || tool === 'pointer' ? 'line' : tool, meaning, points: [], text: '',
      span: spanFrom(spanKind, clip, bench.view?.shown()[pane] ?? bench.frame(pane)), ...style, ...(meaning ? { ink: meanings[meaning].ink } : {}), hidden: false, order: nextOrder(bench.store.stage.marks),
    }
  }

  #context(pane: PaneId, blank: Mark): ToolContext | null {
    const bench = this.#bench
    const clip = bench.clip(pane)
    const place = bench.view?.place(pane)
    if (!clip || !place) return null
    const frame = bench.view?.shown()[pane] ?? bench.frame(pane)
    const { stage } = bench.store
    return {
      blank, selected: bench.state.getState().selected,
      marks: marksAt(stage.marks, clip.id, tickOf(clip.frames, frame)),
      reach: reachCss / place.scale, size: clip, mirror: stage.panes[pane].mirror,
      unit: unitOf(bench.stageSize()) / place.scale,
    }
  }
}
