import type { Digitised, DigitisedTable, LandmarkRecord } from '../contract/digitising.ts'
import { idOf } from '../contract/digitising.ts'
import type { FrameIndex } from '../contract/clip.ts'
import { matFault, positionNames, type PointName, type PositionName } from '../contract/pointsFile.ts'
import { frameAt } from '../walkthrough/motion.ts'

/** What the rules need to know of a clip. */
export interface ClipFacts {
  readonly id: string
  readonly width: number
  readonly height: number
  readonly frames: FrameIndex
}

/** A name of the code as words: `leadShoulder` is "lead shoulder", `lead-arm-level-down` "lead arm level, down". */
export const pointTitle = (point: PointName): string => point.replace(/([A-Z])/g, ' $1').toLowerCase()
export const positionTitle = (name: PositionName): string =>
  name.replace(/^(lead-arm|shaft)-level-(\w+)$/, (_, what: string, way: string) => `${what.replace('-', ' ')} level, ${way}`)

/** What a guide's two points are called. */
export const guideTitles = {
  plumb: 'plumb line', horizon: 'level line', targetLine: 'target line', stanceLine: 'stance line', ball: 'ball', known: 'known length',
} as const

const offPicture = (clip: ClipFacts, [x, y]: readonly [number, number]): boolean => !(x >= 0 && x <= clip.width && y >= 0 && y <= clip.height)

/** Records without a fault by the clip that they were looked at for: neither ever changes. */
const sound = new WeakMap<ClipFacts, WeakSet<Digitised>>()

/**
 * What is wrong with the records of one clip, in one sentence for the coach; null where nothing is. Any order of records.
 */
export function digitisedFault(records: readonly Digitised[], clip: ClipFacts): string | null {
  let known = sound.get(clip)
  if (!known) sound.set(clip, (known = new WeakSet()))
  for (const record of records) {
    if (known.has(record)) continue
    const fault = recordFault(record, clip)
    if (fault) return fault
    known.add(record)
  }
  return orderFault(records, clip)
}

function recordFault(record: Digitised, clip: ClipFacts): string | null {
  if (record.id !== idOf(record)) return `${record.id}: this id does not say what the record is.`
  const { frames } = clip
  if (record.kind === 'left-out') return null
  if (record.kind === 'heard')
    return record.at >= frames.ticks[0]! && record.at < frames.endTick ? null : 'The sound of impact lies outside the clip: place impact by eye instead.'
  if (record.kind === 'mat') {
    if (record.corners.some((corner) => offPicture(clip, corner))) return `A corner of the mat lies off the picture of ${clip.width} x ${clip.height} px: place all four on it.`
    const crooked = matFault(record.corners)
    return crooked && `The mat: ${crooked}.`
  }
  if (record.kind !== 'guide' && (record.tick < frames.ticks[0]! || record.tick >= frames.endTick)) {
    const what = record.kind === 'landmark' ? pointTitle(record.point) : positionTitle(record.name)
    return `The ${what} lies outside the clip, which has ${frames.ticks.length} frames.`
  }
  if (record.kind === 'landmark') {
    if (!offPicture(clip, record.at)) return null
    return `The ${pointTitle(record.point)} lies off the picture of ${clip.width} x ${clip.height} px: place it on the picture, or leave it out.`
  }
  if (record.kind === 'position') return null
  const [a, b] = record.ends
  if (Math.hypot(a[0] - b[0], a[1] - b[1]) < 1) return `The two points of the ${guideTitles[record.name]} coincide, so it has no ${record.name === 'ball' || record.name === 'known' ? 'size' : 'direction'}: place them apart.`
  if (offPicture(clip, a) || offPicture(clip, b)) return `The ${guideTitles[record.name]} ends off the picture of ${clip.width} x ${clip.height} px: place both ends on it.`
  if (record.name === 'known' && record.metres === null) return 'The known length has no length: say how far apart its two points are.'
  return null
}

/** Positions must follow the order of the swing. */
function orderFault(records: readonly Digitised[], clip: ClipFacts): string | null {
  const byName = new Map(records.flatMap((record) => (record.kind === 'position' ? [[record.name, record.tick] as const] : [])))
  let before: { name: PositionName; tick: number } | null = null
  for (const name of positionNames) {
    const tick = byName.get(name)
    if (tick === undefined) continue
    if (before && tick <= before.tick) {
      const at = (one: number): number => frameAt(clip.frames, one) + 1
      return `Positions are out of order: ${positionTitle(name)} (frame ${at(tick)}) must come after ${positionTitle(before.name)} (frame ${at(before.tick)}).`
    }
    before = { name, tick }
  }
  return null
}

/** What the program found, without what would move anything that the coach has placed. */
export const withoutCoachs = (found: readonly Digitised[], table: DigitisedTable): readonly Digitised[] =>
  found.filter((record) => table[record.id]?.by !== 'coach')

/** The landmarks of one frame by their names. */
export function landmarksOn(table: DigitisedTable, clipId: string, tick: number): Partial<Record<PointName, LandmarkRecord>> {
  const found: Partial<Record<PointName, LandmarkRecord>> = {}
  for (const record of Object.values(table)) if (record.kind === 'landmark' && record.clipId === clipId && record.tick === tick) found[record.point] = record
  return found
}
