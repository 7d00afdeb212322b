import type { DigitisedTable, LandmarkRecord } from '../contract/digitising.ts'
import { pointNames } from '../contract/pointsFile.ts'
import type { Landmark } from '../swing/definition.ts'
import type { ImagePoint } from '../geometry/vec.ts'
import { lerp2 } from '../geometry/vec.ts'
import type { PointTrack, TrackPoints } from '../walkthrough/reference.ts'

const tenth = (value: number): number => Math.round(value * 10) / 10

/** A clip's points, frame by frame, as a stage carries them; null where none are placed. */
export function trackOf(table: DigitisedTable, clipId: string): PointTrack | null {
  const records = Object.values(table).filter((record): record is LandmarkRecord => record.kind === 'landmark' && record.clipId === clipId)
  const points = pointNames.filter((name) => records.some(({ point }) => point === name))
  if (points.length === 0) return null
  const place = new Map(points.map((name, k) => [name, 1 + 2 * k]))
  const rows = new Map<number, (number | null)[]>()
  for (const { tick, point, at } of records) {
    const row = rows.get(tick) ?? [tick, ...points.flatMap(() => [null, null])]
    const k = place.get(point)!
    row[k] = tenth(at[0])
    row[k + 1] = tenth(at[1])
    rows.set(tick, row)
  }
  return { points, rows: [...rows.values()].toSorted((a, b) => a[0]! - b[0]!) }
}

const middle = (a: ImagePoint | undefined, b: ImagePoint | undefined): ImagePoint | null => (a && b ? lerp2(a, b, 0.5) : null)

/** A point that a measure names, from whichever points of the frame show it; null where none do. */
export function landmarkOf(points: TrackPoints, landmark: Landmark): ImagePoint | null {
  switch (landmark) {
    case 'shaftTail': return points.butt ?? points.hands ?? null
    case 'shaftTip': return points.clubhead ?? points.shaftEnd ?? null
    case 'midShoulders': return points.spineTop ?? middle(points.leadShoulder, points.trailShoulder)
    case 'midHips': return points.spineBase ?? middle(points.leadHip, points.trailHip)
    case 'spineTop': return points.spineTop ?? middle(points.leadShoulder, points.trailShoulder)
    case 'spineBase': return points.spineBase ?? middle(points.leadHip, points.trailHip)
    default: return points[landmark] ?? null
  }
}
