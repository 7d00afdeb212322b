import { seededRandom, type Random } from '../signal/random.ts'
import { drawnEase, termNames, type Weights } from './cost.ts'
import { elbowRadius } from './elbowMove.ts'
import { createArms, type ArmsModel, type CreateOptions } from './model.ts'
import { poseOf } from './pose.ts'
import { usualAnchor } from './usualAnchor.ts'
import { isArmsRefusal, type ArmsInput, type Known } from './types.ts'

/**
 * What the model does not know, by sampling: the same question is asked of many models, each with its own draw of the
 * cost's weights, the segments' lengths and, for a fitted student, of everything that was fitted; where nobody was filmed, of
 * every joint's easy middle and the pose itself. The same seed gives the same draws.
 */
export interface Spread {
  /** Degrees of swivel from now, ascending, 0 among them. */
  readonly offsets: readonly number[]
  /** For each draw, the change of azimuth at each offset, degrees; NaN where its branch does not go so far. */
  readonly changes: readonly (readonly number[])[]
  /** The model's own. */
  readonly own: readonly number[]
  readonly slopes: { readonly perCm: Known; readonly perDegree: Known; readonly perOutCm: Known | null } | null
  /** Draws that closed, of how many. */
  readonly closed: number
  readonly drawn: number
}

const degrees = 180 / Math.PI
/** A sketch may be this far off in its absolute direction, one standard deviation: a generic model was 40 degrees off on a recorded swing. */
export const sketchSigmaDeg = 40
/** A weight is known to a factor of two either way: nothing was published, so this is wide. */
const weightFactor = Math.LN2
const usualCount = 40
/** Degrees of swivel between the places that are looked at, and for the slope. */
const spacing = 9
const slopeStep = 3

export interface SpreadOptions {
  readonly count?: number
  readonly seed?: number
  /** A draw of the whole input (a fit's own); else the lengths alone are drawn. */
  readonly draw?: (random: Random) => ArmsInput
}

function drawnWeights(of: Weights, random: Random): Weights {
  const arm = (side: 'lead' | 'trail') => Object.fromEntries(termNames.map((name) => [name, of[side][name] * Math.exp(weightFactor * random.normal())])) as Weights['lead']
  return { lead: arm('lead'), trail: arm('trail') }
}

function drawnLengths(input: ArmsInput, random: Random): ArmsInput {
  const factor = (): number => Math.max(0.5, 1 + input.lengthSigma * random.normal())
  const { arms, grip } = input.body
  // Both arms of one person go together.
  const upper = factor()
  const fore = factor()
  const hand = factor()
  const scaled = (side: 'lead' | 'trail') => ({ upperArm: arms[side].upperArm * upper, forearm: arms[side].forearm * fore })
  const held = (side: 'lead' | 'trail') => ({ ...grip[side], awayM: grip[side].awayM * hand })
  return { ...input, body: { ...input.body, arms: { lead: scaled('lead'), trail: scaled('trail') }, grip: { ...grip, lead: held('lead'), trail: held('trail') } } }
}

/** How far a usual pose's shaft and elbow may be from where a player has them, degrees: common practice, no source. */
const usualPoseSigma = { azimuth: 15, elevation: 10, swivel: 15 } as const

/** A pose that nobody filmed is one of many: another like it, with the same chest and hands; the same where that one does not close. */
function drawnPose(input: ArmsInput, swivelDeg: number, random: Random): ArmsInput {
  const [x, y, z] = input.anchor!.shaft
  const other = usualAnchor(input, {
    azimuthDeg: Math.atan2(z, x) * degrees + usualPoseSigma.azimuth * random.normal(),
    elevationDeg: Math.asin(Math.max(-1, Math.min(1, y))) * degrees + usualPoseSigma.elevation * random.normal(),
    swivelDeg: swivelDeg + usualPoseSigma.swivel * random.normal(),
  })
  return other ? { ...input, anchor: other.anchor } : input
}

interface Reading {
  readonly azimuth: number
  readonly out: number
  readonly radiusCm: number
}

function readAt(model: ArmsModel, swivelDeg: number): Reading | null {
  const found = model.branch.at(swivelDeg === model.swivelDeg ? model.branch.now.swivel : (swivelDeg * Math.PI) / 180)
  if ('reason' in found) return null
  const pose = poseOf(model.input, model.chain, found.posture, model.ease, model.turning)
  return pose && { azimuth: pose.readings.azimuthDeg, out: pose.readings.elbowOutCm, radiusCm: 100 * elbowRadius(pose) }
}

const wrap = (d: number): number => d - 360 * Math.round(d / 360)

