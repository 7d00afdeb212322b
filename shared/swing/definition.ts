import type { PointName, PositionName, ViewName } from '../contract/pointsFile.ts'
import { covariance, covariances, exact, isExact, propagate, sigmaOf, withError, type Uncertain } from '../signal/uncertain.ts'
import { bowAt, isMissing, midway, missing, onClock, once, planeAt, type Missing, type PlanePoint, type Position, type Purpose, type Swing } from './reading.ts'
import { shaftPoints } from './shaft.ts'
import type { SwingView } from './viewOf.ts'

export type Unit = 'deg' | 'mm' | 's' | 'ratio' | 'share' | 'deg/s'
export type At = PositionName | 'swing'

/** What a measure comes to: a number with where its error comes from, or one with an interval of its own. */
export interface Outcome {
  readonly value: Uncertain
  /** The 68 % interval where it is not value -+ sigma. */
  readonly interval?: readonly [lo: number, hi: number]
  readonly basis: string
}

/** What the documentation and the coach are told. */
export interface MeasureText {
  /** Kebab-case; never changes once shipped. */
  readonly id: string
  readonly unit: Unit
  /** The plane it is read in. */
  readonly plane: string
  /** Which way is positive. */
  readonly sign: string
  readonly definition: string
  readonly formula: string
}

export interface Measure extends MeasureText {
  /** The views that can give it, each on its own; 'both' where it takes both together; 'swing' where views do not matter. */
  readonly views: readonly ViewName[] | 'both' | 'swing'
  readonly at: readonly At[]
  readonly read: (swing: Swing, view: SwingView, at: At) => Outcome | Missing
  /** Where the measure is a function of points of one plane: that function, bare. */
  readonly planar?: Planar
}

/** A point that a planar measure may ask for; the shaft's ends stand for whichever points show it. */
export type Landmark = PointName | 'shaftTail' | 'shaftTip' | 'midShoulders' | 'midHips'
export type Input = readonly [point: Landmark, at: 'here' | PositionName]
export type Plain = readonly [u: number, v: number]

export interface Planar extends MeasureText {
  readonly views: readonly ViewName[]
  readonly at: readonly PositionName[]
  readonly purpose: Purpose
  readonly inputs: readonly Input[]
  /** The measure itself, in its unit; lengths come in as metres. */
  readonly value: (points: readonly Plain[], at: PositionName) => number | Missing
}

export function positionAt(swing: Swing, view: ViewName, at: PositionName): Position | Missing {
  return swing.positions.get(view)?.[at] ?? missing(`the position ${at} is not known`)
}

const stands: Partial<Record<Landmark, readonly [PointName, PointName]>> = {
  midShoulders: ['leadShoulder', 'trailShoulder'],
  midHips: ['leadHip', 'trailHip'],
  spineTop: ['leadShoulder', 'trailShoulder'],
  spineBase: ['leadHip', 'trailHip'],
}

/** A landmark's place; the spine's ends fall back on midway between the shoulders and between the hips. */
export function landmarkAt(swing: Swing, view: SwingView, landmark: Landmark, t: Uncertain, purpose: Purpose): PlanePoint | Missing {
  if (landmark === 'shaftTail' || landmark === 'shaftTip') {
    const shaft = shaftPoints([view])
    if (!shaft) return missing(`the club is not digitised in the ${view.name} view`)
    return planeAt(swing, view, landmark === 'shaftTail' ? shaft.tail : shaft.tip, t, purpose)
  }
  const pair = stands[landmark]
  if (pair && !view.tracks.has(landmark as PointName)) {
    const as = pair[0] === 'leadHip' ? 'midHips' : 'midShoulders'
    const a = planeAt(swing, view, pair[0], t, purpose, as)
    if (isMissing(a)) return a
    const b = planeAt(swing, view, pair[1], t, purpose, as)
    return isMissing(b) ? b : midway(a, b)
  }
  return planeAt(swing, view, landmark as PointName, t, purpose)
}

