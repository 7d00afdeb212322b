import { levelFromHorizon, levelFromPlumb, levelUnmarked, type Level } from '../camera/level.ts'
import { guideId, type DigitisedTable, type LandmarkRecord } from '../contract/digitising.ts'
import type { PointName } from '../contract/pointsFile.ts'
import type { ImagePoint, Vec2 } from '../geometry/vec.ts'
import { meanings, type Mark } from '../markup/mark.ts'
import { frameAt } from '../walkthrough/motion.ts'
import type { ClipFacts } from './digitised.ts'
import { decimalsFor } from './measureWords.ts'
import { usualFocal } from './viewOf.ts'

const degrees = 180 / Math.PI

/** How a clip's picture is turned against the world's level, from the guides placed on it; else from its edge. */
export function levelOfClip(table: DigitisedTable, clip: ClipFacts, sigmaPx: number): Level {
  const plumb = table[guideId(clip.id, 'plumb')]
  if (plumb?.kind === 'guide') {
    const [a, b] = plumb.ends
    return levelFromPlumb(a, b, sigmaPx, (a[0] + b[0] - clip.width) / 2, usualFocal(clip))
  }
  const horizon = table[guideId(clip.id, 'horizon')]
  return horizon?.kind === 'guide' ? levelFromHorizon(horizon.ends[0], horizon.ends[1], sigmaPx) : levelUnmarked
}

export interface LineAngle {
  /** Degrees from level, within 0 to 90, whichever way the line falls. */
  readonly degrees: number
  /** One standard deviation, degrees: of both ends and of the level. */
  readonly sigma: number
  readonly basis: string
}

/** How steep a line looks, levelled; null where it has no length. */
export function lineAngle([a, b]: readonly [Vec2, Vec2], level: Level, sigmaPx: number): LineAngle | null {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]]
  const length = Math.hypot(dx, dy)
  if (length === 0) return null
  // Up leans right by the roll: turned back by it, the line's slope is the world's.
  const slope = Math.atan2(-dy, dx) + level.roll
  const acute = Math.abs(Math.atan2(Math.sin(slope), Math.cos(slope)))
  return { degrees: Math.min(acute, Math.PI - acute) * degrees, sigma: Math.hypot((Math.SQRT2 * sigmaPx) / length, level.sigma) * degrees, basis: level.basis }
}

export const withErrorWords = (value: number, sigma: number, unit: string): string => {
  const decimals = Math.min(decimalsFor(sigma), 1)
  const text = Math.abs(value).toFixed(decimals)
  return `${value < 0 && Number(text) !== 0 ? '\u2212' : ''}${text} \u00b1 ${sigma.toFixed(decimals)}${unit}`
}

export interface HeadBoxReport {
  /** Frames on which the head is placed, inside the span of the mark. */
  readonly frames: number
  /** Index of the first frame on which it is outside by more than its error; null where it stays inside. */
  readonly left: number | null
  /** The farthest outside, pixels, and one standard deviation; 0 where it stays inside. */
  readonly beyond: number
  readonly sigma: number
  readonly farthestFrame: number | null
}

/**
 * When the head (midway between the ears) leaves a box, by the frames on which it is placed. Null where it is placed on none.
 * @param sigmaOf one standard deviation of a placement, pixels
 */
export function headBoxReport(box: readonly [Vec2, Vec2], heads: readonly LandmarkRecord[], clip: ClipFacts, sigmaOf: (record: LandmarkRecord) => number): HeadBoxReport | null {
  if (heads.length === 0) return null
  const [left, right] = [Math.min(box[0][0], box[1][0]), Math.max(box[0][0], box[1][0])]
  const [top, bottom] = [Math.min(box[0][1], box[1][1]), Math.max(box[0][1], box[1][1])]
  let first: number | null = null
  let beyond = 0
  let sigma = 0
  let farthest: number | null = null
  for (const record of heads.toSorted((a, b) => a.tick - b.tick)) {
    const [x, y] = record.at
    const out = Math.hypot(Math.max(left - x, 0, x - right), Math.max(top - y, 0, y - bottom))
    const frame = frameAt(clip.frames, record.tick)
    const own = sigmaOf(record)
    if (out > own && first === null) first = frame
    if (out > beyond) {
      beyond = out
      sigma = own
      farthest = frame
    }
  }
  return { frames: heads.length, left: first, beyond, sigma, farthestFrame: farthest }
}

/** The landmarks of a clip by their point, in the order of time. */
export const landmarksOf = (table: DigitisedTable, clipId: string, point: PointName): LandmarkRecord[] =>
  Object.values(table).filter((record): record is LandmarkRecord => record.kind === 'landmark' && record.clipId === clipId && record.point === point).sort((a, b) => a.tick - b.tick)

