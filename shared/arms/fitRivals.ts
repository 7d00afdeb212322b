import type { Camera } from '../camera/projection.ts'
import { cross3, dot3, length3, scale3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { place, seenOf, type Start } from './fitBody.ts'
import type { ChainFit } from './fitChain.ts'
import { rootsOfCovariance } from './fitErrors.ts'
import { forward } from './forward.ts'
import { createArms } from './model.ts'
import { isArmsRefusal, type ArmsInput, type FitResult, type Readings } from './types.ts'

/**
 * From one view more than one body may come near the points: the shaft on either side of the picture's plane, the trail elbow bent
 * toward the camera or away from it. The one of least misfit is shown; the others widen its errors by how likely they are.
 */
export interface Rival {
  readonly readings: Readings
  /** Among all the bodies found, 0 to 1. */
  readonly share: number
  readonly fit: ChainFit
  readonly build: (row: ArrayLike<number>) => ArmsInput | null
}

/** What is less likely than this is not counted. */
const leastShare = 0.002
/** Told of from this likelihood on, and from this far apart. */
const worthSaying = 0.05
const apartDeg = 2
const apartCm = 3
/** Two fits closer than this are the same one, metres at the elbow. */
const sameM = 0.005

/** A row with its trail elbow on the other side of the line from shoulder to wrist, as deep: in the picture it hardly moves. */
export function elbowTurnedOver(start: Start, row: Float64Array, camera: Camera): Float64Array {
  const { trailShoulder, trailElbow, trailWrist } = seenOf(start, row)
  const out = Float64Array.from(row)
  const n = unit3(sub3(trailWrist, trailShoulder))
  const sight = unit3(sub3(trailElbow, camera.place))
  if (!n || !sight) return out
  const flat = (v: Vec3): Vec3 => sub3(v, scale3(n, dot3(v, n)))
  const u = unit3(flat(sub3(trailElbow, trailShoulder)))
  const w = unit3(flat(sight))
  if (!u || !w) return out
  const over = sub3(u, scale3(w, 2 * dot3(u, w)))
  out[place.trailSwivel] = row[place.trailSwivel]! + Math.atan2(dot3(over, cross3(n, u)), dot3(over, u))
  return out
}

export const isOther = (start: Start, one: ChainFit, two: ChainFit): boolean =>
  length3(sub3(seenOf(start, one.row).trailElbow, seenOf(start, two.row).trailElbow)) > sameM

/** The other bodies found, with how likely each is against all. */
export function rivalsOf(best: ChainFit, others: readonly Pick<Rival, 'fit' | 'build'>[]): Rival[] {
  const weights = others.map(({ fit }) => Math.exp((best.total - fit.total) / 2))
  const all = 1 + weights.reduce((sum, w) => sum + w, 0)
  return others.flatMap(({ fit, build }, i): Rival[] => {
    const share = weights[i]! / all
    const input = share > leastShare ? build(fit.row) : null
    const model = input && createArms(input)
    const pose = !model || isArmsRefusal(model) ? null : forward(model, model.swivelDeg)
    return !pose || isArmsRefusal(pose) ? [] : [{ readings: pose.readings, share, fit, build }]
  })
}

const turn = (a: number, b: number): number => Math.abs(a - b - 360 * Math.round((a - b) / 360))

/** The errors of the body shown, with how far off it is where one of the others is the true one. */
export function withRivals(sigma: FitResult['sigma'], own: Readings, rivals: readonly Rival[]): FitResult['sigma'] {
  const wider = (of: number, apart: (readings: Readings) => number): number => Math.sqrt(of * of + rivals.reduce((sum, { readings, share }) => sum + share * apart(readings) ** 2, 0))
  return {
    azimuthDeg: wider(sigma.azimuthDeg, (r) => turn(r.azimuthDeg, own.azimuthDeg)),
    azimuthAtLevelDeg: sigma.azimuthAtLevelDeg === null ? null : wider(sigma.azimuthAtLevelDeg, (r) => (r.azimuthAtLevelDeg === null || own.azimuthAtLevelDeg === null ? 0 : turn(r.azimuthAtLevelDeg, own.azimuthAtLevelDeg))),
    elevationDeg: wider(sigma.elevationDeg, (r) => r.elevationDeg - own.elevationDeg),
    swivelDeg: wider(sigma.swivelDeg, (r) => turn(r.swivelDeg, own.swivelDeg)),
    elbowOutCm: wider(sigma.elbowOutCm, (r) => r.elbowOutCm - own.elbowOutCm),
  }
}

/** What else the picture could show, in sentences. */
export function rivalWords(own: Readings, rivals: readonly Rival[]): string[] {
  return rivals.flatMap(({ readings, share }) => {
    if (share < worthSaying) return []
    const shaft = turn(readings.azimuthDeg, own.azimuthDeg) > apartDeg ? [`the shaft could also point ${readings.azimuthDeg.toFixed(0)} degrees`] : []
    const elbow = Math.abs(readings.elbowOutCm - own.elbowOutCm) > apartCm ? [`the trail elbow could also stand ${readings.elbowOutCm.toFixed(0)} cm behind the body`] : []
    const both = [...shaft, ...elbow]
    return both.length > 0 ? [`seen from one side only, ${both.join(' and ')}: ${Math.round(100 * share)} in 100 by all that is known`] : []
  })
}

/** Draws bodies by the covariance of the one shown, and by each other's as often as it is likely. */
export function drawOf(best: Pick<Rival, 'fit' | 'build'> & { readonly roots: readonly Float64Array[] }, rivals: readonly Rival[], shown: ArmsInput): (random: { readonly normal: () => number; readonly uniform: () => number }) => ArmsInput {
  const known = rivals.filter(({ share }) => share >= worthSaying).map((rival) => ({ ...rival, roots: rootsOfCovariance(rival.fit.covariance) }))
  return (random) => {
    let at = known.length > 0 ? random.uniform() : 1
    const of = known.find(({ share }) => (at -= share) < 0) ?? best
    const row = Float64Array.from(of.fit.row)
    for (const root of of.roots) {
      const z = random.normal()
      for (let i = 0; i < row.length; i++) row[i] = row[i]! + z * root[i]!
    }
    return of.build(row) ?? shown
  }
}