/** The points that a landmark is read from. */
function pointsOf(view: SwingView, landmark: Landmark): readonly PointName[] {
  if (landmark === 'shaftTail' || landmark === 'shaftTip') {
    const shaft = shaftPoints([view])
    return shaft ? [landmark === 'shaftTail' ? shaft.tail : shaft.tip] : []
  }
  return view.tracks.has(landmark as PointName) ? [landmark as PointName] : (stands[landmark] ?? [])
}

/** An angle with a larger error than this is a direction in name only, degrees. */
export const directionless = 20

/** Difference of two values of a quantity that repeats every `period`. */
const around = (value: number, middle: number, period: number): number =>
  period === Infinity ? value : value - period * Math.round((value - middle) / period)

/** A reading whose straight-line error picture is off by more than this share of the error is none. */
const bendLimit = 0.35
/** Below this share the interval is value -+ sigma, above it has the sides that the reading itself has. */
const straight = 0.02

/**
 * A reading where all its inputs have moved one standard deviation, down and up, the way that moves it most: what the
 * straight-line picture of errors takes for value -+ sigma. Points go with their instant along their own curved ways.
 */
function curvedSides(m: Planar, swing: Swing, view: SwingView, at: PositionName, inputs: readonly Uncertain[], value: Uncertain, f: (values: Float64Array) => number): readonly [number, number] {
  const sigma = sigmaOf(value)
  const shift = covariances(inputs, value).map((shared) => shared / sigma)
  const instants = m.inputs.map(([, when]) => swing.positions.get(view.name)![when === 'here' ? at : when]!.t)
  const clocks = instants.map((t) => onClock(swing, view, t))
  const late = covariances(clocks, value).map((shared) => shared / sigma)
  const side = (k: 1 | -1): number => {
    const moved = Float64Array.from(inputs, (input, i) => input.value + k * shift[i]!)
    m.inputs.forEach(([point], i) => {
      if (isExact(clocks[i]!)) return
      const bows = pointsOf(view, point).map((one) => bowAt(swing, view, one, instants[i]!, late[i]!))
      for (const [u, v] of bows) {
        moved[2 * i] = moved[2 * i]! + u / bows.length
        moved[2 * i + 1] = moved[2 * i + 1]! + v / bows.length
      }
    })
    return f(moved)
  }
  return [side(-1), side(1)]
}

/**
 * Whether the shaft, seen nearly end-on, turns in the picture within two standard deviations of the instant by something
 * that neither its rate nor the whole error shows.
 */
function swings(m: Planar, swing: Swing, view: SwingView, at: PositionName, value: Uncertain): boolean {
  const here = swing.positions.get(view.name)?.[at]
  if (!here || !m.inputs.some(([point, when]) => point === 'shaftTip' && when === 'here')) return false
  const late = 2 * sigmaOf(here.t)
  if (late === 0) return false
  const rate = covariance(value, here.t) / sigmaOf(here.t)
  for (const side of [-1, 1]) {
    const points: Plain[] = []
    // One instant for all measures, so that what is read at it is read once.
    const beside = once(swing, here.t, `beside ${side}`, () => exact(here.t.value + side * late))
    for (const [point, when] of m.inputs) {
      const t = when === 'here' ? beside : swing.positions.get(view.name)![when]!.t
      const p = landmarkAt(swing, view, point, t, m.purpose)
      if (isMissing(p)) return false
      points.push([p.u.value, p.v.value])
    }
    const there = m.value(points, at)
    if (isMissing(there)) return true
    if (Math.abs(around(there, value.value, 180) - value.value - side * 2 * rate) > Math.max(sigmaOf(value), 3)) return true
  }
  return false
}

