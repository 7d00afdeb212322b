import type { PositionName } from '../../contract/pointsFile.ts'
import { dot3, scale3, sub3, unit3, type Vec3 } from '../../geometry/vec.ts'
import { linear, propagate, scaled, sigmaOf, subtract, withError, type Uncertain } from '../../signal/uncertain.ts'
import { directionless, positionAt, type Measure, type MeasureText, type Outcome } from '../definition.ts'
import { gapAt, isMissing, missing, once, placeInSpace, spaceAt, spaceMissing, type Missing, type Position, type SpacePoint, type Swing } from '../reading.ts'
import { shaftPoints, type ShaftPoints } from '../shaft.ts'
import { carryToLevel, slopeOf, turnAxis } from '../shaftAtLevel.ts'
import { isTwoSwings, twoSwingsBasis } from '../twoSwings.ts'
import { isAlong, readAlone, type AloneAngle } from './spaceAlone.ts'
import type { SwingView } from '../viewOf.ts'

const degrees = 180 / Math.PI
const world = 'world: X toward the target, Y up, Z from player to ball'
const coordinates = (p: SpacePoint): Uncertain[] => [p.x, p.y, p.z]

export function shaftOf(swing: Swing): ShaftPoints | Missing {
  return spaceMissing(swing) ?? shaftPoints(swing.views) ?? missing('the club is not digitised in both views')
}

/** Six numbers, tail then tip, at an instant. */
export function shaftAt(swing: Swing, shaft: ShaftPoints, t: Uncertain): Uncertain[] | Missing {
  const tail = spaceAt(swing, shaft.tail, t)
  if (isMissing(tail)) return tail
  const tip = spaceAt(swing, shaft.tip, t)
  return isMissing(tip) ? tip : [...coordinates(tail), ...coordinates(tip)]
}

const direction = (p: ArrayLike<number>, k = 0): Vec3 => [p[k + 3]! - p[k]!, p[k + 4]! - p[k + 1]!, p[k + 5]! - p[k + 2]!]

export const basisOf = (swing: Swing, shaft: ShaftPoints, what: string): string =>
  `${shaft.tail} to ${shaft.tip} triangulated from both views; ${swing.solved.basis}; ${tiedBy(swing)}; ${what}`

const tiedBy = (swing: Swing): string => (isTwoSwings(swing) ? twoSwingsBasis(swing) : `clocks within ${swing.file.syncSigmaS} s`)

/** An angle of the shaft at one position. */
function shaftAngle(text: MeasureText, at: readonly PositionName[], angle: (d: Vec3) => number, alone: AloneAngle): Measure {
  return {
    ...text, views: 'both', at,
    read: (swing, view, name) => {
      if (name === 'top' && isAlong(swing)) return readAlone(swing, alone, 'top')
      const shaft = shaftOf(swing)
      if (isMissing(shaft)) return shaft
      const p = positionAt(swing, view.name, name as PositionName)
      if (isMissing(p)) return p
      const ends = shaftAt(swing, shaft, p.t)
      if (isMissing(ends)) return ends
      const middle = angle(direction(ends.map((e) => e.value)))
      const [value] = propagate((v) => [middle + wrapDegrees(angle(direction(v)) - middle)], ends)
      if (sigmaOf(value!) > directionless) return missing(`the shaft's direction cannot be told: +-${sigmaOf(value!).toFixed(0)} degrees`)
      return { value: value!, basis: basisOf(swing, shaft, `${name} ${p.basis}`) }
    },
  }
}

const wrapDegrees = (a: number): number => a - 360 * Math.round(a / 360)

/** How far back the club's path is taken for the plane it moves in. */
const spanS = 0.4
const spanTurn = (70 * Math.PI) / 180
const leastTurn = (12 * Math.PI) / 180

interface Motion {
  /** Six numbers for each instant, the last is the one asked for where `last`. */
  readonly inputs: Uncertain[]
  readonly count: number
  /** Radians turned from the first to the last. */
  readonly turn: number
  /** Root mean square of the directions off their common plane beyond what placing them explains, radians. */
  readonly misfit: number
}

