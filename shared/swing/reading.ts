import { pointNames, type PointName, type PointsFile, type PositionName, type ViewName } from '../contract/pointsFile.ts'
import { depthOf, meetPlane, type Camera } from '../camera/projection.ts'
import { propagateThrough } from '../camera/solve/cameraErrors.ts'
import { meetingFault } from '../camera/solve/refuse.ts'
import { usualPitchSigma } from '../camera/level.ts'
import type { Scale } from '../camera/scale.ts'
import { meetSightlines, type Meeting } from '../camera/triangulation.ts'
import type { Vec3 } from '../geometry/vec.ts'
import { add, exact, linear, measured, moving, scaled, times as product, withParts, type Sources, type Uncertain } from '../signal/uncertain.ts'
import { bodyPlane, changesBy, usualDepth, type DepthName } from './bodyDepth.ts'
import { placeAt, sampleTrack, type Sample } from './track.ts'
import type { SolvedViews } from './solved.ts'
import type { TieCheck } from './tieCheck.ts'
import { otherInstant, repeatabilityM } from './twoSwings.ts'
import { pitchSource, usualFocal, type SwingView } from './viewOf.ts'

/** Why something cannot be had, in words for the coach. */
export interface Missing {
  readonly why: string
}
export const missing = (why: string): Missing => ({ why })
export const isMissing = (value: unknown): value is Missing => typeof value === 'object' && value !== null && 'why' in value

export interface Position {
  readonly t: Uncertain
  /** 'given' by the coach, or how it was found. */
  readonly basis: string
}
export type Positions = Partial<Record<PositionName, Position>>

/** One swing, a right-hander's, with all that is needed to read it. */
export interface Swing {
  readonly file: PointsFile
  readonly sources: Sources
  readonly views: readonly SwingView[]
  /** Each view's positions, on the swing's clock where there is one clock, else on the view's own. */
  readonly positions: ReadonlyMap<ViewName, Positions>
  readonly scales: ReadonlyMap<ViewName, Scale | null>
  /** What the positions of both views say of their clocks; null, or left out, where they say nothing. */
  readonly tie?: TieCheck | null
  /** Cameras that the marks themselves gave, where the file gives none. */
  readonly solved: SolvedViews
  /** What was read at an instant already. */
  readonly read: WeakMap<Uncertain, Map<string, unknown>>
}

/** Reads once for each instant (the object, not its value) and key. */
export function once<T>(swing: Swing, t: Uncertain, key: string, read: () => T): T {
  let readings = swing.read.get(t)
  if (!readings) swing.read.set(t, (readings = new Map()))
  if (!readings.has(key)) readings.set(key, read())
  return readings.get(key) as T
}

/** A point of a view's levelled plane: `u` toward the target (face-on) or the ball (down the line), `v` up. */
export interface PlanePoint {
  readonly u: Uncertain
  readonly v: Uncertain
}
/** A point of the world, metres. */
export interface SpacePoint {
  readonly x: Uncertain
  readonly y: Uncertain
  readonly z: Uncertain
}

/**
 * 'shape' reads angles and ratios: one plane for all points, no scale needed, the unit is free.
 * 'size' reads lengths in metres: each point at its own depth.
 */
export type Purpose = 'shape' | 'size'

const titles = new Map(pointNames.map((point) => [point, point.replace(/([A-Z])/g, ' $1').toLowerCase()]))
const words = (point: PointName): string => titles.get(point)!

/** An instant of the swing's clock, told by a view's own. */
export const onClock = (swing: Swing, view: SwingView, t: Uncertain): Uncertain => once(swing, t, `clock ${view.name}`, () => add(t, view.clock))

/**
 * A point in the picture at an instant of the swing's clock, with every error of its placement and its time. How late
 * a rolling shutter exposed it is known only up to the side from which the sensor is read, which a phone does not
 * tell: both ways of both sides are equally likely.
 */
