import { add3, length3, scale3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { measured } from '../signal/uncertain.ts'
import { inputOf, place, rowOf, seenOf, usualOf, type Seen } from './fitBody.ts'
import { fitChain, type ChainProblem, type FitPoint, type Observation } from './fitChain.ts'
import type { ArmsInput } from './types.ts'

/** Fits the closed chain to points that are known in the world: a recorded swing's joints. */

export interface WorldFit {
  readonly seen: Seen
  /** The pose as an input, its anchor. */
  readonly input: ArmsInput
  /** The body's numbers that do not change from frame to frame: lengths and hold, to be handed on as `constants`. */
  readonly constants: ReadonlyMap<number, number>
  /** Root mean square distance of the model from the points, metres, and each point's own. */
  readonly rms: number
  readonly off: Readonly<Partial<Record<FitPoint, number>>>
}

/** What stays with the body: both lengths, both holds. */
const constant = [place.upperArm, place.forearm, place.leadAlong, place.leadAway, place.trailAlong, place.trailAway, place.trailRound, place.butt, place.shaftEnd]

export type WorldPoints = Readonly<Record<'leadShoulder' | 'trailShoulder' | 'leadElbow' | 'trailElbow' | 'leadWrist' | 'trailWrist' | 'leadHip' | 'trailHip' | 'leadFist' | 'trailFist', Vec3>>

/**
 * @param sigmaM how well the points are known @param constants lengths and hold that are known from before
 * @returns null where the points have no directions
 */
export function fitWorld(points: WorldPoints, statureM: number, sigmaM: number, constants?: ReadonlyMap<number, number>): WorldFit | null {
  const { leadFist, trailFist } = points
  const shaft = unit3(sub3(trailFist, leadFist))
  if (!shaft) return null
  const lengthM = 0.94
  const buttM = 0.0975
  const first = rowOf({ ...points, shaft, hands: scale3(add3(leadFist, trailFist), 0.5), trunkBase: scale3(add3(points.leadHip, points.trailHip), 0.5) }, usualOf(statureM), buttM, lengthM - buttM)
  if (!first) return null
  if (constants) for (const [k, value] of constants) first.row[k] = value
  let source = 0
  const names = Object.keys(points) as (keyof WorldPoints)[]
  const observations = names.map((point): Observation => {
    const [x, y, z] = points[point]
    return { kind: 'world', point, label: point, view: 'world', at: [measured(x, sigmaM, source++), measured(y, sigmaM, source++), measured(z, sigmaM, source++)] }
  })
  const problem: ChainProblem = {
    start: first.start, observations, cameras: [], usual: usualOf(statureM), club: { buttM, endM: lengthM - buttM, endSigma: 0.03 }, likely: null, ...(constants && { held: constants }),
  }
  const fit = fitChain(problem, first.row, [])
  if (!fit) return null
  const seen = seenOf(first.start, fit.row)
  const input = inputOf(first.start, fit.row, { lengthM }, null, 0)
  if (!input) return null
  const off: Partial<Record<FitPoint, number>> = {}
  let sum = 0
  for (const point of names) {
    const d = length3(sub3(seen[point], points[point]))
    off[point] = d
    sum += d * d
  }
  return { seen, input, constants: new Map(constant.map((k) => [k, fit.row[k]!])), rms: Math.sqrt(sum / names.length), off }
}