/** The shaft's directions over the samples before an instant (or about it), each with its errors. */
function motion(swing: Swing, shaft: ShaftPoints, t: Uncertain, from: number, to: number, maxTurn: number): Motion | Missing {
  const steps = 9
  const instants: number[] = []
  const interval = Math.max(...swing.views.map((v) => v.interval), (to - from) / 40)
  const value = (dt: number): Vec3 | null => {
    const tail = placeInSpace(swing, shaft.tail, t.value + dt)
    const tip = placeInSpace(swing, shaft.tip, t.value + dt)
    return tail && tip && unit3(sub3(tip, tail))
  }
  const here = value(0)
  if (!here) return missing('the shaft is not digitised in both views there')
  const reach = (way: -1 | 1, limit: number): number => {
    let last = 0
    for (let dt = interval; dt <= limit + 1e-9; dt += interval) {
      const d = value(way * dt)
      if (!d || Math.acos(Math.min(1, dot3(d, here))) > maxTurn) break
      last = dt
    }
    return way * last
  }
  const start = from < 0 ? reach(-1, -from) : 0
  const end = to > 0 ? reach(1, to) : 0
  const count = Math.max(3, Math.min(steps, Math.round((end - start) / interval) + 1))
  for (let k = 0; k < count; k++) instants.push(start + ((end - start) * k) / (count - 1))
  const inputs: Uncertain[] = []
  const directions: Vec3[] = []
  for (const dt of instants) {
    const ends = shaftAt(swing, shaft, { value: t.value + dt, parts: t.parts })
    if (isMissing(ends)) return ends
    inputs.push(...ends)
    directions.push(unit3(direction(ends.map((e) => e.value)))!)
  }
  const turn = Math.acos(Math.max(-1, Math.min(1, dot3(directions[0]!, directions.at(-1)!))))
  if (turn < leastTurn) return missing(`the shaft turns by ${(turn * degrees).toFixed(0)} degrees in the frames there, too little to show the plane it moves in`)
  const axis = unit3(turnAxis(directions))!
  let off = 0
  let noise = 0
  directions.forEach((d, i) => {
    off += dot3(axis, d) ** 2
    const ends = inputs.slice(6 * i, 6 * i + 6)
    const length = Math.hypot(...direction(ends.map((e) => e.value)))
    const across = linear(0, ends, [...scale3(axis, -1), ...axis])
    noise += (sigmaOf(across) / length) ** 2
  })
  const freedom = Math.max(1, directions.length - 2)
  return { inputs, count: directions.length, turn, misfit: Math.sqrt(Math.max(0, (off - noise) / freedom)) }
}

/** The way back before an instant, read once for all that rests on it. */
const backMotion = (swing: Swing, shaft: ShaftPoints, t: Uncertain): Motion | Missing =>
  once(swing, t, 'motion before', () => motion(swing, shaft, t, -spanS, 0, spanTurn))

/** The motion about an instant on the way down. */
export const motionAbout = (swing: Swing, shaft: ShaftPoints, t: Uncertain): Motion | Missing =>
  once(swing, t, 'motion about', () => motion(swing, shaft, t, -0.06, 0.06, (40 * Math.PI) / 180))

export const directionsOf = (values: ArrayLike<number>, count: number): Vec3[] => Array.from({ length: count }, (_, i) => unit3(direction(values, 6 * i))!)

/** Short of level and the azimuth at level, degrees, with their errors. */
interface Levelled {
  readonly short: Uncertain
  readonly azimuth: Uncertain
  readonly basis: string
}

function levelled(swing: Swing, view: SwingView, at: PositionName): Levelled | Missing {
  const shaft = shaftOf(swing)
  if (isMissing(shaft)) return shaft
  const p = positionAt(swing, view.name, at)
  if (isMissing(p)) return p
  return once(swing, p.t, 'carried to level', () => carried(swing, shaft, p, at))
}

function carried(swing: Swing, shaft: ShaftPoints, p: Position, at: PositionName): Levelled | Missing {
  const m = backMotion(swing, shaft, p.t)
  if (isMissing(m)) return m
  const solve = (values: ArrayLike<number>) => {
    const d = directionsOf(values, m.count)
    const axis = unit3(turnAxis(d))
    return axis && carryToLevel(d.at(-1)!, axis)
  }
  const middle = solve(m.inputs.map((u) => u.value))
  if (!middle) return missing('in the plane it moves in the club never gets level')
  const [short, azimuth] = propagate((values) => {
    const s = solve(values) ?? middle
    return [s.short * degrees, (middle.azimuth + wrapRadians(s.azimuth - middle.azimuth)) * degrees]
  }, m.inputs)
  // A path that leaves its plane has turned it by the end: the error grows with what is still to turn.
  const drift = (m.misfit / m.turn) * Math.abs(middle.short) * degrees
  const source = swing.sources.of(`plane ${at}`)
  return {
    short: withError(short!, drift, source), azimuth: withError(azimuth!, drift, source),
    basis: basisOf(swing, shaft, `plane from the last ${(m.turn * degrees).toFixed(0)} degrees of the shaft's turn; ${at} ${p.basis}`),
  }
}

