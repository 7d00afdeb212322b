import { project } from '../camera/projection.ts'
import { filmingAdvice, type Known, type PlaceReadings } from '../camera/place/advice.ts'
import { topSentence, topVerdict } from '../camera/place/verdict.ts'
import { looksLeft, type PositionName, type ViewName } from '../contract/pointsFile.ts'
import { imagePoint, type ImagePoint, type Vec3 } from '../geometry/vec.ts'
import type { MarkReading } from '../markup/mark.ts'
import { covariance, propagate, sigmaOf, type Uncertain } from '../signal/uncertain.ts'
import { positionAt, type At } from './definition.ts'
import type { MeasureResult, SwingResult } from './measureSwing.ts'
import { inWords } from './measureWords.ts'
import { isMissing, missing, pictureAt, spaceAt, spaceMissing, type Missing, type Swing } from './reading.ts'
import { shaftPoints } from './shaft.ts'
import type { SwingView } from './viewOf.ts'

/**
 * The shaft as two sightlines fix it, put so that it can be shown: laid back into each picture, seen from above, and in
 * words. Picture points come out as filmed, for either hand.
 */

const degrees = 180 / Math.PI
const along = (v: ArrayLike<number>): Vec3 => [v[3]! - v[0]!, v[4]! - v[1]!, v[5]! - v[2]!]

export const measureOf = (result: SwingResult, id: string, at: At, view?: ViewName | null): MeasureResult | undefined =>
  result.measures.find((one) => one.id === id && one.at === at && (view === undefined || one.view === view))

/** Six numbers, hands end then head end, in the world at a position of the first view's clock; or why not. */
export function shaftInSpace(swing: Swing, at: PositionName): readonly Uncertain[] | Missing {
  const why = spaceMissing(swing)
  if (why) return why
  const shaft = shaftPoints(swing.views)
  if (!shaft) return missing('the club is not digitised in both views')
  const position = positionAt(swing, swing.views[0]!.name, at)
  if (isMissing(position)) return position
  const tail = spaceAt(swing, shaft.tail, position.t)
  if (isMissing(tail)) return tail
  const tip = spaceAt(swing, shaft.tip, position.t)
  return isMissing(tip) ? tip : [tail.x, tail.y, tail.z, tip.x, tip.y, tip.z]
}

/** Azimuth of the shaft at any position, degrees, 0 along the target line and positive across it. */
export function azimuthAt(swing: Swing, at: PositionName): Known | Missing {
  const ends = shaftInSpace(swing, at)
  if (isMissing(ends)) return ends
  const angle = (v: ArrayLike<number>): number => Math.atan2(along(v)[2], along(v)[0]) * degrees
  const middle = angle(ends.map((e) => e.value))
  const [value] = propagate((v) => {
    const a = angle(v) - middle
    return [middle + a - 360 * Math.round(a / 360)]
  }, ends)
  return { value: value!.value, sigma: sigmaOf(value!) }
}

/** A point of a right-hander's picture as it lies in the file. @param handedness the player's own */
export const asFilmed = (view: SwingView, handedness: 'right' | 'left', [x, y]: readonly [number, number]): ImagePoint =>
  imagePoint(looksLeft(handedness, view.file) ? view.width - x : x, y)

/** Hands end, head end, and the head end one standard deviation either way (that of the positive azimuth last). */
export type FanPoints = readonly [ImagePoint, ImagePoint, ImagePoint, ImagePoint]

/**
 * The shaft at a position laid back into one picture. The wedge is the long axis of the ellipse in which the head lies
 * against the hands: all that is uncertain of the direction in space, seen through this camera held where it stands.
 */
