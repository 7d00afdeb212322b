import { createStore, type StoreApi } from 'zustand/vanilla'
import { apply } from '../../../shared/geometry/affine.ts'
import type { ImagePoint } from '../../../shared/geometry/vec.ts'
import { marksAt, shapes, type Mark, type Shape } from '../../../shared/markup/mark.ts'
import { handlesOf, movedBy, withHandle } from '../../../shared/markup/tools/handles.ts'
import { markAt as hitMark } from '../../../shared/markup/tools/hit.ts'
import { rounded } from '../../../shared/markup/tools/tool.ts'
import { addFix, changeFix, removeFix, runOfMark } from '../../../shared/walkthrough/editFixes.ts'
import { toSamples, type MarkFix, type MarkPatch } from '../../../shared/walkthrough/edits.ts'
import type { OutSpan } from '../../../shared/walkthrough/editPieces.ts'
import type { Programme } from '../../../shared/walkthrough/programme.ts'
import { tickOf } from '../../../shared/walkthrough/motion.ts'
import type { PaneId, Stage } from '../../../shared/walkthrough/stage.ts'
import type { StageView } from '../../playback/stageView.ts'
import { newId, type LessonEditor } from './lessonEditor.ts'
import type { LessonPlayer } from './player.ts'

/** For how long a mark is set right: as long as it stays as it is now, from here to the end, for some seconds, or throughout. */
export type FixLength = 'as-it-stays' | 'to-the-end' | 'seconds' | 'throughout'

export interface FixingView {
  readonly isOn: boolean
  readonly markId: string | null
  readonly length: FixLength
  readonly seconds: number
  /** A shape that the next drag on the picture makes. */
  readonly adding: Shape | null
}

/** Shapes that one drag makes. */
export const addable = ['segment', 'line', 'arrow', 'box', 'circle', 'dot'] as const satisfies readonly Shape[]
const reachPx = 9

/**
 * Sets marks right on the lesson's picture, after the fact: choose one at this instant, move it, restyle it, take it away, or
 * draw one that was forgotten. The recording and its sound stay as they are.
 */
export class MarkFixing {
  readonly view: StoreApi<FixingView> = createStore<FixingView>()(() => ({ isOn: false, markId: null, length: 'as-it-stays', seconds: 5, adding: null }))
  readonly #editor: LessonEditor
  readonly #player: LessonPlayer
  readonly #canvas = document.createElement('canvas')
  #stage: StageView | null = null
  #host: HTMLElement | null = null
  #preview: Mark | null = null
  #adjusted: { readonly stage: Stage; readonly preview: Mark; readonly result: Stage } | null = null
  #frame = 0