const wrapRadians = (a: number): number => a - 2 * Math.PI * Math.round(a / (2 * Math.PI))

export function planeSlope(swing: Swing, view: SwingView, at: PositionName): Outcome | Missing {
  const shaft = shaftOf(swing)
  if (isMissing(shaft)) return shaft
  const p = positionAt(swing, view.name, at)
  if (isMissing(p)) return p
  if (at === 'address') {
    const ends = shaftAt(swing, shaft, p.t)
    if (isMissing(ends)) return ends
    const [value] = propagate((v) => {
      const d = direction(v)
      return [Math.atan2(-d[1], d[2]) * degrees]
    }, ends)
    return { value: value!, basis: basisOf(swing, shaft, `${at} ${p.basis}`) }
  }
  const m = at === 'top' ? backMotion(swing, shaft, p.t) : motionAbout(swing, shaft, p.t)
  if (isMissing(m)) return m
  const [slope] = propagate((values) => [slopeOf(turnAxis(directionsOf(values, m.count))) * degrees], m.inputs)
  const value = withError(slope!, (m.misfit / m.turn) * degrees, swing.sources.of(`plane ${at}`))
  if (sigmaOf(value) > directionless) return missing(`the plane of the shaft cannot be told: +-${sigmaOf(value).toFixed(0)} degrees`)
  return { value, basis: basisOf(swing, shaft, `plane from ${(m.turn * degrees).toFixed(0)} degrees of the shaft's turn; ${at} ${p.basis}`) }
}

/** The azimuth of the line from trail to lead side, degrees. */
function lineAzimuth(swing: Swing, view: SwingView, side: 'Shoulder' | 'Hip', at: PositionName): Outcome | Missing {
  const why = spaceMissing(swing)
  if (why) return why
  const p = positionAt(swing, view.name, at)
  if (isMissing(p)) return p
  const trail = spaceAt(swing, `trail${side}`, p.t)
  if (isMissing(trail)) return trail
  const lead = spaceAt(swing, `lead${side}`, p.t)
  if (isMissing(lead)) return lead
  const ends = [trail.x, trail.z, lead.x, lead.z]
  const azimuth = (v: ArrayLike<number>) => Math.atan2(v[3]! - v[1]!, v[2]! - v[0]!) * degrees
  const middle = azimuth(ends.map((e) => e.value))
  const [value] = propagate((v) => [middle + wrapDegrees(azimuth(v) - middle)], ends)
  return { value: value!, basis: `trail and lead ${side.toLowerCase()} triangulated from both views; ${swing.solved.basis}; ${tiedBy(swing)}; ${at} ${p.basis}` }
}

const turnOf = (id: string, side: 'Shoulder' | 'Hip'): Measure => ({
  id, views: 'both', at: ['lead-arm-level-back', 'top', 'lead-arm-level-down', 'impact'], unit: 'deg', plane: 'horizontal', sign: 'positive turned away from the target',
  definition: `How far the line of the ${side.toLowerCase()}s has turned about the vertical since address.`,
  formula: 'azimuth(trail to lead, here) - azimuth(the same, address)',
  read: (swing, view, at) => {
    const here = lineAzimuth(swing, view, side, at as PositionName)
    if (isMissing(here)) return here
    const there = lineAzimuth(swing, view, side, 'address')
    if (isMissing(there)) return there
    const turn = subtract(here.value, there.value)
    return { value: { ...turn, value: wrapDegrees(turn.value) }, basis: here.basis }
  },
})

const alignment = (id: string, side: 'Shoulder' | 'Hip'): Measure => ({
  id, views: 'both', at: ['address'], unit: 'deg', plane: 'horizontal', sign: '0 along the target line, positive with the lead side nearer the ball (closed)',
  definition: `Where the line of the ${side.toLowerCase()}s points against the target line.`,
  formula: 'atan2(dZ, dX) from trail to lead',
  read: (swing, view, at) => lineAzimuth(swing, view, side, at as PositionName),
})