export function fanIn(swing: Swing, view: SwingView, at: PositionName, handedness: 'right' | 'left'): FanPoints | Missing {
  const ends = shaftInSpace(swing, at)
  if (isMissing(ends)) return ends
  const camera = view.camera!
  const v = ends.map((e) => e.value)
  const tail: Vec3 = [v[0]!, v[1]!, v[2]!]
  const tip: Vec3 = [v[3]!, v[4]!, v[5]!]
  const hands = project(camera, tail)
  const head = project(camera, tip)
  if (!hands || !head) return missing(`the shaft lies behind the ${view.name} camera`)
  const [x, y] = propagate((p) => {
    const a = project(camera, [p[0]!, p[1]!, p[2]!]) ?? hands
    const b = project(camera, [p[3]!, p[4]!, p[5]!]) ?? head
    return [b[0] - a[0], b[1] - a[1]]
  }, ends) as [Uncertain, Uncertain]
  const [xx, xy, yy] = [covariance(x, x), covariance(x, y), covariance(y, y)]
  const turn = Math.atan2(2 * xy, xx - yy) / 2
  const size = Math.sqrt(Math.max(0, (xx + yy) / 2 + Math.hypot((xx - yy) / 2, xy)))
  let [dx, dy] = [size * Math.cos(turn), size * Math.sin(turn)]
  // A little more azimuth moves the head this way; the last end is on that side.
  const d = along(v)
  const more = project(camera, [tail[0] + d[0] - 0.01 * d[2], tip[1], tail[2] + d[2] + 0.01 * d[0]])
  if (more && (more[0] - head[0]) * dx + (more[1] - head[1]) * dy < 0) [dx, dy] = [-dx, -dy]
  const out = (p: readonly [number, number]): ImagePoint => asFilmed(view, handedness, p)
  return [out(hands), out(head), out([head[0] - dx, head[1] - dy]), out([head[0] + dx, head[1] + dy])]
}

export interface Look {
  readonly ends: readonly [ImagePoint, ImagePoint]
  /** Between the shaft's line and the level of the picture, 0 to 90 degrees. */
  readonly angle: Known
}

/** The shaft as it looks in one picture at the view's own position: through the points as they were placed. */
export function lookIn(swing: Swing, view: SwingView, at: PositionName, handedness: 'right' | 'left'): Look | Missing {
  const shaft = shaftPoints([view])
  if (!shaft) return missing(`the club is not digitised in the ${view.name} view`)
  const position = positionAt(swing, view.name, at)
  if (isMissing(position)) return position
  const tail = pictureAt(swing, view, shaft.tail, position.t)
  if (isMissing(tail)) return tail
  const tip = pictureAt(swing, view, shaft.tip, position.t)
  if (isMissing(tip)) return tip
  const [angle] = propagate((p) => [Math.atan2(Math.abs(p[3]! - p[1]!), Math.abs(p[2]! - p[0]!)) * degrees], [tail.x, tail.y, tip.x, tip.y])
  const out = (x: Uncertain, y: Uncertain): ImagePoint => asFilmed(view, handedness, [x.value, y.value])
  return { ends: [out(tail.x, tail.y), out(tip.x, tip.y)], angle: { value: angle!.value, sigma: sigmaOf(angle!) } }
}

const knownOf = (measure: MeasureResult | undefined, scale = 1): Known | undefined => measure && { value: measure.value * scale, sigma: measure.sigma * scale }

/** Where the shaft points at the top as it is and at level, each judged by its interval. */
export function verdictWords(azimuth: MeasureResult, atLevel: MeasureResult | undefined): string {
  const here = topVerdict(azimuth)
  const level = atLevel && topVerdict(atLevel)
  if (!level || level === here) return here
  const untold = 'cannot be told from this'
  return `${here === untold ? 'not to be told' : here} where it stops, ${level === untold ? 'not to be told' : level} at level`
}

/** The numbers of the view from above; null where the azimuth cannot be had. */
export function topReading(result: SwingResult, handedness: 'right' | 'left'): MarkReading | null {
  const azimuth = measureOf(result, 'shaft-azimuth', 'top')
  if (!azimuth) return null
  const atLevel = measureOf(result, 'shaft-azimuth-at-level', 'top')
  const short = measureOf(result, 'shaft-short-of-level', 'top')
  return {
    azimuth: knownOf(azimuth)!, atLevel: knownOf(atLevel) ?? null, short: knownOf(short) ?? null,
    verdict: verdictWords(azimuth, atLevel), basis: inWords(azimuth.basis).slice(0, 2000), handedness,
  }
}

