import type { PositionName } from '../../contract/pointsFile.ts'
import { usualClubLengths } from '../../camera/scale.ts'
import { clubEndSigma, buttToHands } from '../../camera/solve/priors.ts'
import { aloneAssumptions, shaftAlone, type ShaftAlone, type ShaftSight } from '../../camera/solve/shaftAlone.ts'
import { exact, linear, sigmaOf, withError, withParts, type Uncertain } from '../../signal/uncertain.ts'
import { directionless, positionAt, type Outcome } from '../definition.ts'
import { isMissing, missing, once, pictureAt, type Missing, type Swing } from '../reading.ts'
import { shaftPoints } from '../shaft.ts'
import { carryToLevel } from '../shaftAtLevel.ts'
import { placeAt } from '../track.ts'
import type { SwingView } from '../viewOf.ts'
import { placed } from './camera.ts'

/** What one camera down the line says of the shaft at the top, under assumptions that its basis names. */
export type AloneAngle = 'azimuth' | 'elevation' | 'short' | 'azimuthAtLevel' | 'slope'
const order: readonly AloneAngle[] = ['azimuth', 'elevation', 'short', 'azimuthAtLevel', 'slope']

const degrees = 180 / Math.PI
const sights = 10
const longestS = 0.6
/** The sights are of more turn than that, radians, where they show a plane at all. */
const leastTurn = (70 * Math.PI) / 180

/** Whether the swing was filmed down the line alone. */
export const isAlong = (swing: Swing): boolean => swing.views.length === 1 && swing.views[0]!.name === 'down-the-line'

export function readAlone(swing: Swing, angle: AloneAngle, at: PositionName): Outcome | Missing {
  const view = swing.views[0]!
  const top = positionAt(swing, view.name, at)
  if (isMissing(top)) return top
  const all = once(swing, top.t, `shaft alone ${at}`, () => readAll(swing, view, at))
  if (isMissing(all)) return all
  const value = all.values[order.indexOf(angle)]!
  if (sigmaOf(value) > directionless) return missing(`the shaft's direction cannot be told from this view alone: +-${sigmaOf(value).toFixed(0)} degrees`)
  return { value, basis: all.basis }
}

function readAll(swing: Swing, view: SwingView, at: PositionName): { values: Uncertain[]; basis: string } | Missing {
  const camera = placed(swing, view)
  if (isMissing(camera)) return camera
  const shaft = shaftPoints([view])
  if (!shaft) return missing('the club is not digitised in the down-the-line view')
  const top = positionAt(swing, view.name, at)
  if (isMissing(top)) return top
  const { club } = swing.file
  const labelled = club?.lengthM ?? (club?.kind ? usualClubLengths[club.kind.toLowerCase()] : undefined)
  const short = (shaft.tail === 'hands' ? buttToHands.m : 0) + (shaft.tip === 'shaftEnd' ? 0.03 : 0)
  const length = (labelled ?? 0.98) - short
  const lengthSigma = Math.hypot(labelled === undefined ? 0.08 : clubEndSigma, shaft.tail === 'hands' ? buttToHands.sigma : 0)

  const start = levelBefore(view, shaft.tail, shaft.tip, top.t.value)
  const look = (shift: number): ShaftSight[] | Missing => {
    const out: ShaftSight[] = []
    for (let k = 0; k < sights; k++) {
      const t = exact(start + ((top.t.value + shift - start) * k) / (sights - 1))
      const tail = pictureAt(swing, view, shaft.tail, t)
      if (isMissing(tail)) return tail
      const tip = pictureAt(swing, view, shaft.tip, t)
      if (isMissing(tip)) return tip
      const sigma = Math.sqrt((sigmaOf(tail.x) ** 2 + sigmaOf(tail.y) ** 2 + sigmaOf(tip.x) ** 2 + sigmaOf(tip.y) ** 2) / 4)
      out.push({ tail: [tail.x.value, tail.y.value], tip: [tip.x.value, tip.y.value], sigma: Math.max(sigma, 0.2) })
    }
    return out
  }
  const seen = look(0)
  if (isMissing(seen)) return seen
  const solve = (through: number, side: 0 | 1, marks: readonly ShaftSight[], from?: Float64Array): ShaftAlone | null =>
    shaftAlone(through < 0 ? camera.cameras[camera.index]! : camera.errors!.shifted[through]![side][camera.index]!, marks, length, lengthSigma, carryToLevel, from)
  const middle = solve(-1, 0, seen)
  if (!middle) return missing('the picture down the line does not show the shaft go up and over, so that one view cannot tell where it points')
  const parts = order.map(() => new Map<number, number>())
  const difference = (high: ShaftAlone | null, low: ShaftAlone | null, source: number, per: number): void =>
    order.forEach((angle, i) => high && low && parts[i]!.set(source, ((high[angle] - low[angle]) * degrees) / per))
  camera.errors?.shifted.forEach((_, k) => difference(solve(k, 0, seen, middle.fit), solve(k, 1, seen, middle.fit), camera.errors!.source + k, 2 / 3))
  // The instant: two readings a little before and after.
  const step = Math.max(sigmaOf(top.t), 1e-3)
  const early = look(-step)
  const late = look(step)
  const rates = order.map(() => 0)
  if (!isMissing(early) && !isMissing(late)) {
    const [before, after] = [solve(-1, 0, early, middle.fit), solve(-1, 0, late, middle.fit)]
    if (before && after) order.forEach((angle, i) => (rates[i] = ((after[angle] - before[angle]) * degrees) / (2 * step)))
  }
  // A path that is off its plane for long has turned it by the end, and the more so the farther it is carried on.
  const turned = aloneAssumptions.offPlaneSigma / Math.max(leastTurn, middle.turn)
  const drifts: Partial<Record<AloneAngle, number>> = { slope: turned, short: turned * Math.abs(middle.short), azimuthAtLevel: turned * Math.abs(middle.short) }
  const values = order.map((angle, i) => {
    const own = withParts(middle[angle] * degrees, parts[i]!)
    return withError(linear(own.value, [own, top.t], [1, rates[i]!]), Math.hypot(middle.sigma[i]!, drifts[angle] ?? 0) * degrees, swing.sources.of(`shaft alone ${angle} ${at}`))
  })
  return {
    values,
    basis: `${shaft.tail} to ${shaft.tip} in the down-the-line view alone, taken to be ${length.toFixed(2)} m long, to move near one plane and to be held where hands usually are; ${camera.basis}; ${at} ${top.basis}`,
  }
}

/** When the shaft was last about level on its way back, seconds: where its picture starts to tell the plane. */
function levelBefore(view: SwingView, tail: Parameters<typeof view.tracks.get>[0], tip: Parameters<typeof view.tracks.get>[0], top: number): number {
  const rise = (t: number): number | null => {
    const a = placeAt(view.tracks.get(tail)!, t + view.clock.value)
    const b = placeAt(view.tracks.get(tip)!, t + view.clock.value)
    return a && b ? a[1] - b[1] : null
  }
  let tallest = 0
  let last = top - longestS
  for (let t = top; t > top - longestS; t -= view.interval) {
    const h = rise(t)
    if (h === null) return Math.min(top - 0.15, t + view.interval)
    tallest = Math.max(tallest, h)
    last = t
    if (h < 0.15 * tallest && t < top - 0.15 && tallest > 0.3 * standing(view)) break
  }
  return last
}

/** A tenth of the picture's long side: less than that is no shaft standing up. */
const standing = (view: SwingView): number => 0.1 * Math.max(view.width, view.height)
