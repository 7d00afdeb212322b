import { along, distance, scale, squareTo, sub, unit, type Vec } from './vec.ts'

/**
 * The middle joint of two bones of lengths `first` and `second` from `root` to `end`, bent toward `pole`.
 * Tolani, Goswami & Badler 2000: E = S + L1 cos(alpha) n + L1 sin(alpha) e, with e the pole made square to n. Throws out of reach, and where
 * the pole lies along the limb, since no elbow is right there.
 */
export function middleJoint(root: Vec, end: Vec, first: number, second: number, pole: Vec): Vec {
  const d = distance(root, end)
  const cosAlpha = (first * first + d * d - second * second) / (2 * first * d)
  if (!(Math.abs(cosAlpha) < 1))
    throw new RangeError(`out of reach: ${d.toFixed(4)} m with bones of ${first.toFixed(4)} and ${second.toFixed(4)} m`)
  const n = scale(sub(end, root), 1 / d)
  const e = squareTo(pole, n)
  return along(along(root, n, first * cosAlpha), e, first * Math.sqrt(1 - cosAlpha * cosAlpha))
}

const down: Vec = [0, -1, 0]

/**
 * Which way a trail elbow points for a swivel in radians: 0 hanging straight down, positive turned out behind the player (away from the
 * ball), in the plane square to the line from shoulder to wrist.
 */
export function swivelPole(shoulder: Vec, wrist: Vec, swivel: number): Vec {
  const n = unit(sub(wrist, shoulder))
  const hanging = squareTo(down, n)
  const behind: Vec = squareTo([0, 0, -1], n)
  // `behind` is made square to `hanging` too, so that the two span the swivel's circle.
  const side = squareTo(behind, hanging)
  return along(scale(hanging, Math.cos(swivel)), side, Math.sin(swivel))
}

/** The swivel in radians of an arm as it stands; inverse of `swivelPole`. */
export function swivelOf(shoulder: Vec, elbow: Vec, wrist: Vec): number {
  const n = unit(sub(wrist, shoulder))
  const e = squareTo(sub(elbow, shoulder), n)
  const hanging = squareTo(down, n)
  const side = squareTo(squareTo([0, 0, -1], n), hanging)
  return Math.atan2(e[0] * side[0] + e[1] * side[1] + e[2] * side[2], e[0] * hanging[0] + e[1] * hanging[1] + e[2] * hanging[2])
}
