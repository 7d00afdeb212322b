import { exact, sigmaOf } from '../signal/uncertain.ts'
import { positionNames, type PositionName, type ViewName } from '../contract/pointsFile.ts'
import type { Measure, Unit } from './definition.ts'
import { isMissing, planeAt, type Positions, type Swing } from './reading.ts'
import { measures } from './registry.ts'
import type { PointName } from '../contract/pointsFile.ts'

export interface Course {
  readonly title: string
  readonly unit: Unit | 'px'
  /** Seconds of the swing's clock, ascending. */
  readonly t: readonly number[]
  readonly value: readonly number[]
  /** One standard deviation of each. */
  readonly sigma: readonly number[]
}

/** What can be followed through time in a view. */
export const followable = (view: ViewName): readonly Measure[] => measures.filter((measure) => measure.planar?.views.includes(view) && measure.at.some((at) => at !== 'address'))

/**
 * A measure read at every frame of a view on which its points are placed: the measure as it is defined, with the frame's
 * instant in place of the position's.
 */
export function courseOfMeasure(swing: Swing, measure: Measure, viewName: ViewName): Course {
  const course = { title: measure.id, unit: measure.unit, t: [] as number[], value: [] as number[], sigma: [] as number[] }
  const view = swing.views.find(({ name }) => name === viewName)
  const own = swing.positions.get(viewName)
  if (!view || !own) return course
  for (const time of view.times) {
    const t = time - view.clock.value
    const at = nearestPosition(measure, own, t)
    if (!at) continue
    const positions = new Map(swing.positions)
    positions.set(viewName, { ...own, [at]: { t: exact(t), basis: 'frame' } })
    const read = measure.read({ ...swing, positions }, view, at)
    if (isMissing(read) || !Number.isFinite(read.value.value)) continue
    const before = course.value.at(-1)
    // An angle that goes on past half a turn does not leap to the other side.
    const turns = measure.unit === 'deg' && before !== undefined ? Math.round((before - read.value.value) / 360) : 0
    course.t.push(t)
    course.value.push(read.value.value + 360 * turns)
    course.sigma.push(sigmaOf(read.value))
  }
  return course
}

/** The position of the measure that stands for an instant: the last that has passed, else the first; never address, which is a reference. */
function nearestPosition(measure: Measure, known: Positions, t: number): PositionName | null {
  const can = positionNames.filter((name) => name !== 'address' && measure.at.includes(name))
  return can.findLast((name) => (known[name]?.t.value ?? Infinity) <= t + 1e-9) ?? can[0] ?? null
}

/** A point's way across or up its levelled plane: millimetres where there is a scale, pixels of the picture elsewhere. */
export function courseOfPoint(swing: Swing, point: PointName, viewName: ViewName, axis: 'u' | 'v'): Course {
  const view = swing.views.find(({ name }) => name === viewName)
  const hasSize = view !== undefined && (view.camera !== null || (swing.scales.get(viewName) ?? null) !== null)
  const course = { title: point, unit: hasSize ? 'mm' as const : 'px' as const, t: [] as number[], value: [] as number[], sigma: [] as number[] }
  const track = view?.tracks.get(point)
  if (!view || !track) return course
  for (const time of track.times) {
    const t = time - view.clock.value
    const place = planeAt(swing, view, point, exact(t), hasSize ? 'size' : 'shape')
    if (isMissing(place)) continue
    const k = hasSize ? 1000 : 1
    course.t.push(t)
    course.value.push(k * place[axis].value)
    course.sigma.push(k * sigmaOf(place[axis]))
  }
  return course
}
