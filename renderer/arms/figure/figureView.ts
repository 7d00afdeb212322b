import type { FigurePose } from '../../../shared/markup/figure.ts'
import { drawingOrder, jointsAtLimit, jointsInWorld } from '../../../shared/markup/armsMarks.ts'
import { drawFigure, type PlacedPose } from '../../../shared/picture/drawArms.ts'
import type { ArmsPose } from '../../../shared/arms/types.ts'
import type { Vec2 } from '../../../shared/geometry/vec.ts'
import type { ArmsRoom } from '../armsRoom.ts'
import { azimuthOf } from '../numbers.ts'
import { eyeAxes, toScreen, type Screen } from './eye.ts'
import { Labels } from './labels.ts'
import { drawLines } from './lines.ts'
import { canvasPen, type Pen } from './pen.ts'
import { FigurePointer } from './pointer.ts'
import { Solids } from './solids.ts'

/** Milliseconds without a drawing after which the figure is at rest; longer while the hand still holds it. */
const restAfter = 140
const heldRestAfter = 500

/** The figure on the page: solids and lines in one picture, words above, drawn only when something changed, at most once a frame. */
export class FigureView {
  readonly #room: ArmsRoom
  readonly #canvas = document.createElement('canvas')
  readonly #solids: Solids | null
  readonly #labels: Labels
  readonly #pointer: FigurePointer
  readonly #stops: (() => void)[]
  readonly #host: HTMLElement
  #ratio = 1
  #drawnAt = -Infinity
  #rest: ReturnType<typeof setTimeout> | undefined
  #isSettling = false
  screen: Screen = { width: 0, height: 0 }

  constructor(host: HTMLElement, room: ArmsRoom) {
    this.#room = room
    this.#host = host
    Object.assign(this.#canvas.style, { position: 'absolute', inset: '0', width: '100%', height: '100%' })
    host.append(this.#canvas)
    this.#solids = Solids.on(this.#canvas, getComputedStyle(host).getPropertyValue('--well').trim())
    this.#labels = new Labels(host)
    room.state.setState({ isFlat: this.#solids === null })
    this.#pointer = new FigurePointer(host, room, () => this.screen)
    const watch = new ResizeObserver(() => this.#resize(host))
    watch.observe(host)
    this.#stops = [() => watch.disconnect(), room.onShown(() => this.#draw())]
    this.#resize(host)
  }

  get mirrored(): boolean {
    return this.#room.state.getState().loaded?.handedness === 'left'
  }

  #resize(host: HTMLElement): void {
    const { clientWidth: width, clientHeight: height } = host
    if (width === 0 || height === 0) return
    this.screen = { width, height }
    this.#ratio = Math.min(2, window.devicePixelRatio || 1)
    if (this.#solids) this.#solids.resize(width, height, this.#ratio)
    else Object.assign(this.#canvas, { width: Math.round(width * this.#ratio), height: Math.round(height * this.#ratio) })
    this.#room.touch()
  }

  #draw(): void {
    const { shown, eye, arc } = this.#room
    const { now, ghost } = this.#room.state.getState()
    if (this.screen.width === 0) return
    if (!shown || !now) return this.#clear()
    const { mirrored } = this
    const isMoved = Math.abs(shown.pose.readings.swivelDeg - now.readings.swivelDeg) > 0.05
    const axes = eyeAxes(eye)
    const isMoving = this.#isMoving()
    const lines = (pen: Pen): void => {
      this.#labels.begin(isMoving)
      drawLines(pen, this.#labels, axes, this.screen, { pose: shown.pose, now, arc, azimuth: azimuthOf(this.#room.state.getState(), shown.pose), ghost: ghost?.pose ?? null, held: this.#pointer.held, mirrored })
      this.#labels.end()
    }
    if (this.#solids) {
      this.#canvas.style.transform = mirrored ? 'scaleX(-1)' : ''
      this.#solids.draw({ pose: shown.pose, filmed: isMoved ? now : null, ghost: ghost?.pose ?? null }, eye, isMoving, mirrored, lines)
    } else this.#drawFlat(isMoved, lines)
    const [ex, ey] = toScreen(axes, this.screen, mirrored, shown.pose.trail.elbow)
    // Where the handle is, for whoever looks for it without eyes.
    this.#host.dataset.elbow = `${ex.toFixed(1)} ${ey.toFixed(1)}`
  }

  #clear(): void {
    this.#labels.begin(false)
    this.#labels.end()
    if (this.#solids) this.#solids.clear()
    else this.#canvas.getContext('2d')?.clearRect(0, 0, this.#canvas.width, this.#canvas.height)
    delete this.#host.dataset.elbow
  }

  #drawFlat(isMoved: boolean, lines: (pen: Pen) => void): void {
    const ctx = this.#canvas.getContext('2d')
    const { shown, eye } = this.#room
    const { now, ghost } = this.#room.state.getState()
    if (!ctx || !shown || !now) return
    ctx.setTransform(this.#ratio, 0, 0, this.#ratio, 0, 0)
    ctx.clearRect(0, 0, this.screen.width, this.screen.height)
    const axes = eyeAxes(eye)
    const see = (p: readonly [number, number, number]) => toScreen(axes, this.screen, this.mirrored, p)
    const placed = [...(ghost ? [flatPose('reference', ghost.pose, see)] : []), ...(isMoved ? [flatPose(now.kind === 'sketch' ? 'sketch' : 'filmed', now, see), flatPose('wanted', shown.pose, see)] : [flatPose('filmed', shown.pose, see)])]
    drawFigure(ctx as never, placed, Math.max(6, this.screen.height * 0.022))
    lines(canvasPen(ctx))
  }

  /**
   * Whether more drawings are about to follow: the hand holds something, or the last one was a moment ago. One more follows once all has
   * been still, with all its pixels and the last words.
   */
  #isMoving(): boolean {
    const at = performance.now()
    const isMoving = !this.#isSettling && (this.#pointer.isHolding || this.#rest !== undefined || at - this.#drawnAt < restAfter)
    this.#drawnAt = at
    this.#isSettling = false
    clearTimeout(this.#rest)
    this.#rest = isMoving ? setTimeout(() => {
      this.#rest = undefined
      this.#isSettling = true
      this.#room.touch()
    }, this.#pointer.isHolding ? heldRestAfter : restAfter) : undefined
    return isMoving
  }

  dispose(): void {
    clearTimeout(this.#rest)
    for (const stop of this.#stops) stop()
    this.#pointer.dispose()
    this.#solids?.dispose()
    this.#labels.dispose()
    this.#canvas.remove()
  }
}

function flatPose(kind: FigurePose['kind'], pose: ArmsPose, see: (p: readonly [number, number, number]) => readonly [number, number, number]): PlacedPose {
  const places = jointsInWorld(pose).map(see)
  return { pose: { kind, order: drawingOrder(places.map(([, , depth]) => depth)), atLimit: jointsAtLimit(pose), joints: null }, joints: places.map(([x, y]): Vec2 => [x, y]) }
}
