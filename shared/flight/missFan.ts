import { quantile } from '../signal/quantile.ts'
import { seededRandom } from '../signal/random.ts'
import { exact, measured, propagate, sigmaOf, Sources } from '../signal/uncertain.ts'
import { launchDirection, missAt, type Known } from './launch.ts'

/**
 * Face, path and timing of many swings of one player. Angles in degrees from the target line, positive to the push side (+Z,
 * the ball's side of the line) for either hand. Each number's sigma says how well it is known; the scatters say how much
 * swings differ from one another, which is another thing.
 */
export interface MissInput {
  /** Where the face points at impact when the timing is right. */
  readonly face: Known
  readonly path: Known
  /** The face's share in the start direction, 0 to 1. */
  readonly share: Known
  /** How fast the face closes through impact, degrees a second, not negative. */
  readonly closureRate: Known
  /** How much the instant of impact scatters against the face's closing, seconds (one standard deviation), and how well that is known. */
  readonly timingS: Known
  /** How much face and path scatter from swing to swing apart from timing, degrees. */
  readonly faceScatter: number
  readonly pathScatter: number
  /** To where the miss is read, any unit of length; misses come out in it. */
  readonly distance: number
}

export interface Shot {
  /** Seconds; positive late, when the face has not closed yet. */
  readonly late: number
  readonly face: number
  readonly path: number
  readonly start: number
  readonly miss: number
}

export interface Side {
  /** Share of the swings, 0 to 1, that miss to this side. */
  readonly share: number
  /** Median of their misses, not negative. */
  readonly typical: number
}

export interface MissFan {
  readonly shots: readonly Shot[]
  /** Where the face points, spread by timing and its own scatter: degrees. */
  readonly faceSpread: Known
  /** What closure times timing alone adds to the face: degrees. */
  readonly timingSpread: Known
  /** Mean start direction and how far starts spread about it, degrees, each with how well it is known. */
  readonly start: Known
  readonly startSpread: Known
  /** The same at the distance. */
  readonly miss: Known
  readonly missSpread: Known
  /** Miss below which 5, 16, 50, 84 and 95 of a hundred swings lie. */
  readonly quantiles: { readonly p5: number; readonly p16: number; readonly p50: number; readonly p84: number; readonly p95: number }
  readonly pull: Side
  readonly push: Side
}

/** What is wrong with the numbers, in one sentence that names the field; null where they hold. */
export function missFault(input: MissInput): string | null {
  const known: readonly (readonly [string, Known])[] = [['face', input.face], ['path', input.path], ['face\u2019s share k', input.share], ['rate of closure', input.closureRate], ['timing', input.timingS]]
  for (const [name, { value, sigma }] of known) {
    if (!Number.isFinite(value)) return `The ${name} is not a number.`
    if (!Number.isFinite(sigma) || sigma < 0) return `The error of the ${name} must be 0 or more.`
  }
  if (Math.abs(input.face.value) > 45 || Math.abs(input.path.value) > 45) return 'Face and path must lie within 45\u00b0 of the target line.'
  if (input.share.value < 0 || input.share.value > 1) return 'The face\u2019s share k must lie between 0 and 1.'
  if (input.closureRate.value < 0) return 'The rate of closure must be 0 or more: it says how fast, not which way.'
  if (input.timingS.value < 0) return 'The scatter of the timing must be 0 or more.'
  if (!(input.faceScatter >= 0) || !(input.pathScatter >= 0)) return 'The scatter of face and path must be 0 or more.'
  if (!(input.distance > 0) || !Number.isFinite(input.distance)) return 'The distance must be greater than 0.'
  // Starts must stay well ahead of the player for a miss to have a size.
  const spread = Math.hypot(input.closureRate.value * input.timingS.value, input.faceScatter, input.pathScatter)
  return spread > 30 ? `Closure times timing turns the face by ${spread.toFixed(0)}\u00b0 either way: no player hits a ball so. Check the rate and the timing.` : null
}

/** In the order of `propagate`'s numbers. */
const numbersOf = (input: MissInput): readonly Known[] => [input.face, input.path, input.share, input.closureRate, input.timingS]

/**
 * The fan of misses: swings sampled with face, path and timing together (the same for the same seed), and its summary with
 * errors. A face that is late by t points rate times t to the push side of where it should, one that is early to the pull side.
 * The spreads follow in closed form from the scatters, since a start direction is linear in them; the shots are what is drawn
 * and counted. Throws a RangeError with `missFault`'s sentence for numbers that cannot hold.
 */
export function missFan(input: MissInput, seed = 1, count = 400): MissFan {
  const fault = missFault(input)
  if (fault) throw new RangeError(fault)
  const { face, path, share, closureRate, timingS, faceScatter, pathScatter, distance } = input
  const random = seededRandom(seed)
  // Each swing has one that strays as far the other way, so that no side is favoured by the drawing of lots.
  let strays: readonly number[] = []
  const shots = Array.from({ length: count }, (_, i): Shot => {
    strays = i % 2 === 0 ? [random.normal(), random.normal(), random.normal()] : strays.map((stray) => -stray)
    const late = timingS.value * strays[0]!
    const ownFace = face.value + faceScatter * strays[1]! + closureRate.value * late
    const ownPath = path.value + pathScatter * strays[2]!
    const start = launchDirection(ownFace, ownPath, share.value)
    return { late, face: ownFace, path: ownPath, start, miss: missAt(distance, start) }
  })
  const sources = new Sources()
  const inputs = numbersOf(input).map(({ value, sigma }) => (sigma > 0 ? measured(value, sigma, sources.fresh()) : exact(value)))
  const known = propagate((v) => {
    const [f, p, k, rate, t] = v as unknown as readonly [number, number, number, number, number]
    const timing = rate * t
    const faces = Math.hypot(timing, faceScatter)
    const start = launchDirection(f, p, k)
    const starts = Math.hypot(k * faces, (1 - k) * pathScatter)
    // A small spread about a start direction is this much at the distance.
    const perDegree = (distance * Math.PI) / 180 / Math.cos((start * Math.PI) / 180) ** 2
    return [faces, timing, start, starts, missAt(distance, start), starts * perDegree]
  }, inputs).map((u): Known => ({ value: u.value, sigma: sigmaOf(u) })) as [Known, Known, Known, Known, Known, Known]
  const [faceSpread, timingSpread, start, startSpread, miss, missSpread] = known
  const misses = shots.map((shot) => shot.miss)
  const q = (p: number): number => quantile(misses, p)
  return {
    shots, faceSpread, timingSpread, start, startSpread, miss, missSpread,
    quantiles: { p5: q(0.05), p16: q(0.16), p50: q(0.5), p84: q(0.84), p95: q(0.95) },
    pull: sideOf(misses.filter((m) => m < 0), count), push: sideOf(misses.filter((m) => m > 0), count),
  }
}

const sideOf = (misses: readonly number[], count: number): Side =>
  ({ share: misses.length / count, typical: misses.length > 0 ? Math.abs(quantile(misses, 0.5)) : 0 })

/** How far the face turns while the ball is on it: impact lasts about .5 ms (Cochran & Stobbs 1968). Degrees. */
export const turnInContact = (closureRate: Known, contactS = 0.0005): Known => ({ value: closureRate.value * contactS, sigma: closureRate.sigma * contactS })
