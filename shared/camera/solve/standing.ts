import type { PointName } from '../../contract/pointsFile.ts'
import { buttToHands, usualLie } from './priors.ts'

/** How far one point is nearer to the ball's side than another at address, metres. */
export interface StandLink {
  readonly point: PointName
  readonly from: PointName
  readonly ahead: number
  readonly sigma: number
}

/** How far a player stands to the ball, feet to ball, varies by that much: common practice, no source. Metres. */
export const standSigma = 0.15
/** The head is set down behind the ball, metres. */
const setDown = 0.03
/** What tells where the player stands to the ball, the surest first. */
const anchors: readonly PointName[] = ['ball', 'clubhead', 'shaftEnd']

/**
 * How far the player stands to the ball, which one camera alone does not see, is one unknown: ball, club and hands are
 * all nearer or all farther together, and tell of it no more than one of them.
 * @param names the points seen at address @param club its two points that are used, and how far apart they are, metres
 * @returns the point that carries the unknown, and how the others follow from it; null where neither ball nor head is seen
 */
export function standing(names: ReadonlySet<PointName>, club: { readonly ends: readonly [PointName, PointName]; readonly length: number } | null): { readonly anchor: PointName; readonly links: readonly StandLink[] } | null {
  const anchor = anchors.find((name) => names.has(name))
  if (!anchor) return null
  const links: StandLink[] = anchors.filter((name) => name !== anchor && names.has(name)).map((point) => ({ point, from: anchor, ahead: 0, sigma: setDown }))
  const [flat, bends] = [Math.cos(usualLie.angle), Math.sin(usualLie.angle) * usualLie.sigma]
  if (club?.ends.every((name) => names.has(name))) {
    const [tail, tip] = club.ends
    links.push({ point: tail, from: tip, ahead: -club.length * flat, sigma: club.length * bends })
    const rest = tail === 'butt' ? 'hands' : 'butt'
    const way = tail === 'butt' ? 1 : -1
    if (names.has(rest)) links.push({ point: rest, from: tail, ahead: way * buttToHands.m * flat, sigma: buttToHands.sigma * flat })
  }
  return { anchor, links }
}