const shaftPositions = ['address', 'shaft-level-back', 'lead-arm-level-back', 'top', 'lead-arm-level-down', 'shaft-level-down', 'impact'] as const

export const spaceMeasures: readonly Measure[] = [
  shaftAngle({
    id: 'shaft-azimuth', unit: 'deg', plane: `horizontal, ${world}`, sign: '0 along the target line, positive across the line (head toward the ball\'s side), negative laid off',
    definition: 'Where the shaft, butt to head, points seen from above.', formula: 'atan2(dZ, dX) from butt to head',
  }, ['top'], (d) => Math.atan2(d[2], d[0]) * degrees, 'azimuth'),
  shaftAngle({
    id: 'shaft-elevation', unit: 'deg', plane: `vertical through the shaft, ${world}`, sign: '0 level, positive with the head above the butt',
    definition: 'How far the shaft points above the level.', formula: 'atan2(dY, hypot(dX, dZ)) from butt to head',
  }, shaftPositions, (d) => Math.atan2(d[1], Math.hypot(d[0], d[2])) * degrees, 'elevation'),
  {
    id: 'shaft-short-of-level', views: 'both', at: ['top'], unit: 'deg', plane: 'the plane the shaft moves in before the top', sign: 'positive short of level, negative past it',
    definition: 'How much farther the shaft would have to turn, the way it is turning, to be level.',
    formula: 'least turn about the axis of the last 70 degrees of its turn that brings its elevation to 0',
    read: (swing, view, at) => {
      if (isAlong(swing)) return readAlone(swing, 'short', 'top')
      const l = levelled(swing, view, at as PositionName)
      return isMissing(l) ? l : { value: l.short, basis: l.basis }
    },
  },
  {
    id: 'shaft-azimuth-at-level', views: 'both', at: ['top'], unit: 'deg', plane: `horizontal, ${world}`, sign: '0 along the target line, positive across the line, negative laid off',
    definition: 'The azimuth that the shaft would have if it were carried on (or back) to level along the plane it moves in.',
    formula: 'atan2(dZ, dX) after the turn of shaft-short-of-level',
    read: (swing, view, at) => {
      if (isAlong(swing)) return readAlone(swing, 'azimuthAtLevel', 'top')
      const l = levelled(swing, view, at as PositionName)
      return isMissing(l) ? l : { value: l.azimuth, basis: l.basis }
    },
  },
  {
    id: 'shaft-plane-slope', views: 'both', at: ['address', 'top', 'lead-arm-level-down', 'shaft-level-down'], unit: 'deg', plane: world, sign: '0 flat, 90 upright',
    definition: 'The slope of the plane the shaft moves in: before the top, and about the instant on the way down. At address, where it is still, the slope of the plane through the shaft along the target line.',
    formula: 'angle between the axis of the shaft\'s turn and the vertical; at address atan2(-dY, dZ) from butt to head',
    read: (swing, view, at) => (at === 'top' && isAlong(swing) ? readAlone(swing, 'slope', 'top') : planeSlope(swing, view, at as PositionName)),
  },
  turnOf('shoulder-turn', 'Shoulder'),
  turnOf('hip-turn', 'Hip'),
  alignment('shoulder-alignment', 'Shoulder'),
  alignment('hip-alignment', 'Hip'),
  {
    id: 'ray-gap', views: 'both', at: ['address', 'top', 'impact'], unit: 'mm', plane: world, sign: 'a size, never negative',
    definition: 'How far the two sightlines to the clubhead miss each other: 0 for perfect points, cameras and clocks.',
    formula: 'length of the common perpendicular of the two sightlines',
    read: (swing, view, at) => {
      const shaft = shaftOf(swing)
      if (isMissing(shaft)) return shaft
      const p = positionAt(swing, view.name, at as PositionName)
      if (isMissing(p)) return p
      const miss = gapAt(swing, shaft.tip, p.t)
      if (isMissing(miss)) return miss
      const gap = scaled(miss, miss.value < 0 ? -1000 : 1000)
      const sigma = sigmaOf(gap)
      return { value: gap, interval: [Math.max(0, gap.value - sigma), gap.value + sigma], basis: basisOf(swing, shaft, `${at} ${p.basis}`) }
    },
  },
]