  constructor(editor: LessonEditor, player: LessonPlayer) {
    this.#editor = editor
    this.#player = player
    Object.assign(this.#canvas.style, { position: 'absolute', inset: '0', width: '100%', height: '100%', pointerEvents: 'none' })
  }

  dispose(): void {
    this.attach(null, null)
  }

  attach(view: StageView | null, host: HTMLElement | null): void {
    cancelAnimationFrame(this.#frame)
    this.#host?.removeEventListener('pointerdown', this.#down)
    this.#canvas.remove()
    this.#stage = view
    this.#host = host
    if (!host) return
    host.addEventListener('pointerdown', this.#down)
    host.append(this.#canvas)
    const step = (): void => {
      this.#draw()
      this.#frame = requestAnimationFrame(step)
    }
    step()
  }

  setOn(isOn: boolean): void {
    if (this.view.getState().isOn !== isOn) this.view.setState({ isOn, markId: null, adding: null })
  }
  choose(markId: string | null): void {
    this.view.setState({ markId })
  }
  chooseFix(id: string): void {
    const fix = this.#editor.view.getState().lesson?.edits.fixes.find((each) => each.id === id)
    if (fix) this.choose(fix.change.kind === 'add' ? fix.change.mark.id : fix.change.markId)
  }

  /** The stage with what is being dragged where the hand has it. */
  adjust(stage: Stage): Stage {
    const preview = this.#preview
    if (!preview) return stage
    if (this.#adjusted?.stage !== stage || this.#adjusted.preview !== preview) this.#adjusted = { stage, preview, result: { ...stage, marks: { ...stage.marks, [preview.id]: preview } } }
    return this.#adjusted.result
  }

  /** The marks that are seen at this instant, topmost first. */
  seen(): Mark[] {
    const { programme } = this.#editor.view.getState()
    const instant = programme?.at(this.#player.now())
    if (instant?.kind !== 'stage') return []
    const { stage, clips } = instant
    return ([0, 1] as const).flatMap((pane) => this.#seenIn(stage, pane, clips)).reverse()
  }

  /** The chosen mark as it is at this instant. */
  chosen(): Mark | null {
    const { markId } = this.view.getState()
    const instant = this.#editor.view.getState().programme?.at(this.#player.now())
    return markId !== null && instant?.kind === 'stage' ? instant.stage.marks[markId] ?? null : null
  }

  change(patch: MarkPatch, words: string): void {
    const mark = this.chosen()
    if (!mark) return
    const ms = this.#player.now()
    this.#editor.edit(words, (edits, programme) => {
      const span = this.#spanOf(programme, ms, mark.id)
      // What was set right here before, over the same stretch, is set right further instead of twice.
      const before = edits.fixes.findLast((fix) => idOf(fix) === mark.id && fix.change.kind !== 'remove' && covers(fix, programme, ms))
      if (before && this.view.getState().length === 'as-it-stays') {
        const { change } = before
        if (change.kind === 'change') return changeFix(edits, before.id, { change: { ...change, patch: { ...change.patch, ...patch } } })
        if (change.kind === 'add') return changeFix(edits, before.id, { change: { ...change, mark: { ...change.mark, ...(patch as Partial<Mark>) } } })
      }
      return addFix(edits, span, { kind: 'change', markId: mark.id, patch }, newId)
    })
  }

  remove(words: string): void {
    const mark = this.chosen()
    if (!mark) return
    const ms = this.#player.now()
    this.#editor.edit(words, (edits, programme) => {
      const drawn = edits.fixes.find((fix) => fix.change.kind === 'add' && fix.change.mark.id === mark.id)
      // A mark that was only added here goes with its addition.
      return drawn && this.view.getState().length === 'as-it-stays' ? removeFix(edits, drawn.id) : addFix(edits, this.#spanOf(programme, ms, mark.id), { kind: 'remove', markId: mark.id }, newId)
    })
    this.choose(null)
  }

  /** Gives the fix that holds here another length: the one that is chosen now. */
  setLength(length: FixLength, seconds = this.view.getState().seconds): void {
    this.view.setState({ length, seconds })
    const { lesson, programme } = this.#editor.view.getState()
    const { markId } = this.view.getState()
    const ms = this.#player.now()
    const fix = programme && lesson?.edits.fixes.findLast((each) => idOf(each) === markId && covers(each, programme, ms))
    if (fix) this.#editor.edit('Set for how long a mark is set right', (edits, now) => changeFix(edits, fix.id, { span: this.#spanOf(now, ms, markId!, fix) }))
  }

  nudge(dx: number, dy: number): void {
    const mark = this.chosen()
    if (mark) this.change({ points: movedBy(mark, dx, dy).points as ImagePoint[] }, 'Move a mark')
  }

  #spanOf(programme: Programme, ms: number, markId: string, besides: MarkFix | null = null): OutSpan {
    const { length, seconds } = this.view.getState()
    const from = toSamples(ms)
    if (length === 'throughout') return { from: 0, to: programme.length }
    if (length === 'to-the-end') return { from, to: programme.length }
    if (length === 'seconds') return { from, to: Math.min(programme.length, from + Math.max(1, Math.round(seconds * 48_000))) }
    // As the recording has it, without the fix whose length is asked for.
    const asWas = besides ? programme.with({ ...programme.edits, fixes: programme.edits.fixes.filter(({ id }) => id !== besides.id) }) : programme
    const run = runOfMark(asWas, ms, markId)
    return run.from < run.to ? run : { from, to: programme.length }
  }

  #seenIn(stage: Stage, pane: PaneId, clips: Readonly<Record<string, { readonly frames: { readonly ticks: readonly number[] } }>>): Mark[] {
    const { clipId, tick } = stage.panes[pane]
    if (clipId === null || (stage.layout === 'single' && stage.active !== pane)) return []
    const frame = this.#stage?.shown()[pane]
    const clip = clips[clipId]
    const at = clip && frame !== null && frame !== undefined ? tickOf(clip.frames as never, frame) : tick
    return marksAt(stage.marks, clipId, at)
  }

  readonly #down = (event: PointerEvent): void => {
    const { isOn, adding } = this.view.getState()
    const hit = isOn && event.button === 0 ? this.#stage?.hit(event.clientX, event.clientY) : null
    if (!hit || !this.#stage || !this.#host) return
    const place = this.#stage.place(hit.pane)
    const { stage } = this.#stage
    const { clipId } = stage.panes[hit.pane]
    if (!place || clipId === null) return
    this.#player.pause()
    event.preventDefault()
    const start = hit.at
    if (adding) return this.#drag(event, hit.pane, (at) => this.#newMark(adding, clipId, start, at, stage), (mark) => this.#add(mark))
    const reach = reachPx / place.scale
    const chosen = this.#preview ?? this.chosen()
    const handle = chosen?.clipId === clipId ? handlesOf(chosen).findIndex((point) => Math.hypot(point[0] - start[0], point[1] - start[1]) <= reach) : -1
    if (chosen && handle >= 0) return this.#drag(event, hit.pane, (at, constrain) => withHandle(chosen, handle, at, constrain), (mark) => this.change({ points: [...mark.points] }, 'Move a mark'))
    const marks = marksAt(stage.marks, clipId, stage.panes[hit.pane].tick)
    const unit = Math.min(place.rect.width, place.rect.height) / 1000 / place.scale
    const found = hitMark(marks, start, { reach, unit, mirror: stage.panes[hit.pane].mirror })
    this.choose(found?.id ?? null)
    if (found) this.#drag(event, hit.pane, (at) => movedBy(found, at[0] - start[0], at[1] - start[1]), (mark) => this.change({ points: [...mark.points] }, 'Move a mark'))
  }

  #drag(event: PointerEvent, pane: PaneId, made: (at: ImagePoint, constrain: boolean) => Mark, done: (mark: Mark) => void): void {
    const host = this.#host!
    host.setPointerCapture(event.pointerId)
    let moved = false
    const move = (next: PointerEvent): void => {
      moved ||= Math.hypot(next.clientX - event.clientX, next.clientY - event.clientY) > 2
      const at = this.#stage?.imageAt(pane, next.clientX, next.clientY)
      if (moved && at) this.#preview = made(at, next.shiftKey)
    }
    const end = (): void => {
      host.removeEventListener('pointermove', move)
      host.removeEventListener('pointerup', end)
      host.removeEventListener('pointercancel', end)
      const mark = this.#preview
      this.#preview = null
      if (moved && mark) done(mark)
    }
    host.addEventListener('pointermove', move)
    host.addEventListener('pointerup', end)
    host.addEventListener('pointercancel', end)
  }

  #newMark(shape: Shape, clipId: string, from: ImagePoint, to: ImagePoint, stage: Stage): Mark {
    const points = shapes[shape].most === 1 ? [rounded(to)] : [rounded(from), rounded(to)]
    return { id: this.#preview?.id ?? newId(), clipId, shape, meaning: null, points, text: '', span: null, ink: 'plain', weight: 5, dashed: false, hidden: false, order: Math.max(0, ...Object.values(stage.marks).map(({ order }) => order)) + 1 }
  }

  #add(mark: Mark): void {
    const ms = this.#player.now()
    this.view.setState({ adding: null })
    const { length } = this.view.getState()
    // A new mark has no run of its own yet: it stays to the end of its stretch of the recording unless another length is chosen.
    this.#editor.edit('Draw a mark that was forgotten', (edits, programme) => addFix(edits, length === 'as-it-stays' ? { from: toSamples(ms), to: programme.length } : this.#spanOf(programme, ms, mark.id), { kind: 'add', mark }, newId))
    this.choose(mark.id)
  }