interface Slopes {
  readonly perCm: number
  readonly perDegree: number
  readonly perOutCm: number
}
/** An arc that leads out of the body plane by less than this share of its own length says nothing a centimetre out. */
const leastOut = 0.3

/** Central over a few degrees; one-sided at the end of the branch. */
function slopesAt(model: ArmsModel, swivelDeg: number): Slopes | null {
  const here = readAt(model, swivelDeg)
  const high = readAt(model, swivelDeg + slopeStep) ?? here
  const low = readAt(model, swivelDeg - slopeStep) ?? here
  if (!here || !high || !low || high === low) return null
  const turn = wrap(high.azimuth - low.azimuth)
  const degrees = (high === here ? 0 : slopeStep) + (low === here ? 0 : slopeStep)
  const arc = (here.radiusCm * degrees * Math.PI) / 180
  const out = high.out - low.out
  return { perCm: turn / arc, perDegree: turn / degrees, perOutCm: Math.abs(out) > leastOut * arc ? turn / out : NaN }
}

/** Root mean square about the model's own value: what the draws scatter and what they are shifted by. */
function deviation(values: readonly number[], own: number): number {
  const good = values.filter(Number.isFinite)
  return good.length < 2 ? NaN : Math.sqrt(good.reduce((sum, v) => sum + (v - own) ** 2, 0) / (good.length - 1))
}

export function spreadOf(model: ArmsModel, { count = usualCount, seed = 1, draw }: SpreadOptions = {}): Spread {
  const random = seededRandom(seed)
  const low = (model.branch.lastWithin('low') * 180) / Math.PI - model.swivelDeg
  const high = (model.branch.lastWithin('high') * 180) / Math.PI - model.swivelDeg
  const offsets: number[] = []
  for (let k = Math.floor(low / spacing); k <= Math.ceil(high / spacing); k++) offsets.push(k * spacing)
  const changesOf = (of: ArmsModel, from: number): number[] => {
    const base = readAt(of, from)
    return offsets.map((offset) => {
      const there = offset === 0 ? base : readAt(of, from + offset)
      return base && there ? wrap(there.azimuth - base.azimuth) : NaN
    })
  }
  const own = changesOf(model, model.swivelDeg)
  const ownSlopes = slopesAt(model, model.swivelDeg)
  const changes: number[][] = []
  const slopes: Slopes[] = []
  for (let i = 0; i < count; i++) {
    const weights = drawnWeights(model.weights, random)
    const lengths = draw ? draw(random) : drawnLengths(model.input, random)
    const isSketch = !model.input.anchor?.filmed
    const input = isSketch && lengths.anchor ? drawnPose(lengths, model.swivelDeg, random) : lengths
    const middles = !isSketch ? {} : { middles: ((of) => ({ lead: drawnEase(of.lead, 'lead', random), trail: drawnEase(of.trail, 'trail', random) })) satisfies CreateOptions['middles'] }
    const member = createArms(input, weights, { near: model, step: spacing, ...middles })
    if (isArmsRefusal(member)) continue
    // A pose is where each draw stands by itself; without one a draw stands where the model's own does.
    const from = model.input.anchor ? member.swivelDeg : model.swivelDeg
    changes.push(changesOf(member, from))
    const s = slopesAt(member, from)
    if (s) slopes.push(s)
  }
  const known = (name: keyof Slopes): Known => ({ value: ownSlopes![name], sigma: deviation(slopes.map((s) => s[name]), ownSlopes![name]) })
  return {
    offsets, changes, own, closed: changes.length, drawn: count,
    slopes: ownSlopes && slopes.length > 1 ? { perCm: known('perCm'), perDegree: known('perDegree'), perOutCm: Number.isFinite(ownSlopes.perOutCm) ? known('perOutCm') : null } : null,
  }
}

/** One standard deviation of the change of azimuth at so many degrees of swivel from now, degrees; null past what the draws reach. */
export function sigmaOfChange({ offsets, changes, own }: Spread, offset: number): number | null {
  const sigmas = offsets.map((_, i) => deviation(changes.map((row) => row[i]!), own[i]!))
  if (offsets.length === 0) return null
  const k = Math.min(offsets.length - 2, Math.max(0, offsets.findLastIndex((o) => o <= offset)))
  if (offsets.length === 1) return Math.abs(offset - offsets[0]!) < 1e-9 ? 0 : null
  const t = (offset - offsets[k]!) / (offsets[k + 1]! - offsets[k]!)
  const sigma = sigmas[k]! + (sigmas[k + 1]! - sigmas[k]!) * Math.max(0, Math.min(1, t))
  return Number.isFinite(sigma) ? sigma : null
}
