import { add3, scale3, type Vec3 } from '../geometry/vec.ts'
import { chainOf, copyPosture, type Posture } from './chain.ts'
import { LeastCost } from './leastCost.ts'
import type { ArmsModel } from './model.ts'
import { poseOf } from './pose.ts'
import type { ArmsInput, ForwardResult } from './types.ts'

/** What else than the elbow would make the shaft point as wanted, each by itself, with the elbow as near as it comes. */

const wrap = (d: number): number => d - 360 * Math.round(d / 360)
/** Farther than this nobody would be asked to take the hands, metres; or to turn, degrees. */
const farthestM = 0.15
const farthestDeg = 30
const probeM = 0.02

type Direction = (pose: ForwardResult) => number | null

function directionWith(model: ArmsModel, start: Posture, hands: Vec3, of: Direction, like: ForwardResult): number | null {
  const input: ArmsInput = { ...model.input, hands }
  const chain = chainOf(input)
  const posture = copyPosture(start)
  if (new LeastCost({ chain, ease: model.ease, weights: model.weights }).find(posture, 4, 1e-7) === null) return null
  const pose = poseOf(input, chain, posture, model.ease, model.turning)
  return pose && !pose.limits.some((l) => l.beyond) ? of({ ...like, ...pose }) : null
}

/** How far along a direction the hands would have to go, metres; null where it would be too far or does not do it. */
function handsBy(model: ArmsModel, nearest: ForwardResult, along: Vec3, of: Direction, target: number): number | null {
  const found = model.branch.at((nearest.readings.swivelDeg * Math.PI) / 180)
  const here = of(nearest)
  if ('reason' in found || here === null) return null
  const at = (m: number): number | null => directionWith(model, found.posture, add3(model.input.hands, scale3(along, m)), of, nearest)
  let last = { m: 0, left: wrap(target - here) }
  let m = probeM
  for (let i = 0; i < 8; i++) {
    const value = at(m)
    if (value === null) return null
    const left = wrap(target - value)
    if (Math.abs(left) < 0.3) return m
    const slope = (left - last.left) / (m - last.m)
    if (!(Math.abs(slope) > 20)) return null
    last = { m, left }
    m -= left / slope
    if (!(Math.abs(m) <= farthestM)) return null
  }
  return null
}

export function insteadOf(model: ArmsModel, nearest: ForwardResult, of: Direction, target: number): string[] {
  const { front } = model.input.chest.axes
  const ways: readonly (readonly [Vec3, plus: string, minus: string])[] = [
    [[0, 1, 0], 'higher', 'lower'], [front, 'farther from the chest', 'nearer to the chest'], [[0, 0, 1], 'toward the ball', 'deeper, away from the ball'],
  ]
  const hands = ways
    .flatMap(([along, plus, minus]) => {
      const m = handsBy(model, nearest, along, of, target)
      return m === null ? [] : [{ m: Math.abs(m), words: `the hands ${Math.abs(100 * m).toFixed(0)} cm ${m > 0 ? plus : minus}` }]
    })
    .toSorted((a, b) => a.m - b.m)
    .map((one) => one.words)
  const here = of(nearest)
  const left = here === null ? null : wrap(target - here)
  // Chest, arms and club together turn the shaft by as much as they turn themselves.
  const turn = left === null || Math.abs(left) > farthestDeg ? [] : [`chest and arms together turned ${Math.abs(left).toFixed(0)} degrees ${left > 0 ? 'farther from' : 'less from'} the target`]
  return [...hands, ...turn]
}