export function pictureAt(swing: Swing, view: SwingView, point: PointName, t: Uncertain): Sample | Missing {
  return once(swing, t, `picture ${view.name} ${point}`, () => readPicture(swing, view, point, t))
}

function readPicture(swing: Swing, view: SwingView, point: PointName, t: Uncertain): Sample | Missing {
  const track = view.tracks.get(point)
  if (!track) return missing(`${words(point)} is not digitised in the ${view.name} view`)
  // What lies between frames is off the same way however often it is read at one instant: an instant found by it knows it.
  let count = 0
  const sample = sampleTrack(track, onClock(swing, view, t), () => swing.sources.of(`between ${view.name} ${point} ${t.value} ${count++}`))
  if (!sample) return missing(`${words(point)} is not digitised near ${t.value.toFixed(3)} s in the ${view.name} view`)
  if (view.readoutS === 0 || !sample.rate) return sample
  const late = (share: number) => (view.readoutS * share) / Math.SQRT2
  const sideways = measured(0, late(sample.x.value / view.width - 0.5), swing.sources.of(`readout across ${view.name}`))
  const downward = measured(0, late(sample.y.value / view.height - 0.5), swing.sources.of(`readout along ${view.name}`))
  const moved = (u: Uncertain, rate: number) => linear(u.value, [u, sideways, downward], [1, rate, rate])
  return { ...sample, x: moved(sample.x, sample.rate[0]), y: moved(sample.y, sample.rate[1]) }
}

const other = (swing: Swing, view: SwingView): SwingView | undefined => swing.views.find((v) => v !== view)

/** Whether the views show one swing, each through a camera that is known. */
export const hasSpace = (swing: Swing): boolean => !swing.solved.refused && swing.file.sameSwing && swing.views.length === 2 && swing.views.every((v) => v.camera)

export interface Sightlines {
  readonly inputs: readonly Uncertain[]
  readonly meet: (cameras: readonly Camera[], p: ArrayLike<number>) => Meeting
}

/** A picture point with its error as large as both views' points show that it is. */
function widened(swing: Swing, seen: Sample | Missing): Sample | Missing {
  const k = swing.solved.widened
  const wider = (u: Uncertain): Uncertain => moving(u.value, u, k)
  return k === 1 || isMissing(seen) ? seen : { ...seen, x: wider(seen.x), y: wider(seen.y) }
}

/** A view's picture of a point at an instant of the first view's. Of two swings the second is read at the same position. */
function swingPicture(swing: Swing, view: SwingView, point: PointName, t: Uncertain): Sample | Missing {
  if (swing.file.sameSwing) return widened(swing, pictureAt(swing, view, point, t))
  const there = view === swing.views[0] ? t : otherInstant(swing, t)
  if (!there) return missing('the two swings share no position')
  return widened(swing, pictureAt(swing, view, point, there))
}

/** A picture of a point of one of two swings: it is off the student's usual swing by what the student repeats, which shows the larger the nearer it stands. */
function usualPicture(swing: Swing, view: SwingView, point: PointName, seen: Sample, place: Vec3): Sample {
  if (swing.file.sameSwing) return seen
  const px = (repeatabilityM(swing) * view.camera!.focalPx) / depthOf(view.camera!, place)
  const repeats = (u: Uncertain, axis: string): Uncertain => add(u, measured(0, px, swing.sources.of(`repeats ${view.name} ${point} ${axis}`)))
  return { ...seen, x: repeats(seen.x, 'x'), y: repeats(seen.y, 'y') }
}

/** What is read through both cameras, with their own errors where they were solved. */
const throughCameras = (swing: Swing, f: (cameras: readonly Camera[], p: ArrayLike<number>) => readonly number[], inputs: readonly Uncertain[]): Uncertain[] =>
  propagateThrough(f, swing.views.map((v) => v.camera!), swing.solved.errors, inputs)

