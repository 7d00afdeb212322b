import type { StoreApi } from 'zustand/vanilla'
import { forward } from '../../shared/arms/forward.ts'
import { inverse } from '../../shared/arms/inverse.ts'
import { createArms, type ArmsModel } from '../../shared/arms/model.ts'
import { sketchSigmaDeg, spreadOf } from '../../shared/arms/spread.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import { sweep } from '../../shared/arms/sweep.ts'
import { isArmsRefusal, type ForwardResult } from '../../shared/arms/types.ts'
import type { FaceInput } from '../../shared/contract/faceInput.ts'
import type { Student } from '../../shared/contract/student.ts'
import type { Vec3 } from '../../shared/geometry/vec.ts'
import type { Bridge } from '../bridge/index.ts'
import { onDisk } from '../playback/board.ts'
import { faultOf } from '../ui/notices.ts'
import { createArmsState, usualWish, type ArmsState, type Wish } from './armsState.ts'
import { FaceKept } from './face/faceKept.ts'
import { createFaceState } from './face/faceState.ts'
import { fixedViews, orbited, type Eye, type FixedView } from './figure/eye.ts'
import { ghostOf, swingsWithPoints } from './ghost.ts'
import { loadSwing, type Asked } from './load.ts'
import { createPoseErrors } from './poseErrors.ts'
import { roomFor, sameAsked, sameFit } from './standing.ts'

/** One place of the elbow on its arc, and where it puts the club's end. */
export interface ArcPlace {
  readonly swivel: number
  readonly elbow: Vec3
  readonly end: Vec3
  readonly reachable: boolean
}

/** What moves while the hand moves: kept out of React, told once an animation frame. */
export interface Shown {
  /** As wanted. */
  readonly wanted: ForwardResult
  /** What the figure stands in: between now (0) and wanted (1). */
  readonly pose: ForwardResult
  readonly blend: number
}

const standardStature = 1.8
/** Milliseconds between two readings out of numbers while they change. */
const wordsEvery = 100

/** The room outside React: the body that stands in it, where its elbow is wanted, and what follows from it. */
export class ArmsRoom {
  readonly desk: Bridge
  readonly state: StoreApi<ArmsState> = createArmsState()
  readonly face: StoreApi<FaceInput> = createFaceState()
  /** What the coach says of face and path: kept with the swing, undone and done again. */
  readonly faceKept: FaceKept
  readonly #listeners = new Set<() => void>()
  readonly #readers = new Set<() => void>()
  #toldAt = -Infinity
  #isTelling = false
  shown: Shown | null = null
  arc: readonly ArcPlace[] = []
  eye: Eye = { ...fixedViews['down-the-line'], distance: 5.4, middle: [0, 1.15, 0] }
  #students: readonly Student[] = []
  #asked: Asked | null = null
  #serial = 0
  #isDue = false
  #wantedSwivel = 0
  #blend = 1
  #isStale = false

  constructor(desk: Bridge) {
    this.desk = desk
    this.faceKept = new FaceKept(desk, this.face)
  }

  know(students: readonly Student[]): void {
    this.#students = students
  }