/** Turns a planar measure into one that reads a swing. */
export function planar(m: Planar): Measure {
  return {
    id: m.id, unit: m.unit, plane: m.plane, sign: m.sign, definition: m.definition, formula: m.formula, views: m.views, at: m.at,
    planar: m,
    read: (swing, view, at) => {
      const position = at as PositionName
      const inputs: Uncertain[] = []
      const bases = new Set<string>()
      for (const [point, when] of m.inputs) {
        const p = positionAt(swing, view.name, when === 'here' ? position : when)
        if (isMissing(p)) return p
        const place = landmarkAt(swing, view, point, p.t, m.purpose)
        if (isMissing(place)) return place
        inputs.push(place.u, place.v)
        bases.add(`${when === 'here' ? position : when} ${p.basis}`)
      }
      const plain = (values: ArrayLike<number>): Plain[] => m.inputs.map((_, i) => [values[2 * i]!, values[2 * i + 1]!])
      const middle = m.value(plain(inputs.map((input) => input.value)), position)
      if (isMissing(middle)) return middle
      const period = m.unit === 'deg' ? 180 : Infinity
      const [value] = propagate((values) => {
        const v = m.value(plain(values), position)
        const next = isMissing(v) ? middle : v
        return [around(next, middle, period)]
      }, inputs)
      const sigma = sigmaOf(value!)
      const [low, high] = sigma > 0 && m.unit !== 'mm' ? curvedSides(m, swing, view, position, inputs, value!, (values) => {
        const v = m.value(plain(values), position)
        return isMissing(v) ? Number.NaN : around(v, middle, period)
      }) : [middle - sigma, middle + sigma]
      const bent = sigma > 0 ? Math.abs(low + high - 2 * middle) / (2 * sigma) : 0
      if (!(bent <= bendLimit)) return missing(`what it reads changes too fast there for the error of its points and its instant (+-${sigma.toPrecision(2)} ${m.unit})`)
      if (m.unit === 'deg' && view.name === 'down-the-line' && swings(m, swing, view, position, value!))
        return missing('the shaft points along the line of sight there and swings across the picture faster than the instant is known')
      if (m.unit === 'deg' && sigma > directionless)
        return missing(`a line it needs is too short in the ${view.name} picture to have a direction: +-${sigma.toFixed(0)} degrees`)
      return {
        // What the bend itself adds to the deviation, to second order (GUM, JCGM 100:2008, clause 5.1.2, note).
        value: bent > straight ? withError(value!, Math.SQRT2 * bent * sigma, swing.sources.fresh()) : value!,
        ...(bent > straight && { interval: [Math.min(low, high, middle), Math.max(low, high, middle)] as const }),
        basis: `${m.inputs.map(([point]) => point).filter((p, i, all) => all.indexOf(p) === i).join(', ')}; ${calibration(swing, view, m.purpose)}; ${[...bases].join('; ')}`,
      }
    },
  }
}

/** Which calibration a view's readings rest on. */
export function calibration(swing: Swing, view: SwingView, purpose: Purpose): string {
  if (view.camera) return view.levelBasis
  return purpose === 'shape' ? view.levelBasis : `${view.levelBasis}; ${swing.scales.get(view.name)?.basis ?? 'no scale'}`
}

const degrees = 180 / Math.PI

/** The same angle within half a turn of `centre`, degrees. */
export const near = (angle: number, centre: number, turn = 360): number => angle - turn * Math.round((angle - centre) / turn)

/** Degrees of a line from straight down, growing away from the target (face-on) or from the ball (down the line). */
export const fromHanging = (from: Plain, to: Plain): number => Math.atan2(-(to[0] - from[0]), -(to[1] - from[1])) * degrees
/** Degrees of a line above the level, pointing toward +u at 0. */
export const aboveLevel = (from: Plain, to: Plain): number => Math.atan2(to[1] - from[1], to[0] - from[0]) * degrees
/** Degrees by which b is turned clockwise from a, as seen in the picture. */
export const turnedClockwise = (a: Plain, b: Plain): number => Math.atan2(a[1] * b[0] - a[0] * b[1], a[0] * b[0] + a[1] * b[1]) * degrees
export const minus = (a: Plain, b: Plain): Plain => [a[0] - b[0], a[1] - b[1]]
export const middleOf = (a: Plain, b: Plain): Plain => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]
export const millimetres = (metres: number): number => 1000 * metres