/** The two sightlines to a point as functions of its two places in the pictures, or why they do not fix it. */
export function sightlinesAt(swing: Swing, point: PointName, t: Uncertain): Sightlines | Missing {
  const why = spaceMissing(swing)
  if (why) return why
  const [one, two] = swing.views as [SwingView, SwingView]
  const a = swingPicture(swing, one, point, t)
  if (isMissing(a)) return a
  const b = swingPicture(swing, two, point, t)
  if (isMissing(b)) return b
  const first = meetSightlines(one.camera!, [a.x.value, a.y.value], two.camera!, [b.x.value, b.y.value])
  const fault = meetingFault(words(point), one.camera!, [a.x.value, a.y.value], two.camera!, [b.x.value, b.y.value], [one.name, two.name])
  if (!first || fault) return missing(fault ?? 'the two sightlines do not meet')
  const [seenOne, seenTwo] = [usualPicture(swing, one, point, a, first.point), usualPicture(swing, two, point, b, first.point)]
  return { inputs: [seenOne.x, seenOne.y, seenTwo.x, seenTwo.y], meet: (cameras, p) => meetSightlines(cameras[0]!, [p[0]!, p[1]!], cameras[1]!, [p[2]!, p[3]!]) ?? first }
}

/** The point in the world from both views, or why not. */
export function spaceAt(swing: Swing, point: PointName, t: Uncertain): SpacePoint | Missing {
  return once(swing, t, `space ${point}`, () => {
    const lines = sightlinesAt(swing, point, t)
    if (isMissing(lines)) return lines
    const [x, y, z] = throughCameras(swing, (cameras, p) => lines.meet(cameras, p).point, lines.inputs)
    return { x: x!, y: y!, z: z! }
  })
}

/** How far the two sightlines miss each other, metres, signed so that its error is centred on 0. */
export function gapAt(swing: Swing, point: PointName, t: Uncertain): Uncertain | Missing {
  const lines = sightlinesAt(swing, point, t)
  return isMissing(lines) ? lines : throughCameras(swing, (cameras, p) => [lines.meet(cameras, p).gap], lines.inputs)[0]!
}

/** The point in the world without its error: for searches. */
export function placeInSpace(swing: Swing, point: PointName, t: number): Vec3 | null {
  const [one, two] = swing.views
  const tracks = [one?.tracks.get(point), two?.tracks.get(point)]
  const a = tracks[0] && placeAt(tracks[0], t + one!.clock.value)
  const there = swing.file.sameSwing ? t : otherInstant(swing, exact(t))?.value
  const b = tracks[1] && there !== undefined && placeAt(tracks[1], there + two!.clock.value)
  return a && b && one!.camera && two!.camera ? (meetSightlines(one!.camera, a, two!.camera, b)?.point ?? null) : null
}

export function spaceMissing(swing: Swing): Missing | null {
  if (swing.views.length < 2) return missing(`needs both views, and the file holds the ${swing.views[0]!.name} view alone`)
  if (swing.solved.refused) return missing(swing.solved.refused)
  const without = swing.views.filter((v) => !v.camera)
  if (without.length) return missing(swing.solved.why ?? `needs the camera of both views, and the ${without.map((v) => v.name).join(' and ')} view has no camera matrix`)
  return null
}

const along = (view: SwingView): Vec3 => (view.name === 'face-on' ? [0, 0, 1] : [1, 0, 0])

/**
 * How deep the point stands along the view's line of sight, metres in the world: from both views, else as bodies usually
 * stand at address and move from there: the first error stays through the swing, the second comes with the position.
 * @param as the landmark that the point is read for: where two points stand for their middle, the middle's depth is better known than theirs
 */
