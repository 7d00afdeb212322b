import { add3, cross3, dot3, length3, scale3, sub3, type Vec3 } from '../geometry/vec.ts'

/**
 * A two-link arm whose elbow lies on a circle about the line from shoulder to wrist.
 * Tolani, Goswami & Badler 2000, Graphical Models 62:353-388; Korein 1985.
 */

/** Why there is no such elbow or no such angle. */
export type SwivelFault = 'zero-length' | 'stretched' | 'out-of-reach' | 'too-close' | 'reference-along-the-arm'
export interface NoSwivel {
  readonly fault: SwivelFault
}
export const isNoSwivel = (value: unknown): value is NoSwivel => typeof value === 'object' && value !== null && 'fault' in value

/** Sine of the angle between reference and arm under which the reference gives no direction. */
export const leastReference = 1e-6

export interface Circle {
  /** Unit vector from shoulder to wrist. */
  readonly n: Vec3
  /** Unit vectors square to n and each other: u where the reference points, v = n x u. */
  readonly u: Vec3
  readonly v: Vec3
  readonly distance: number
}

/** The frame in which the swivel is counted, or why there is none. */
export function swivelCircle(shoulder: Vec3, wrist: Vec3, reference: Vec3): Circle | NoSwivel {
  const line = sub3(wrist, shoulder)
  const distance = length3(line)
  if (!(distance > 0)) return { fault: 'zero-length' }
  const n = scale3(line, 1 / distance)
  const across = sub3(reference, scale3(n, dot3(reference, n)))
  const size = length3(across)
  if (!(size > leastReference * length3(reference))) return { fault: 'reference-along-the-arm' }
  const u = scale3(across, 1 / size)
  return { n, u, v: cross3(n, u), distance }
}

export interface Elbow {
  readonly elbow: Vec3
  /** Radians between upper arm and forearm's straight continuation: 0 straight. */
  readonly flexion: number
}

/**
 * The elbow at a swivel: E = S + L1 cos(alpha) n + L1 sin(alpha) (cos(phi) u + sin(phi) v).
 * @param phi radians from the reference, right-hand rule about shoulder to wrist
 */
export function swivelElbow(shoulder: Vec3, wrist: Vec3, upperArm: number, forearm: number, reference: Vec3, phi: number): Elbow | NoSwivel {
  if (!(upperArm > 0 && forearm > 0)) return { fault: 'zero-length' }
  const circle = swivelCircle(shoulder, wrist, reference)
  if (isNoSwivel(circle)) return circle
  const { n, u, v, distance: d } = circle
  const rounding = 1e-12 * (upperArm + forearm)
  if (d > upperArm + forearm + rounding) return { fault: 'out-of-reach' }
  // Straight, every swivel gives the same elbow, and no elbow a swivel.
  if (d > upperArm + forearm - rounding) return { fault: 'stretched' }
  if (d < Math.abs(upperArm - forearm) + rounding) return { fault: 'too-close' }
  const cosAlpha = (upperArm * upperArm + d * d - forearm * forearm) / (2 * upperArm * d)
  const sinAlpha = Math.sqrt(Math.max(0, 1 - cosAlpha * cosAlpha))
  const round = add3(scale3(u, Math.cos(phi)), scale3(v, Math.sin(phi)))
  const elbow = add3(shoulder, add3(scale3(n, upperArm * cosAlpha), scale3(round, upperArm * sinAlpha)))
  const cosBetween = (upperArm * upperArm + forearm * forearm - d * d) / (2 * upperArm * forearm)
  return { elbow, flexion: Math.PI - Math.acos(Math.max(-1, Math.min(1, cosBetween))) }
}

/** The swivel of an elbow as it stands, radians in (-pi, pi]; the inverse of `swivelElbow`. */
export function swivelOf(shoulder: Vec3, elbow: Vec3, wrist: Vec3, reference: Vec3): number | NoSwivel {
  const circle = swivelCircle(shoulder, wrist, reference)
  if (isNoSwivel(circle)) return circle
  const out = sub3(elbow, shoulder)
  const across = sub3(out, scale3(circle.n, dot3(out, circle.n)))
  if (!(length3(across) > 1e-9 * circle.distance)) return { fault: 'stretched' }
  return Math.atan2(dot3(across, circle.v), dot3(across, circle.u))
}

const down: Vec3 = [0, -1, 0]

/**
 * The trail elbow's swivel as the trade turns it: degrees, 0 hanging straight down from the line shoulder to wrist, positive
 * turned out behind the player. At the top the arm points away from the target, so that out behind is against the right-hand
 * rule about it; the sense is kept where the arm points elsewhere, so that the angle has no jump on the way there.
 */
export function trailSwivelDeg(shoulder: Vec3, elbow: Vec3, wrist: Vec3): number | NoSwivel {
  const phi = swivelOf(shoulder, elbow, wrist, down)
  return typeof phi === 'number' ? (-phi * 180) / Math.PI : phi
}

export const trailSwivelElbow = (shoulder: Vec3, wrist: Vec3, upperArm: number, forearm: number, swivelDeg: number): Elbow | NoSwivel =>
  swivelElbow(shoulder, wrist, upperArm, forearm, down, (-swivelDeg * Math.PI) / 180)