  /** The chosen mark's handles, over the picture. */
  #draw(): void {
    const mark = this.view.getState().isOn ? this.#preview ?? this.chosen() : null
    const pane = mark && this.#stage ? ([0, 1] as const).find((one) => this.#stage!.stage.panes[one].clipId === mark.clipId) : undefined
    const place = pane === undefined ? null : this.#stage?.place(pane) ?? null
    this.#canvas.hidden = !place
    if (!mark || !place) return
    const { clientWidth, clientHeight } = this.#canvas
    this.#canvas.width = Math.round(clientWidth * devicePixelRatio)
    this.#canvas.height = Math.round(clientHeight * devicePixelRatio)
    const ctx = this.#canvas.getContext('2d')!
    ctx.scale(devicePixelRatio, devicePixelRatio)
    const places = handlesOf(mark)
    for (const [x, y] of (places.length > 0 ? places : [mark.points[0]!, mark.points.at(-1)!]).map((point) => apply(place.toHost, point))) {
      ctx.beginPath()
      ctx.rect(x - 4.5, y - 4.5, 9, 9)
      ctx.lineWidth = 3
      ctx.strokeStyle = 'rgba(8, 10, 12, 0.8)'
      ctx.stroke()
      ctx.lineWidth = 1.25
      ctx.strokeStyle = '#F5F2EA'
      ctx.stroke()
    }
  }
}

const idOf = ({ change }: MarkFix): string => (change.kind === 'add' ? change.mark.id : change.markId)

const covers = (fix: MarkFix, programme: Programme, ms: number): boolean => {
  const there = programme.toTake(ms)
  return there !== null && fix.over.some((one) => one.takeId === there.takeId && toSamples(there.ms) >= one.from && toSamples(there.ms) < one.to)
}

/** What a fix does, in words. */
export function fixWords({ change }: MarkFix, name: string): string {
  if (change.kind === 'add') return `${name} drawn`
  if (change.kind === 'remove') return `${name} taken away`
  const parts = Object.keys(change.patch).map((key) => ({ points: 'moved', text: 'words', span: 'frames', ink: 'ink', weight: 'weight', dashed: 'line' })[key] ?? key)
  return `${name}: ${parts.join(', ')}`
}