/** A point's place at address: on its frame, else on the first frame that it is placed on before any other position. */
function atAddress(table: DigitisedTable, clipId: string, points: readonly PointName[], addressTick: number | null): ImagePoint | null {
  for (const point of points) {
    const own = landmarksOf(table, clipId, point)
    const there = addressTick === null ? own[0] : own.find(({ tick }) => tick === addressTick)
    if (there) return there.at
  }
  return null
}

const blank = (id: string, clipId: string, meaning: keyof typeof meanings, points: readonly ImagePoint[], order: number): Mark => ({
  id, clipId, meaning, shape: meanings[meaning].shape, ink: meanings[meaning].ink, points: [...points], text: '', span: null, weight: 4, dashed: false, hidden: false, order,
})

/** The lines of address that points give, as marks of the whole clip; and in words what was lacking for the others. */
export function linesOfAddress(table: DigitisedTable, clip: ClipFacts, addressTick: number | null, order: number): { readonly marks: readonly Mark[]; readonly lacking: readonly string[] } {
  const at = (...points: PointName[]): ImagePoint | null => atAddress(table, clip.id, points, addressTick)
  const [tail, tip, elbow, head] = [at('butt', 'hands'), at('clubhead', 'shaftEnd'), at('trailElbow'), at('head')]
  const marks: Mark[] = []
  const lacking: string[] = []
  if (tail && tip) marks.push(blank(`${clip.id}/lines/shaft`, clip.id, 'shaft-line', [tail, tip], order))
  else lacking.push('the shaft line needs butt (or hands) and clubhead at address')
  if (elbow && tip) marks.push(blank(`${clip.id}/lines/elbow`, clip.id, 'elbow-line', [elbow, tip], order + 1))
  else lacking.push('the elbow line needs trail elbow and clubhead at address')
  const crown = at('crown')
  if (head && crown) {
    // Ears lie about midway between crown and chin; the box is as wide as the head is high.
    const half = Math.hypot(crown[0] - head[0], crown[1] - head[1])
    marks.push(blank(`${clip.id}/lines/head`, clip.id, 'head-box', [[head[0] - half, head[1] - half], [head[0] + half, head[1] + half]], order + 2))
  } else lacking.push('the head box needs head and crown at address')
  return { marks, lacking }
}

/**
 * The inclination line on every frame that its ends are placed on, as marks that take over from one another, each with its
 * angle and how it has changed since address (since the first of them, where address is none).
 */
export function inclinationLines(table: DigitisedTable, clip: ClipFacts, level: Level, sigmaPx: number, addressTick: number | null, order: number): Mark[] {
  const bases = new Map(ends(table, clip.id, 'spineBase', ['leadHip', 'trailHip']))
  const tops = new Map(ends(table, clip.id, 'spineTop', ['leadShoulder', 'trailShoulder']))
  const ticks = [...bases.keys()].filter((tick) => tops.has(tick)).toSorted((a, b) => a - b)
  const uprightAt = (tick: number): number => 90 - (lineAngle([bases.get(tick)!, tops.get(tick)!], level, sigmaPx)?.degrees ?? 90)
  const since = addressTick !== null && ticks.includes(addressTick) ? addressTick : ticks[0]
  return ticks.map((tick, i): Mark => {
    const [base, top] = [bases.get(tick)!, tops.get(tick)!]
    const lean = lineAngle([base, top], level, sigmaPx)
    const upright = uprightAt(tick)
    const next = ticks[i + 1]
    const last = next === undefined ? clip.frames.ticks.at(-1)! : clip.frames.ticks[frameAt(clip.frames, next) - 1]!
    // The level's error is the same on every frame: a change is free of it.
    const change = Math.SQRT2 * (lean ? (Math.SQRT2 * sigmaPx * degrees) / Math.hypot(top[0] - base[0], top[1] - base[1]) : 0)
    const words = lean ? `${withErrorWords(upright, lean.sigma, '\u00b0')}${tick === since ? '' : `\n${withErrorWords(upright - uprightAt(since!), change, '\u00b0')} since ${since === addressTick ? 'address' : 'the first'}`}` : ''
    return { ...blank(`${clip.id}/inclination/${tick}`, clip.id, 'body-line', [base, top], order), text: words, span: { from: tick, to: Math.max(tick, last) } }
  })
}

/** A point's frames, or those of the middle between two that stand in. */
function* ends(table: DigitisedTable, clipId: string, point: PointName, pair: readonly [PointName, PointName]): Generator<readonly [number, ImagePoint]> {
  const [one, two] = pair.map((name) => new Map(landmarksOf(table, clipId, name).map((record) => [record.tick, record.at])))
  for (const [tick, a] of one!) {
    const b = two!.get(tick)
    if (b) yield [tick, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]]
  }
  for (const record of landmarksOf(table, clipId, point)) yield [record.tick, record.at]
}