  /** Called after each animation frame in which the pose, the eye or the ghost changed, and once now. */
  onShown(listener: () => void): () => void {
    this.#listeners.add(listener)
    listener()
    return () => void this.#listeners.delete(listener)
  }
  /** As `onShown`, for words and sliders: not with every frame while the hand moves, for laying out text costs more than a figure; always after the last. */
  onTold(listener: () => void): () => void {
    this.#readers.add(listener)
    listener()
    return () => void this.#readers.delete(listener)
  }
  /** Has everything that follows the pose drawn anew, at most once a frame. */
  touch(): void {
    if (this.#isDue) return
    this.#isDue = true
    requestAnimationFrame(() => {
      this.#isDue = false
      this.settle()
      for (const listener of this.#listeners) listener()
      if (this.#isTelling) return
      this.#isTelling = true
      setTimeout(() => this.#tell(), Math.max(0, this.#toldAt + wordsEvery - performance.now()))
    })
  }
  #tell(): void {
    this.#isTelling = false
    this.#toldAt = performance.now()
    for (const reader of this.#readers) reader()
  }

  /** The pose as the hand has left it, without waiting for the next frame. */
  settle(): void {
    if (this.#isStale) this.#pose()
  }

  // What stands in the room.
  get asked(): Asked | null {
    return this.#asked
  }
  /** Reads a swing from the desk and fits the body to it; without one, or without points, the standard body stands there. */
  async open(asked: Asked | null): Promise<void> {
    const serial = ++this.#serial
    const isSame = this.state.getState().now !== null && sameAsked(asked, this.#asked)
    this.#asked = asked
    void this.faceKept.open(asked?.clipIds ?? [])
    if (isSame) this.state.setState({ fault: null })
    else this.#empty(asked ? 'Fetching the swing and its points' : null)
    try {
      await onDisk()
      const loaded = asked ? await loadSwing(this.desk, asked, this.#students) : null
      if (serial !== this.#serial) return
      const { loaded: before } = this.state.getState()
      if (isSame && before && loaded && sameFit(before, loaded)) {
        this.state.setState({ loaded, loading: null })
        return
      }
      const input = loaded?.fit?.input ?? standardArms(loaded?.statureM ?? standardStature)
      const model = createArms(input)
      if (isArmsRefusal(model)) throw new Error(model.why)
      const now = forward(model, model.swivelDeg)
      if (isArmsRefusal(now)) throw new Error(now.why)
      this.#wantedSwivel = model.swivelDeg
      this.#blend = 1
      this.shown = { wanted: now, pose: now, blend: 1 }
      this.eye = { ...this.eye, ...roomFor(now) }
      this.state.setState({ loaded, loading: null, model, now, spread: null, sweep: null, errors: null, found: null, ...(isSame ? {} : { ghost: null, ghostSaid: null, others: null }) })
      this.touch()
      void this.#workOut(serial, model)
    } catch (error) {
      if (serial === this.#serial) this.state.setState({ loading: null, fault: faultOf(error) })
    }
  }

  /** Empties the room for a swing that the Bench is still fetching. */
  await(): void {
    this.#serial++
    this.#asked = null
    this.#empty('Waiting for the Bench to open the swing')
  }
  /** Nothing stands in the room while another swing is fetched: what is moved there is always what is shown. */
  #empty(loading: string | null): void {
    this.shown = null
    this.arc = []
    this.#isStale = false
    this.state.setState({ loading, fault: null, loaded: null, model: null, now: null, spread: null, sweep: null, errors: null, wish: usualWish, found: null, ghost: null, ghostSaid: null, others: null })
    this.touch()
  }

  /** What takes longer than a frame, piece by piece so that the room can be used meanwhile: the arc, errors by sampling, the sweep. */
  async #workOut(serial: number, model: ArmsModel): Promise<void> {
    const isGone = async (): Promise<boolean> => {
      await new Promise((done) => setTimeout(done))
      return serial !== this.#serial
    }
    if (await isGone()) return
    const bare = sweep(model)
    this.state.setState({ sweep: bare })
    if (!bare) return
    const arc: ArcPlace[] = []
    for (const [i, row] of bare.rows.entries()) {
      if (i % 12 === 11 && (await isGone())) return
      const pose = forward(model, row.swivelDeg)
      if (!isArmsRefusal(pose)) arc.push({ swivel: row.swivelDeg, elbow: pose.trail.elbow, end: pose.club.end, reachable: row.reachable })
    }
    this.arc = arc
    this.touch()
    if (await isGone()) return
    const { loaded } = this.state.getState()
    const spread = spreadOf(model, loaded?.fit ? { draw: loaded.fit.draw } : {})
    if (await isGone()) return
    this.state.setState({ spread, sweep: sweep(model, { spread }) })
    this.#isStale = true
    this.touch()
    this.#search()
    if (await isGone()) return
    const fit = loaded?.fit ?? null
    if (fit) this.state.setState({ errors: createPoseErrors(fit) })
    this.touch()
  }

  // The elbow and the shaft.
  get wantedSwivel(): number {
    return this.#wantedSwivel
  }
  get blend(): number {
    return this.#blend
  }
  /** Puts the trail elbow at a swivel, or as near to it as it goes; the shaft follows. */
  setSwivel(degrees: number): void {
    if (!this.shown) return
    const { sweep: swept } = this.state.getState()
    const [low, high] = swept ? [swept.rows[0]!.swivelDeg, swept.rows.at(-1)!.swivelDeg] : [-170, 170]
    this.#wantedSwivel = Math.min(high, Math.max(low, degrees))
    this.#blend = 1
    this.#isStale = true
    this.touch()
  }
  moveSwivel(by: number): void {
    this.setSwivel(this.#wantedSwivel + by)
  }
  /** Puts the shaft at an azimuth where it stops; the elbow follows, as far as one does it. */
  setAzimuth(degrees: number): void {
    const { model } = this.state.getState()
    if (!model) return
    const found = inverse(model, { azimuthDeg: degrees })
    const pose = found.found ? found.pose : found.nearest
    if (pose) this.setSwivel(pose.readings.swivelDeg)
  }
  moveAzimuth(by: number): void {
    if (this.shown) this.setAzimuth(this.shown.wanted.readings.azimuthDeg + by)
  }
  /** From now (0) to wanted (1). */
  setBlend(share: number): void {
    if (!this.shown) return
    this.#blend = Math.min(1, Math.max(0, share))
    this.#isStale = true
    this.touch()
  }
  /** The wanted elbow back to where it is now. */
  backToNow(): void {
    const { model } = this.state.getState()
    if (model) this.setSwivel(model.swivelDeg)
  }

  /** The body with its elbow at a swivel, or as near to it as it goes. */
  poseAt(swivel: number): ForwardResult | null {
    const { model, spread } = this.state.getState()
    if (!model) return null
    const pose = forward(model, swivel, spread)
    if (!isArmsRefusal(pose)) return pose
    const nearest = pose.nearest?.swivelDeg
    const there = nearest === undefined ? pose : forward(model, nearest, spread)
    return isArmsRefusal(there) ? null : there
  }

  #pose(): void {
    this.#isStale = false
    const { model } = this.state.getState()
    if (!model || !this.shown) return
    const wanted = this.poseAt(this.#wantedSwivel)
    if (!wanted) return
    this.#wantedSwivel = wanted.readings.swivelDeg
    const between = this.#blend === 1 ? wanted : this.poseAt(model.swivelDeg + this.#blend * (this.#wantedSwivel - model.swivelDeg))
    this.shown = { wanted, pose: between ?? wanted, blend: this.#blend }
  }

  // The wish.
  setWish(wish: Wish): void {
    this.state.setState({ wish })
    this.#search()
  }
  #search(): void {
    const { model, wish, spread, loaded } = this.state.getState()
    if (!model) return
    const fitted = loaded?.fit?.sigma
    // How the shaft of a sketch stands is hardly known, and with it the elbow that would make it point somewhere.
    const sigma = !fitted ? sketchSigmaDeg : wish.atLevel ? fitted.azimuthAtLevelDeg : fitted.azimuthDeg
    const found = inverse(model, { ...(wish.atLevel ? { azimuthAtLevelDeg: wish.deg } : { azimuthDeg: wish.deg }), ...(sigma ? { sigmaDeg: sigma } : {}) }, spread)
    this.state.setState({ found })
  }
  /** Puts the elbow where the wish wants it, or as near as it goes. */
  fulfil(): void {
    const { found } = this.state.getState()
    const pose = found ? (found.found ? found.pose : found.nearest) : null
    if (pose) this.setSwivel(pose.readings.swivelDeg)
  }

  // The eye.
  look(view: FixedView): void {
    this.eye = { ...this.eye, ...fixedViews[view] }
    this.state.setState({ view })
    this.touch()
  }
  setEye(eye: Eye): void {
    if (eye.turn !== this.eye.turn || eye.rise !== this.eye.rise) this.state.setState({ view: 'free' })
    this.eye = eye
    this.touch()
  }

  turn(dx: number, dy: number): void {
    this.setEye(orbited(this.eye, dx, dy, this.state.getState().loaded?.handedness === 'left'))
  }

  // The ghost.
  async findOthers(): Promise<void> {
    const asked = this.#asked
    if (this.state.getState().others) return
    const others = await swingsWithPoints(this.desk, this.#students, asked?.clipIds ?? []).catch(() => [])
    // Another swing has come in meanwhile, for which it is asked again.
    if (!sameAsked(asked, this.#asked)) return this.findOthers()
    this.state.setState({ others })
  }
  async setGhost(swingId: string | null): Promise<void> {
    const serial = this.#serial
    this.state.setState({ ghost: null, ghostSaid: swingId === null ? null : 'Fitting the reference' })
    this.touch()
    const { now } = this.state.getState()
    if (swingId === null || !now) return
    try {
      const [swing] = await this.desk.call('swing.some', { ids: [swingId] })
      if (serial !== this.#serial) return
      if (!swing) throw new Error('This swing is not in the library any more.')
      const loaded = await loadSwing(this.desk, { swing, clipIds: [swing.leftClipId, swing.rightClipId].filter((id) => id !== null) }, this.#students)
      if (serial !== this.#serial) return
      const ghost = loaded.fit ? ghostOf(swing.id, loaded.title, loaded.fit.pose, now) : null
      this.state.setState({ ghost, ghostSaid: ghost ? null : `This swing\u2019s arms cannot be fitted: ${loaded.lacking.join(' ')}` })
    } catch (error) {
      this.state.setState({ ghostSaid: faultOf(error).message })
    }
    this.touch()
  }
}
