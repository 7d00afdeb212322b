import type { Vec2 } from '../../../shared/geometry/vec.ts'
import type { ArcPlace, ArmsRoom } from '../armsRoom.ts'
import { eyeAxes, nearer, orbited, toScreen, toStretch, type Screen } from './eye.ts'

type Held = 'elbow' | 'shaft' | 'eye'

/** How near the pointer must come, CSS pixels. */
const elbowReach = 22
const shaftReach = 12
/** How far along the arc the elbow may be carried by one move of the pointer, degrees: where the arc lies over itself it stays on its side. */
const oneMove = 40

/** The hand on the figure: an elbow taken goes along its arc, a shaft taken takes the elbow with it, anything else turns the eye. */
export class FigurePointer {
  readonly #host: HTMLElement
  readonly #room: ArmsRoom
  readonly #screen: () => Screen
  readonly #stop = new AbortController()
  #holds: Held | null = null
  #over: 'elbow' | 'shaft' | null = null
  #last: Vec2 = [0, 0]
  /** From the pointer to what it took, so that nothing jumps at the first move. */
  #grip: Vec2 = [0, 0]

  constructor(host: HTMLElement, room: ArmsRoom, screen: () => Screen) {
    this.#host = host
    this.#room = room
    this.#screen = screen
    const { signal } = this.#stop
    host.addEventListener('pointerdown', (event) => this.#down(event), { signal })
    host.addEventListener('pointermove', (event) => this.#move(event), { signal })
    host.addEventListener('pointerup', (event) => this.#up(event), { signal })
    host.addEventListener('pointercancel', (event) => this.#up(event), { signal })
    host.addEventListener('pointerleave', () => this.#setOver(null), { signal })
    host.addEventListener('wheel', (event) => this.#wheel(event), { signal, passive: false })
  }

  get held(): 'elbow' | 'shaft' | null {
    return this.#holds === 'eye' ? null : this.#holds ?? this.#over
  }
  /** Whether the hand holds the elbow, the shaft or the eye. */
  get isHolding(): boolean {
    return this.#holds !== null
  }
  dispose(): void {
    this.#stop.abort()
  }

  get #mirrored(): boolean {
    return this.#room.state.getState().loaded?.handedness === 'left'
  }
  #see(p: readonly [number, number, number]): Vec2 {
    const [x, y] = toScreen(eyeAxes(this.#room.eye), this.#screen(), this.#mirrored, p)
    return [x, y]
  }
  #at(event: PointerEvent): Vec2 {
    const box = this.#host.getBoundingClientRect()
    return [event.clientX - box.left, event.clientY - box.top]
  }

  #under(at: Vec2): 'elbow' | 'shaft' | null {
    const { shown } = this.#room
    if (!shown) return null
    const elbow = this.#see(shown.pose.trail.elbow)
    if (Math.hypot(elbow[0] - at[0], elbow[1] - at[1]) <= elbowReach) return 'elbow'
    const { distance, along } = toStretch(at, this.#see(shown.pose.club.butt), this.#see(shown.pose.club.end))
    return distance <= shaftReach && along > 0.25 ? 'shaft' : null
  }

  #down(event: PointerEvent): void {
    if (event.button !== 0) return
    this.#host.setPointerCapture(event.pointerId)
    this.#last = this.#at(event)
    this.#holds = this.#under(this.#last) ?? 'eye'
    const { shown } = this.#room
    if (shown && this.#holds !== 'eye') {
      const place = this.#see(this.#holds === 'elbow' ? shown.pose.trail.elbow : shown.pose.club.end)
      this.#grip = [place[0] - this.#last[0], place[1] - this.#last[1]]
      // The hand takes what is seen: what stands between filmed and wanted becomes the wanted.
      if (shown.blend !== 1) this.#room.setSwivel(shown.pose.readings.swivelDeg)
    }
    this.#tell()
  }

  #move(event: PointerEvent): void {
    const at = this.#at(event)
    if (!this.#holds) return this.#setOver(this.#under(at))
    const [dx, dy] = [at[0] - this.#last[0], at[1] - this.#last[1]]
    this.#last = at
    if (this.#holds === 'eye') return this.#room.setEye(orbited(this.#room.eye, dx, dy, this.#mirrored))
    const swivel = this.#swivelAt([at[0] + this.#grip[0], at[1] + this.#grip[1]], this.#holds)
    if (swivel !== null) this.#room.setSwivel(swivel)
  }

  #up(event: PointerEvent): void {
    if (this.#host.hasPointerCapture(event.pointerId)) this.#host.releasePointerCapture(event.pointerId)
    this.#holds = null
    this.#setOver(this.#under(this.#at(event)))
    this.#tell()
  }

  #wheel(event: WheelEvent): void {
    event.preventDefault()
    this.#room.setEye(nearer(this.#room.eye, Math.exp(event.deltaY * 0.0012)))
  }

  /** The swivel whose elbow, or whose club end, comes nearest to a point on the screen, near where it is now. */
  #swivelAt(at: Vec2, what: 'elbow' | 'shaft'): number | null {
    const { arc, wantedSwivel } = this.#room
    let best: { swivel: number; distance: number } | null = null
    for (let i = 1; i < arc.length; i++) {
      const [a, b] = [arc[i - 1]!, arc[i]!]
      if (Math.min(Math.abs(a.swivel - wantedSwivel), Math.abs(b.swivel - wantedSwivel)) > oneMove) continue
      const place = (p: ArcPlace): Vec2 => this.#see(what === 'elbow' ? p.elbow : p.end)
      const { distance, along } = toStretch(at, place(a), place(b))
      if (!best || distance < best.distance) best = { distance, swivel: a.swivel + along * (b.swivel - a.swivel) }
    }
    return best?.swivel ?? null
  }

  #setOver(over: 'elbow' | 'shaft' | null): void {
    if (this.#over === over) return
    this.#over = over
    this.#tell()
  }
  #tell(): void {
    this.#host.dataset.over = this.held ?? ''
    this.#host.dataset.holds = this.#holds ?? ''
    this.#room.touch()
  }
}
