import { elbowMove } from './elbowMove.ts'
import { forward } from './forward.ts'
import { insteadOf } from './instead.ts'
import type { ArmsModel } from './model.ts'
import { sigmaOfChange, type Spread } from './spread.ts'
import { isArmsRefusal, type ForwardResult, type InverseResult, type Wanted } from './types.ts'

const degrees = 180 / Math.PI
/** Between the elbow places that are looked at, degrees of swivel. */
const grid = 4
const wrap = (d: number): number => d - 360 * Math.round(d / 360)

type Direction = (pose: ForwardResult) => number | null
const directions = {
  azimuthDeg: (pose: ForwardResult) => pose.readings.azimuthDeg,
  azimuthAtLevelDeg: (pose: ForwardResult) => pose.readings.azimuthAtLevelDeg,
} as const

interface Place {
  readonly swivelDeg: number
  /** Wanted minus what it is; null where there is no such direction. */
  readonly left: number | null
}

/** Elbow places over the reachable stretch, ascending. */
function places(model: ArmsModel, of: Direction, wanted: number): Place[] {
  const low = model.branch.lastWithin('low') * degrees
  const high = model.branch.lastWithin('high') * degrees
  const swivels = new Set([low, high, model.swivelDeg])
  for (let k = Math.ceil((low - model.swivelDeg) / grid); model.swivelDeg + k * grid < high; k++) swivels.add(model.swivelDeg + k * grid)
  return [...swivels].toSorted((a, b) => a - b).flatMap((swivelDeg) => {
    const pose = forward(model, swivelDeg)
    if (isArmsRefusal(pose)) return []
    const value = of(pose)
    return [{ swivelDeg, left: value === null ? null : wrap(wanted - value) }]
  })
}

/** The places at which what is left goes through 0, nearest to `from` first. */
function crossings(model: ArmsModel, all: readonly Place[], of: Direction, wanted: number, from: number): number[] {
  const found: number[] = []
  for (let i = 0; i + 1 < all.length; i++) {
    const [a, b] = [all[i]!, all[i + 1]!]
    if (a.left === null || b.left === null || a.left * b.left > 0 || Math.abs(a.left - b.left) > 90) continue
    const root = refine(model, of, wanted, { swivelDeg: a.swivelDeg, left: a.left }, { swivelDeg: b.swivelDeg, left: b.left })
    // Where it goes through 0 at a place itself, both its sides have it.
    if (root !== null && found.every((other) => Math.abs(other - root) > 0.01)) found.push(root)
  }
  return found.toSorted((a, b) => Math.abs(a - from) - Math.abs(b - from))
}

interface Known {
  swivelDeg: number
  left: number
}

/** Regula falsi with halved ends (Illinois). */
function refine(model: ArmsModel, of: Direction, wanted: number, first: Known, second: Known): number | null {
  let a = first
  let b = second
  if (a.left === 0) return a.swivelDeg
  if (b.left === 0) return b.swivelDeg
  for (let i = 0; i < 40; i++) {
    const middle = (a.swivelDeg * b.left - b.swivelDeg * a.left) / (b.left - a.left)
    const pose = forward(model, middle)
    const value = isArmsRefusal(pose) ? null : of(pose)
    if (value === null) return null
    const left = wrap(wanted - value)
    if (Math.abs(left) < 1e-6 || Math.abs(b.swivelDeg - a.swivelDeg) < 1e-7) return middle
    if (left * b.left < 0) a = b
    else a = { ...a, left: a.left / 2 }
    b = { swivelDeg: middle, left }
  }
  return b.swivelDeg
}

const signed = (d: number): string => `${Math.abs(d).toFixed(1)} degrees ${d >= 0 ? 'across' : 'laid off'}`

/**
 * The elbow place that makes the shaft point as wanted, nearest to where it is now; or what else would have to change.
 * @param spread for an interval that holds the model's own error too
 */
