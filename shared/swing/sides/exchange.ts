import { landmarkId, type Digitised, type DigitisedTable, type LandmarkRecord } from '../../contract/digitising.ts'
import type { PointName } from '../../contract/pointsFile.ts'
import type { Swing } from '../reading.ts'
import type { SwingView } from '../viewOf.ts'
import { changedPlaces, farthest, type Stretch } from './changes.ts'
import { leadOf, standing, trailOf, type PairName } from './pairs.ts'
import type { SidesFault } from './sides.ts'

/** The times of a view's own clock at which a pair has a point. */
const timesOf = (view: SwingView, pair: PairName): number[] =>
  [...new Set([...(view.tracks.get(leadOf(pair))?.times ?? []), ...(view.tracks.get(trailOf(pair))?.times ?? [])])].toSorted((a, b) => a - b)

const isIn = (t: number, stretches: readonly Stretch[]): boolean => stretches.some(({ from, to }) => t >= from - 1e-6 && t <= to + 1e-6)

/**
 * The frames on which a fault's pair is to be exchanged, as times of the view's own clock: what is wrong at a position is
 * wrong on all frames that follow one another about it without the points changing places.
 */
export function timesToExchange(swing: Swing, fault: SidesFault, pair: PairName): number[] {
  const view = swing.views.find(({ name }) => name === fault.view)
  if (!view || fault.kind !== 'pairs') return []
  const times = timesOf(view, pair)
  if (fault.at.length === 0) return times.filter((t) => isIn(t, fault.stretches))
  const own = swing.positions.get(view.name) ?? {}
  const stretches = changedPlaces(view, pair, standing(view, (own.address?.t.value ?? view.times[0]!) + view.clock.value))
  if (fault.isThroughout) return times.filter((t) => !isIn(t, stretches))
  const found = new Set<number>()
  for (const name of fault.at) {
    const at = own[name]!.t.value + view.clock.value
    const near = times.filter((t) => Math.abs(t - at) <= farthest)
    const seed = near.toSorted((a, b) => Math.abs(a - at) - Math.abs(b - at))[0]
    if (seed === undefined) continue
    const side = isIn(seed, stretches)
    const from = times.indexOf(seed)
    for (const by of [-1, 1])
      for (let i = from; times[i] !== undefined && isIn(times[i]!, stretches) === side && (i === from || Math.abs(times[i]! - times[i - by]!) <= farthest); i += by) found.add(times[i]!)
  }
  return [...found].toSorted((a, b) => a - b)
}

/** Records that are put and taken away so that lead and trail of a pair change places on some frames of a clip. */
export function exchangedRecords(table: DigitisedTable, clipId: string, pair: PairName, ticks: readonly number[]): { readonly put: Digitised[]; readonly remove: string[] } {
  const put: Digitised[] = []
  const remove: string[] = []
  const names: readonly [PointName, PointName] = [leadOf(pair), trailOf(pair)]
  for (const tick of ticks) {
    const [lead, trail] = names.map((point) => table[landmarkId(clipId, tick, point)]).map((record) => (record?.kind === 'landmark' ? record : null)) as [LandmarkRecord | null, LandmarkRecord | null]
    for (const [record, point, other] of [[lead, names[1], trail], [trail, names[0], lead]] as const) {
      if (!record) continue
      put.push({ ...record, id: landmarkId(clipId, tick, point), point, by: 'coach' })
      if (!other) remove.push(record.id)
    }
  }
  return { put, remove }
}
