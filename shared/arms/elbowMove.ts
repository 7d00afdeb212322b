import { dot3, length3, scale3, sub3, type Vec3 } from '../geometry/vec.ts'
import { isNoSwivel, swivelCircle } from './swivel.ts'
import type { ArmsPose, ElbowMove } from './types.ts'

/** The level direction in which the trail elbow goes as it is turned out; null where the arm hangs straight down. */
export function outward({ trail }: Pick<ArmsPose, 'trail'>): Vec3 | null {
  const circle = swivelCircle(trail.shoulder, trail.wrist, [0, -1, 0])
  return isNoSwivel(circle) ? null : scale3(circle.v, -1)
}

const part = (cm: number, plus: string, minus: string): string | null => (Math.abs(cm) < 0.05 ? null : `${Math.abs(cm).toFixed(1)} cm ${cm > 0 ? plus : minus}`)

/** From one elbow place to another, in the coach's words. */
export function elbowMove(from: ArmsPose, to: ArmsPose): ElbowMove {
  const off = sub3(to.trail.elbow, from.trail.elbow)
  const out = outward(from)
  const inCm = out ? -100 * dot3(off, out) : 0
  const downCm = -100 * off[1]
  const words = [part(inCm, 'in', 'out behind'), part(downCm, 'down', 'up')].filter((w) => w !== null).join(', ')
  return { cm: 100 * length3(off), inCm, downCm, swivelDeg: to.readings.swivelDeg - from.readings.swivelDeg, words: words || 'where it is' }
}

/** Radius of the circle on which the trail elbow goes, metres. */
export function elbowRadius({ trail }: Pick<ArmsPose, 'trail'>): number {
  const line = sub3(trail.wrist, trail.shoulder)
  const n = scale3(line, 1 / length3(line))
  const off = sub3(trail.elbow, trail.shoulder)
  return length3(sub3(off, scale3(n, dot3(off, n))))
}