export function inverse(model: ArmsModel, wanted: Wanted, spread: Spread | null = null): InverseResult {
  const name = wanted.azimuthDeg !== undefined ? 'azimuthDeg' : 'azimuthAtLevelDeg'
  const target = wanted[name]
  const missed = (why: string): InverseResult => ({ found: false, nearest: null, leftDeg: null, move: null, why, instead: [] })
  if (target === undefined || !Number.isFinite(target) || (wanted.azimuthDeg !== undefined && wanted.azimuthAtLevelDeg !== undefined))
    return missed('Say one direction that is wanted of the shaft, in degrees: its azimuth, or its azimuth at level.')
  const of = directions[name]
  const now = forward(model, model.swivelDeg)
  if (isArmsRefusal(now)) return missed(now.why)
  const all = places(model, of, target)
  const [swivel, ...rest] = crossings(model, all, of, target, model.swivelDeg)
  if (swivel === undefined) return miss(model, all, of, target, now, name)
  const pose = forward(model, swivel, spread)
  if (isArmsRefusal(pose)) return missed(pose.why)
  const move = elbowMove(now, pose)
  const others = rest.flatMap((at) => {
    const there = forward(model, at)
    return isArmsRefusal(there) ? [] : [elbowMove(now, there)]
  })
  const own = spread ? (sigmaOfChange(spread, swivel - model.swivelDeg) ?? 0) : 0
  const sigma = Math.hypot(wanted.sigmaDeg ?? 0, own)
  const ends = ([-1, 1] as const).map((side): ForwardResult | null => {
    if (sigma === 0) return pose
    const at = leaving(model, all, of, target, swivel, side, sigma)
    const end = at === null ? null : forward(model, at)
    return end && !isArmsRefusal(end) ? end : null
  }) as [ForwardResult | null, ForwardResult | null]
  return {
    found: true, pose, move, others,
    interval: {
      swivelDeg: [ends[0]?.readings.swivelDeg ?? null, ends[1]?.readings.swivelDeg ?? null],
      elbowOutCm: ascending(ends.map((end) => end?.readings.elbowOutCm ?? null), pose.readings.elbowOutCm),
    },
    words: `With the trail elbow ${move.words} the shaft is ${target === 0 ? 'on the line' : signed(target)}${name === 'azimuthAtLevelDeg' ? ' at level' : ''}, chest and hands held.${others.length > 0 ? ` The shaft turns back along the arc, so that ${others.map((other) => `the elbow ${other.words}`).join(' or ')} makes the same.` : ''}`,
  }
}

/**
 * Where, going from one elbow place to one side, the shaft first points farther than sigma from what is wanted; null
 * where the reach ends before. The shaft may turn back on the way, so that either bound can be the first to be passed.
 */
function leaving(model: ArmsModel, all: readonly Place[], of: Direction, target: number, from: number, side: -1 | 1, sigma: number): number | null {
  let before: Known = { swivelDeg: from, left: 0 }
  for (const { swivelDeg, left } of side > 0 ? all : all.toReversed()) {
    if ((swivelDeg - from) * side <= 0) continue
    if (left === null) return null
    const bound = Math.sign(left) * sigma
    if (Math.abs(left) >= sigma) return refine(model, of, target - bound, { ...before, left: before.left - bound }, { swivelDeg, left: left - bound })
    before = { swivelDeg, left }
  }
  return null
}

/** Both ends in order; one alone stands on its own side of the middle. */
function ascending([a, b]: readonly (number | null)[], middle: number): readonly [number | null, number | null] {
  if (a == null || b == null) {
    const end = a ?? b ?? null
    return end === null || end <= middle ? [end, null] : [null, end]
  }
  return a <= b ? [a, b] : [b, a]
}

function miss(model: ArmsModel, all: readonly Place[], of: Direction, target: number, now: ForwardResult, name: keyof typeof directions): InverseResult {
  let nearest: Place | null = null
  for (const p of all) if (p.left !== null && (nearest?.left == null || Math.abs(p.left) < Math.abs(nearest.left))) nearest = p
  const level = name === 'azimuthAtLevelDeg' ? ' at level' : ''
  if (!nearest || nearest.left === null)
    return { found: false, nearest: null, leftDeg: null, move: null, why: `At no reachable elbow place can it be foretold where the shaft points${level}: it stands too steeply.`, instead: [] }
  const pose = forward(model, nearest.swivelDeg)
  if (isArmsRefusal(pose)) return { found: false, nearest: null, leftDeg: null, move: null, why: pose.why, instead: [] }
  const value = of(pose)!
  const ends = pose.limits.length ? `, where the ${pose.limits.map((l) => l.words).join(' and the ')}` : ''
  return {
    found: false, nearest: pose, leftDeg: nearest.left, move: elbowMove(now, pose),
    why: `No reachable elbow place makes the shaft ${target === 0 ? 'point along the line' : signed(target)}${level}: the nearest leaves it ${signed(value)}${ends}.`,
    instead: insteadOf(model, pose, of, target),
  }
}