function depthAt(swing: Swing, view: SwingView, point: PointName, t: Uncertain, as: DepthName): Uncertain {
  const second = other(swing, view)
  if (second && hasSpace(swing)) {
    const p = spaceAt(swing, point, t)
    if (!isMissing(p)) return view.name === 'face-on' ? p.z : p.x
  }
  const own = usualDepth(view.name, point)
  const middle = usualDepth(view.name, as)
  const parts = new Map<number, number>()
  // Of a pair one stands as much nearer than their middle as the other farther.
  const side = point.startsWith('lead') ? 1 : -1
  const put = (key: string, share: number, whole: number, common: number): void => {
    parts.set(swing.sources.of(`depth ${view.name} ${as}${key}`), share * common)
    if (as !== point) parts.set(swing.sources.of(`depth ${view.name} half ${as}${key}`), side * share * Math.sqrt(Math.max(0, whole * whole - common * common)))
  }
  put('', 1, own.sigma, middle.sigma)
  let value = own.at
  for (const { of, source, share } of changesBy(timesOf(swing, view), t.value)) {
    value += share * own.change[of]
    put(` ${source}`, share, own.changeSigma[of], middle.changeSigma[of])
  }
  return withParts(value, parts)
}

const timesOf = (swing: Swing, view: SwingView): Partial<Record<PositionName, number>> =>
  Object.fromEntries(Object.entries(swing.positions.get(view.name) ?? {}).map(([name, p]) => [name, p.t.value]))

function throughCamera(swing: Swing, camera: Camera, view: SwingView, sample: Sample, depth: Uncertain): PlanePoint | Missing {
  const normal = along(view)
  const across = view.name === 'face-on' ? 0 : 2
  const at = (through: Camera, p: ArrayLike<number>) => meetPlane(through, [p[0]!, p[1]!], normal, p[2]!)
  const middle = at(camera, [sample.x.value, sample.y.value, depth.value])
  if (!middle) return missing(`the ${view.name} camera does not look at the plane it should measure on`)
  const index = swing.views.indexOf(view)
  const [u, v] = propagateThrough((cameras, p) => {
    const q = at(cameras[index]!, p) ?? middle
    return [q[across], q[1]]
  }, swing.views.map((each) => each.camera ?? camera), swing.solved.errors, [sample.x, sample.y, depth])
  return { u: u!, v: v! }
}

/** The point on the view's plane at an instant: metres through a camera or by the scale, else pixels (for shapes only). */
export function planeAt(swing: Swing, view: SwingView, point: PointName, t: Uncertain, purpose: Purpose, as: DepthName = point): PlanePoint | Missing {
  return once(swing, t, `plane ${view.name} ${point} ${purpose} ${as}`, () => readPlane(swing, view, point, t, purpose, as))
}

function readPlane(swing: Swing, view: SwingView, point: PointName, t: Uncertain, purpose: Purpose, as: DepthName): PlanePoint | Missing {
  const sample = pictureAt(swing, view, point, t)
  if (isMissing(sample)) return sample
  if (view.camera) {
    const depth = purpose === 'shape' ? exact(bodyPlane(view.name)) : depthAt(swing, view, point, t, as)
    return throughCamera(swing, view.camera, view, sample, depth)
  }
  const turned = levelledAt(swing, view, sample)
  if (purpose === 'shape') return turned
  const scale = swing.scales.get(view.name)
  if (!scale)
    return missing(`the ${view.name} view has no scale: it needs a camera matrix, the ball's diameter, the club's length with its butt and head, or the stature with head and ankles at address`)
  return offPlane(swing, view, turned, scale, depthAt(swing, view, point, t, as))
}

/** How far an unmarked camera's axis is usually off square to its plane, radians: common practice, no source. */
export const usualYawSigma = (3.5 * Math.PI) / 180
const yawOf = (swing: Swing, view: SwingView): Uncertain => measured(0, usualYawSigma, swing.sources.of(`yaw ${view.name}`))
const pitchOf = (swing: Swing, view: SwingView): Uncertain => measured(0, usualPitchSigma, pitchSource(view.name, swing.sources))

