import { add3, cross3, dot3, length3, scale3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { axesFrom, sideOf, type BodyPoints } from './fromPoints.ts'
import { fistShare, fractions, usualApart, usualSlantDeg } from './standard.ts'
import { fistHollow } from './joints.ts'
import type { ArmsInput } from './types.ts'

/**
 * A whole body with its club as a row of numbers that a fit may change freely: whatever they are, the chain is closed. Places in
 * metres, turns in radians, lengths as logarithms of their ratio to the start's.
 */
export const place = {
  hands: 0, turn: 3, leadShoulder: 6, trailShoulder: 9, trailHip: 12, leadHip: 15,
  leadSwivel: 18, trailSwivel: 19, upperArm: 20, forearm: 21,
  leadAlong: 22, leadAway: 23, trailAlong: 24, trailAway: 25, trailRound: 26, butt: 27, shaftEnd: 28,
} as const
export const numbersOfBody = 29

/** What the numbers are counted from. */
export interface Start {
  readonly shaft: Vec3
  readonly side: Vec3
  /** Which way each elbow lies off its arm's line. */
  readonly leadPole: Vec3
  readonly trailPole: Vec3
  readonly upperArm: number
  readonly forearm: number
}

/** Lengths usual for a stature; where the stature is not known, a middle one with a wider error. */
export interface Usual {
  readonly statureM: number
  readonly spread: number
}
export const usualOf = (statureM: number | undefined): Usual => (statureM === undefined ? { statureM: 1.74, spread: 0.09 } : { statureM, spread: 0.05 })

/** Everything that is seen of a body, world. */
export interface Seen extends BodyPoints {
  readonly leadHip: Vec3
  readonly side: Vec3
  readonly butt: Vec3
  readonly shaftEnd: Vec3
  /** The middles of the fists, on the shaft. */
  readonly leadFist: Vec3
  readonly trailFist: Vec3
  /** Each arm's stretch past what its lengths allow, as a share of them; 0 where it reaches. */
  readonly over: readonly [lead: number, trail: number]
}

function turned(v: Vec3, x: number, y: number, z: number): Vec3 {
  const angle = Math.hypot(x, y, z)
  if (angle === 0) return v
  const s = Math.sin(angle) / angle
  const c = (1 - Math.cos(angle)) / (angle * angle)
  const once: Vec3 = cross3([x, y, z], v)
  return add3(v, add3(scale3(once, s), scale3(cross3([x, y, z], once), c)))
}

/** The nearest to straight that an arm is let go: its elbow then has no side. */
const straightest = 0.99995

function elbowOf(shoulder: Vec3, wrist: Vec3, upperArm: number, forearm: number, pole: Vec3, swivel: number): { readonly elbow: Vec3; readonly over: number } {
  const line = sub3(wrist, shoulder)
  const d = length3(line)
  const n = scale3(line, 1 / d)
  const most = straightest * (upperArm + forearm)
  const least = Math.abs(upperArm - forearm) / straightest
  const over = d > most ? d / most - 1 : d < least ? least / Math.max(d, 1e-6) - 1 : 0
  const held = Math.max(least, Math.min(most, d))
  const cosAlpha = (upperArm * upperArm + held * held - forearm * forearm) / (2 * upperArm * held)
  const sinAlpha = Math.sqrt(Math.max(0, 1 - cosAlpha * cosAlpha))
  const u = unit3(sub3(pole, scale3(n, dot3(pole, n)))) ?? cross3(n, [0, 1, 0])
  const v = cross3(n, u)
  const round = add3(scale3(u, Math.cos(swivel)), scale3(v, Math.sin(swivel)))
  // Out of reach, the arm is drawn along its line to the wrist, so that the fit sees the way back.
  const k = d / held
  return { elbow: add3(shoulder, add3(scale3(n, k * upperArm * cosAlpha), scale3(round, upperArm * sinAlpha))), over }
}

const at3 = (p: ArrayLike<number>, k: number): Vec3 => [p[k]!, p[k + 1]!, p[k + 2]!]

export function seenOf(start: Start, p: ArrayLike<number>): Seen {
  const hands = at3(p, place.hands)
  const shaft = turned(start.shaft, p[3]!, p[4]!, p[5]!)
  const side = turned(start.side, p[3]!, p[4]!, p[5]!)
  const other = cross3(shaft, side)
  const leadShoulder = at3(p, place.leadShoulder)
  const trailShoulder = at3(p, place.trailShoulder)
  const trailHip = at3(p, place.trailHip)
  const leadHip = at3(p, place.leadHip)
  const upperArm = start.upperArm * Math.exp(p[place.upperArm]!)
  const forearm = start.forearm * Math.exp(p[place.forearm]!)
  const leadWrist = add3(hands, add3(scale3(shaft, p[place.leadAlong]!), scale3(side, p[place.leadAway]!)))
  const round = p[place.trailRound]!
  const off = add3(scale3(side, Math.cos(round)), scale3(other, Math.sin(round)))
  const trailWrist = add3(hands, add3(scale3(shaft, p[place.trailAlong]!), scale3(off, p[place.trailAway]!)))
  const lead = elbowOf(leadShoulder, leadWrist, upperArm, forearm, start.leadPole, p[place.leadSwivel]!)
  const trail = elbowOf(trailShoulder, trailWrist, upperArm, forearm, start.trailPole, p[place.trailSwivel]!)
  return {
    hands, shaft, side, leadShoulder, trailShoulder, trailHip, leadHip, leadWrist, trailWrist, leadElbow: lead.elbow, trailElbow: trail.elbow,
    trunkBase: scale3(add3(leadHip, trailHip), 0.5), butt: add3(hands, scale3(shaft, -p[place.butt]!)), shaftEnd: add3(hands, scale3(shaft, p[place.shaftEnd]!)),
    leadFist: add3(hands, scale3(shaft, -usualApart / 2)), trailFist: add3(hands, scale3(shaft, usualApart / 2)),
    over: [lead.over, trail.over],
  }
}

/** The row of a body as it is first guessed, and what it is counted from; null where the guess has no directions. */
export function rowOf(guess: BodyPoints & { readonly leadHip: Vec3 }, usual: Usual, buttToHandsM: number, endToHandsM: number): { readonly start: Start; readonly row: Float64Array } | null {
  const shaft = unit3(guess.shaft)
  const side = shaft && (sideOf(guess.leadWrist, guess.hands, shaft) ?? unit3(cross3(shaft, [0, 0, 1])))
  if (!shaft || !side) return null
  const upperArm = fractions.upperArm * usual.statureM
  const forearm = fractions.forearm * usual.statureM
  const pole = (shoulder: Vec3, elbow: Vec3, wrist: Vec3): Vec3 => {
    const n = unit3(sub3(wrist, shoulder)) ?? [0, -1, 0]
    const off = sub3(elbow, shoulder)
    return unit3(sub3(off, scale3(n, dot3(off, n)))) ?? [0, -1, 0]
  }
  const start: Start = {
    shaft, side, upperArm, forearm,
    leadPole: pole(guess.leadShoulder, guess.leadElbow, guess.leadWrist), trailPole: pole(guess.trailShoulder, guess.trailElbow, guess.trailWrist),
  }
  const other = cross3(shaft, side)
  const off = (wrist: Vec3): { along: number; a: number; b: number } => {
    const v = sub3(wrist, guess.hands)
    return { along: dot3(v, shaft), a: dot3(v, side), b: dot3(v, other) }
  }
  const lead = off(guess.leadWrist)
  const trail = off(guess.trailWrist)
  const row = new Float64Array(numbersOfBody)
  row.set(guess.hands, place.hands)
  row.set(guess.leadShoulder, place.leadShoulder)
  row.set(guess.trailShoulder, place.trailShoulder)
  row.set(guess.trailHip, place.trailHip)
  row.set(guess.leadHip, place.leadHip)
  row[place.leadAlong] = lead.along
  row[place.leadAway] = Math.max(0.02, lead.a)
  row[place.trailAlong] = trail.along
  row[place.trailAway] = Math.max(0.02, Math.hypot(trail.a, trail.b))
  row[place.trailRound] = Math.hypot(trail.a, trail.b) > 0.01 ? Math.atan2(trail.b, trail.a) : 2 * fistHollow
  row[place.butt] = buttToHandsM
  row[place.shaftEnd] = endToHandsM
  return { start, row }
}

/** What is usual of a body, each as how far the numbers are from it in its own standard deviation. */
export const usualCount = 15
export function writeUsual(out: Float64Array, from: number, start: Start, p: ArrayLike<number>, seen: Seen, { statureM, spread }: Usual, club: { readonly buttM: number; readonly endM: number; readonly endSigma: number }): void {
  const fist = fistShare * fractions.hand * statureM
  const hand = (k: number, along: number, away: number, middle: number): void => {
    const size = Math.hypot(away, along - middle)
    out[k] = Math.log(size / fist) / 0.15
    // The slant of the shaft to the hand's axis: people hold the club from the fingers to the palm.
    out[k + 1] = (Math.atan2(away, middle - along) - (usualSlantDeg * Math.PI) / 180) / 0.4
  }
  out[from] = p[place.upperArm]! / spread
  out[from + 1] = p[place.forearm]! / spread
  hand(from + 2, p[place.leadAlong]!, p[place.leadAway]!, -usualApart / 2)
  hand(from + 4, p[place.trailAlong]!, p[place.trailAway]!, usualApart / 2)
  const round = p[place.trailRound]! - 2 * fistHollow
  out[from + 6] = (round - 2 * Math.PI * Math.round(round / (2 * Math.PI))) / 1.2
  out[from + 7] = Math.log(length3(sub3(seen.leadShoulder, seen.trailShoulder)) / (0.22 * statureM)) / (spread + 0.05)
  out[from + 8] = Math.log(length3(sub3(seen.leadHip, seen.trailHip)) / (0.11 * statureM)) / 0.2
  const trunk = sub3(scale3(add3(seen.leadShoulder, seen.trailShoulder), 0.5), seen.trunkBase)
  out[from + 9] = Math.log(length3(trunk) / ((fractions.shoulderHeight - fractions.hipHeight) * statureM)) / (spread + 0.05)
  out[from + 10] = (p[place.butt]! - club.buttM) / 0.03
  out[from + 11] = (p[place.shaftEnd]! - club.endM) / club.endSigma
  // A metre of stretch past reach is no error of a point but a break of the chain.
  out[from + 12] = seen.over[0] / 2e-3
  out[from + 13] = seen.over[1] / 2e-3
  // The wrist stays off the shaft.
  out[from + 14] = Math.max(0, 0.02 - p[place.leadAway]!) / 0.005 + Math.max(0, 0.02 - p[place.trailAway]!) / 0.005
}

/** The input of a row of numbers, its pose as anchor; each arm's lengths are taken as much longer as its wrist is out of reach. */
export function inputOf(start: Start, p: ArrayLike<number>, club: { readonly lengthM: number }, turning: Vec3 | null, lengthSigma: number): ArmsInput | null {
  const seen = seenOf(start, p)
  const axes = axesFrom(seen.leadShoulder, seen.trailShoulder, seen.trunkBase)
  if (!axes) return null
  const upperArm = start.upperArm * Math.exp(p[place.upperArm]!)
  const forearm = start.forearm * Math.exp(p[place.forearm]!)
  const arm = (over: number) => ({ upperArm: upperArm * (1 + over), forearm: forearm * (1 + over) })
  return {
    body: {
      arms: { lead: arm(seen.over[0]), trail: arm(seen.over[1]) },
      grip: {
        lead: { alongM: p[place.leadAlong]!, awayM: p[place.leadAway]!, roundDeg: 0 },
        trail: { alongM: p[place.trailAlong]!, awayM: p[place.trailAway]!, roundDeg: (p[place.trailRound]! * 180) / Math.PI },
        apartM: usualApart, faceDeg: (fistHollow * 180) / Math.PI,
      },
      club: { lengthM: club.lengthM, buttToHandsM: Math.max(0, Math.min(0.5 * club.lengthM, p[place.butt]!)) },
    },
    chest: { axes, leadShoulder: seen.leadShoulder, trailShoulder: seen.trailShoulder, trailHip: seen.trailHip },
    hands: seen.hands,
    anchor: { filmed: true, shaft: seen.shaft, side: seen.side, leadElbow: seen.leadElbow, trailElbow: seen.trailElbow },
    turning, lengthSigma,
  }
}