/** The verdict in a sentence or two; null where the azimuth cannot be had. */
export function topWords(result: SwingResult): string | null {
  const azimuth = measureOf(result, 'shaft-azimuth', 'top')
  if (!azimuth) return null
  const bias = measureOf(result, 'camera-look-bias', 'top')
  return topSentence({ azimuth, atLevel: measureOf(result, 'shaft-azimuth-at-level', 'top') ?? null, short: measureOf(result, 'shaft-short-of-level', 'top') ?? null, bias: bias ?? null }).sentence
}

/** A view's camera: where it stands, each number with its error, what that does to the look at the top, and advice. */
export interface CameraWords {
  readonly view: ViewName
  readonly rows: readonly { readonly name: string; readonly measure: MeasureResult }[]
  readonly bias: string | null
  readonly advice: readonly [string, string]
}

const placeRows: Readonly<Record<ViewName, readonly (readonly [id: string, name: string])[]>> = {
  'face-on': [['camera-height', 'Height'], ['camera-distance', 'Distance'], ['camera-yaw', 'Points off square'], ['camera-offset', 'Off the middle of the stance'], ['camera-roll', 'Leans']],
  'down-the-line': [['camera-height', 'Height'], ['camera-distance', 'Distance'], ['camera-yaw', 'Points off the target line'], ['camera-offset', 'Off the target line'], ['camera-offset-hand-line', 'Off the hand line'], ['camera-roll', 'Leans']],
}

export function cameraWords(result: SwingResult, view: ViewName): CameraWords {
  const of = (id: string, at: At = 'swing'): MeasureResult | undefined => measureOf(result, id, at, view)
  const rows = placeRows[view].flatMap(([id, name]) => {
    const measure = of(id)
    return measure ? [{ name, measure }] : []
  })
  const offset = knownOf(view === 'down-the-line' ? of('camera-offset-hand-line') : of('camera-offset'), 1e-3)
  const bias = knownOf(of('camera-look-bias', 'top'))
  const known: Partial<Record<keyof PlaceReadings, Known | undefined>> = {
    offset, bias, height: knownOf(of('camera-height'), 1e-3), distance: knownOf(of('camera-distance'), 1e-3), yaw: knownOf(of('camera-yaw')), roll: knownOf(of('camera-roll')),
  }
  const readings: PlaceReadings = { view, ...Object.fromEntries(Object.entries(known).filter(([, value]) => value !== undefined)) }
  return { view, rows, bias: view === 'down-the-line' && bias ? biasWords(offset, bias) : null, advice: filmingAdvice(readings) }
}

/** "Camera 0.35 ± 0.04 m toward the ball's side of the hands: a neutral top will look 5.1 ± 0.6 degrees across." */
function biasWords(offset: Known | undefined, bias: Known): string {
  const place = offset ? `Camera ${Math.abs(offset.value).toFixed(2)} \u00b1 ${offset.sigma.toFixed(2)} m toward ${offset.value >= 0 ? 'the ball\u2019s side' : 'the player\u2019s side'} of the hand line` : 'From where the camera stands'
  return `${place}: a neutral top will look ${Math.abs(bias.value).toFixed(1)} \u00b1 ${bias.sigma.toFixed(1)}\u00b0 ${bias.value >= 0 ? 'across' : 'laid off'}.`
}

const wanted: readonly (readonly [id: string, at: At])[] = [['shaft-azimuth', 'top'], ['shaft-short-of-level', 'top'], ['shaft-azimuth-at-level', 'top'], ['camera-height', 'swing'], ['camera-look-bias', 'top']]

/** Why what is wanted at the top cannot be had, each reason once, and the guides that would help. */
export function lackingWords(swing: Swing, result: SwingResult): { readonly why: readonly string[]; readonly guides: readonly string[] } {
  const why = result.missing.filter((one) => wanted.some(([id, at]) => one.id === id && one.at === at)).map((one) => inWords(one.why))
  const guides = swing.views.flatMap((view) => {
    if (view.file.camera) return []
    const { targetLine, plumb, horizon } = view.file.guides ?? {}
    return [...(targetLine ? [] : [`target line, ${inWords(view.name)}`]), ...(plumb || horizon ? [] : [`plumb line, ${inWords(view.name)}`])]
  })
  return { why: [...new Set(why)], guides }
}