/**
 * A picture point turned level about the picture's middle, pixels. A camera whose axis is off square to the plane by a
 * yaw and a pitch that are not known shows the plane in perspective: a point x, y from the middle stands at
 * x + yaw (f + x x / f) + pitch x y / f, and likewise up, to first order (Hartley & Zisserman, a turn's homography; from
 * memory). What all points share, f times either, is left out: it is gone wherever two of them are compared.
 */
function levelledAt(swing: Swing, view: SwingView, sample: Sample): PlanePoint {
  // Up leans right by the roll: turn the picture back, about its middle.
  const x = sample.x.value - view.width / 2
  const y = sample.y.value - view.height / 2
  const c = Math.cos(view.level.value)
  const s = Math.sin(view.level.value)
  const u = c * x + s * y
  const v = s * x - c * y
  const f = usualFocal(view)
  const inputs = [sample.x, sample.y, view.level, yawOf(swing, view), pitchOf(swing, view)]
  return { u: linear(u, inputs, [c, s, -v, (u * u) / f, (u * v) / f]), v: linear(v, inputs, [s, -c, u, (u * v) / f, (v * v) / f]) }
}

/**
 * How far a point's way leaves the straight line `late` seconds from t, on the plane that shapes are read on: what its
 * rate at t does not tell.
 */
export function bowAt(swing: Swing, view: SwingView, point: PointName, t: Uncertain, late: number): readonly [u: number, v: number] {
  const sample = pictureAt(swing, view, point, t)
  if (isMissing(sample) || !sample.bend) return [0, 0]
  const half = (late * late) / 2
  const [x, y] = [half * sample.bend[0], half * sample.bend[1]]
  if (!view.camera) {
    const c = Math.cos(view.level.value)
    const s = Math.sin(view.level.value)
    return [c * x + s * y, s * x - c * y]
  }
  const at = (dx: number, dy: number) => meetPlane(view.camera!, [sample.x.value + dx, sample.y.value + dy], along(view), bodyPlane(view.name))
  const [from, to] = [at(0, 0), at(x, y)]
  return from && to ? [view.name === 'face-on' ? to[0] - from[0] : to[2] - from[2], to[1] - from[1]] : [0, 0]
}

/**
 * A levelled picture point in metres by a scale that holds on the body's plane. What stands nearer looks larger by
 * depth over distance, and where the camera is not square to the plane, depth shows as sideways and upward.
 */
function offPlane(swing: Swing, view: SwingView, p: PlanePoint, scale: Scale, depth: Uncertain): PlanePoint {
  const k = measured(scale.metresPerPx, scale.sigma, swing.sources.of(`scale ${view.name}`))
  const distance = usualFocal(view) * scale.metresPerPx
  const off = depth.value - bodyPlane(view.name)
  const nearer = view.name === 'face-on' ? 1 : -1
  const shrink = 1 - (nearer * off) / distance
  const yaw = yawOf(swing, view)
  const pitch = pitchOf(swing, view)
  const at = (px: Uncertain, tilt: Uncertain, tiltSigma: number): Uncertain => {
    const u = product(px, k)
    // Depth's own error times a tilt of either sign: its size, as an error apart from that of the magnification.
    const { sources, shares } = depth.parts
    const slant: Uncertain = { value: 0, parts: { sources: sources.map((source) => swing.sources.of(`slant ${tilt === yaw ? 'u' : 'v'} ${source}`)), shares: shares.map((share) => share * tiltSigma) } }
    return linear(shrink * u.value, [u, depth, tilt, slant], [shrink, (-nearer * u.value) / distance, -nearer * off, 1])
  }
  return { u: at(p.u, yaw, usualYawSigma), v: at(p.v, pitch, usualPitchSigma) }
}

/** Midway between two points of a plane. */
export const midway = (a: PlanePoint, b: PlanePoint): PlanePoint => ({ u: scaled(add(a.u, b.u), 0.5), v: scaled(add(a.v, b.v), 0.5) })
