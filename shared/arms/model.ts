import { add3, cross3, dot3, length3, scale3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { turningOf, usualTurning, type Turning } from './atLevel.ts'
import { Branch } from './branch.ts'
import { chainOf, copyPosture, fromChest, leadReference, makeWorkspace, readPosture, toChest, type Chain, type Posture } from './chain.ts'
import { filmedEase, genericEase, weights as usualWeights, type Ease, type Weights } from './cost.ts'
import { headLineIn } from './headLine.ts'
import { inputFault } from './inputFault.ts'
import { wrapAngle } from './joints.ts'
import { LeastCost, type Costed } from './leastCost.ts'
import { isNoSwivel, swivelOf, trailSwivelDeg } from './swivel.ts'
import type { ArmsInput, ArmsRefusal, ModelKind, Side } from './types.ts'

/** A body with its club held somewhere, ready to be asked: made once, it remembers what it has found. */
export interface ArmsModel {
  readonly input: ArmsInput
  readonly kind: ModelKind
  readonly chain: Chain
  readonly ease: Readonly<Record<Side, Ease>>
  readonly turning: Turning
  readonly branch: Branch
  /** Where the elbow is now, degrees. */
  readonly swivelDeg: number
  readonly weights: Weights
}

const refuse = (refused: ArmsRefusal['refused'], why: string, nearest: ArmsRefusal['nearest'] = null): ArmsRefusal => ({ refused, why, nearest })

/** The wrist of a hand on a club that points along `shaft`, its lead wrist toward `side`. */
export function wristAt({ body, hands }: Pick<ArmsInput, 'body' | 'hands'>, which: Side, shaft: Vec3, side: Vec3): Vec3 {
  const hold = body.grip[which]
  const round = (hold.roundDeg * Math.PI) / 180
  const off = add3(scale3(side, Math.cos(round)), scale3(cross3(shaft, side), Math.sin(round)))
  return add3(hands, add3(scale3(shaft, hold.alongM), scale3(off, hold.awayM)))
}

function filmedPosture(input: ArmsInput): Posture | ArmsRefusal {
  const anchor = input.anchor!
  const { axes, leadShoulder, trailShoulder } = input.chest
  const shaft = unit3(anchor.shaft)!
  const side = unit3(sub3(anchor.side, scale3(shaft, dot3(anchor.side, shaft))))
  if (!side) return refuse('bad-input', 'The side of the shaft on which the lead wrist lies has no direction.')
  const lead = swivelOf(leadShoulder, anchor.leadElbow, wristAt(input, 'lead', shaft, side), fromChest(axes, leadReference))
  const trail = trailSwivelDeg(trailShoulder, anchor.trailElbow, wristAt(input, 'trail', shaft, side))
  if (isNoSwivel(trail))
    return refuse('swivel-undefined', trail.fault === 'reference-along-the-arm' ? 'The trail arm hangs straight down, so that its elbow has no place round it that could be told.' : 'The trail arm is straight, so that its elbow has no place round it that could be told.')
  // A straight lead elbow has no swivel, and then it does not matter which.
  return { shaft: Float64Array.from(toChest(axes, shaft)), side: Float64Array.from(toChest(axes, side)), lead: isNoSwivel(lead) ? 0 : lead, trail: (trail * Math.PI) / 180 }
}

/** Directions that a club has about the swing, world: level at the top, short of level, level on the way, at address, up. */
const firstShafts: readonly Vec3[] = [[1, 0, 0], [0.7, 0.7, 0], [-1, 0, 0], [0, -0.8, 0.6], [0, 1, 0]]
const firstSwivels = [0, 40]
const farthest = (110 * Math.PI) / 180

/** The posture of least cost of all, the elbow free: where nothing was filmed, that is where it is taken to be now. */
function easiest({ input, ...costed }: Costed & { readonly input: ArmsInput }): Posture | null {
  const search = new LeastCost(costed)
  const { axes, leadShoulder } = input.chest
  const starts: { posture: Posture; cost: number }[] = []
  for (const first of firstShafts) {
    const shaft = unit3(first)!
    const arm = sub3(leadShoulder, input.hands)
    const side = unit3(sub3(arm, scale3(shaft, dot3(arm, shaft))))
    if (!side) continue
    for (const swivel of firstSwivels)
      for (const lead of [0, 2.1, -2.1]) {
        const posture: Posture = { shaft: Float64Array.from(toChest(axes, shaft)), side: Float64Array.from(toChest(axes, side)), lead, trail: (swivel * Math.PI) / 180 }
        const cost = search.cost(posture)
        if (Number.isFinite(cost)) starts.push({ posture, cost })
      }
  }
  let best: { posture: Posture; cost: number } | null = null
  for (const { posture } of starts.toSorted((a, b) => a.cost - b.cost).slice(0, 6)) {
    const cost = search.find(posture, 5, 1e-9, 200)
    posture.trail = wrapAngle(posture.trail)
    // An elbow carried over the arm costs little too, but nobody plays so.
    if (cost !== null && Math.abs(posture.trail) < farthest && (!best || cost < best.cost)) best = { posture, cost }
  }
  return best?.posture ?? null
}

function easiestNear(near: ArmsModel, costed: Costed): Posture | null {
  const posture = copyPosture(near.branch.now.posture)
  return new LeastCost(costed).find(posture, 5, 1e-7, 200) === null ? null : posture
}

/** How far the hands would have to come toward the chest (or go from it) for the chain to close, in words with the place. */
function nearestHands(input: ArmsInput): ArmsRefusal['nearest'] {
  const { leadShoulder, trailShoulder, axes } = input.chest
  const middle = scale3(add3(leadShoulder, trailShoulder), 0.5)
  const { upperArm, forearm } = input.body.arms.trail
  // A place that surely can be reached: in front of the chest at an easy bend.
  const easy = add3(middle, scale3(axes.front, 0.75 * (upperArm + forearm)))
  const place = (t: number): Vec3 => add3(input.hands, scale3(sub3(easy, input.hands), t))
  const holds = (t: number): boolean => buildModel({ ...input, hands: place(t), anchor: null }, usualWeights, {}) !== null
  if (!holds(1)) return null
  let out = 0
  let inside = 1
  for (let i = 0; i < 8; i++) {
    const t = (out + inside) / 2
    if (holds(t)) inside = t
    else out = t
  }
  const hands = place(inside)
  return { hands, words: `the hands ${(100 * length3(sub3(hands, input.hands))).toFixed(1)} cm nearer to an easy place before the chest` }
}

export interface CreateOptions {
  /** A model much like this one: where nothing was filmed, the search starts from it and not from afar. */
  readonly near?: ArmsModel
  /** Degrees of swivel between the postures by which the branch is followed. */
  readonly step?: number
  /** Other easy middles than the pose's own, made of them: the pose is then the one of least cost at the same elbow place. */
  readonly middles?: (of: Readonly<Record<Side, Ease>>) => Readonly<Record<Side, Ease>>
}

function buildModel(input: ArmsInput, weights: Weights, { near, step, middles }: CreateOptions): ArmsModel | ArmsRefusal | null {
  const chain = chainOf(input)
  let posture: Posture | null
  let ease: Readonly<Record<Side, Ease>>
  let turning = usualTurning
  if (input.anchor) {
    const filmed = filmedPosture(input)
    if ('refused' in filmed) return filmed
    const work = makeWorkspace()
    if (!readPosture(chain, filmed, work)) return null
    posture = filmed
    ease = { lead: filmedEase(work.lead), trail: filmedEase(work.trail) }
    const line = headLineIn(fromChest(input.chest.axes, filmed.shaft), fromChest(input.chest.axes, filmed.side), input.body.club.headLine)
    turning = (input.turning && turningOf(input.turning, line)) ?? usualTurning
    if (middles) {
      ease = middles(ease)
      if (new LeastCost({ chain, ease, weights }).find(posture, 4, 1e-7, 200) === null) return null
    }
  } else {
    ease = { lead: genericEase('lead'), trail: genericEase('trail') }
    if (middles) ease = middles(ease)
    posture = near ? easiestNear(near, { chain, ease, weights }) : null
    posture ??= easiest({ input, chain, ease, weights })
    if (!posture) return null
  }
  const branch = new Branch({ chain, ease, weights }, posture, step)
  return { input, kind: input.anchor?.filmed ? 'anchored' : 'sketch', chain, ease, turning, branch, swivelDeg: (posture.trail * 180) / Math.PI, weights }
}

/** Checks what the chain is made of and finds where it is now; or says what cannot hold, and the nearest that can. */
export function createArms(input: ArmsInput, weights: Weights = usualWeights, options: CreateOptions = {}): ArmsModel | ArmsRefusal {
  const fault = inputFault(input)
  if (fault) return fault
  const model = buildModel(input, weights, options)
  if (model) return model
  const short = input.anchor ? reachWords(input) : null
  return refuse('out-of-reach', short ?? 'The hands are out of reach of one arm or the other, wherever the club points.', nearestHands(input))
}

/** Which arm does not reach the filmed club, and by how much. */
function reachWords(input: ArmsInput): string | null {
  const shaft = unit3(input.anchor!.shaft)!
  const side = unit3(sub3(input.anchor!.side, scale3(shaft, dot3(input.anchor!.side, shaft))))
  if (!side) return null
  for (const which of ['lead', 'trail'] as const) {
    const d = length3(sub3(wristAt(input, which, shaft, side), which === 'lead' ? input.chest.leadShoulder : input.chest.trailShoulder))
    const { upperArm, forearm } = input.body.arms[which]
    const over = d - upperArm - forearm
    const under = Math.abs(upperArm - forearm) - d
    if (over >= 0) return `The ${which} wrist is ${(100 * over).toFixed(1)} cm out of its arm's reach of ${(100 * (upperArm + forearm)).toFixed(1)} cm.`
    if (under >= 0) return `The ${which} wrist is ${(100 * under).toFixed(1)} cm nearer to its shoulder than its arm can fold.`
  }
  return null
}
