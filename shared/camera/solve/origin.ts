import type { PointName } from '../../contract/pointsFile.ts'
import type { Term } from './blockFit.ts'
import type { SolveInstant } from './input.ts'
import { ankleHeight, groundHeights } from './priors.ts'
import { knownPlace } from './terms.ts'

/**
 * What stands for the origin, midway between the ankles at address on the ground, and how well it does, metres: common
 * practice, no source, but for both ankles.
 */
export interface Origin {
  readonly point: PointName
  /** Of the point against the origin along X and Z. */
  readonly at: readonly [x: number, z: number]
  readonly sigma: readonly [x: number, z: number]
}

const stands: readonly Origin[] = [
  { point: 'leadAnkle', at: [0.23, 0], sigma: [0.06, 0.03] }, { point: 'trailAnkle', at: [-0.23, 0], sigma: [0.06, 0.03] },
  { point: 'ball', at: [0.08, 0.95], sigma: [0.11, 0.14] }, { point: 'clubhead', at: [0.04, 0.95], sigma: [0.11, 0.14] }, { point: 'shaftEnd', at: [0.02, 0.93], sigma: [0.12, 0.14] },
]

const isSeen = (address: SolveInstant, point: PointName): boolean => address.get(point)?.some((s) => s) ?? false

export const hasBothAnkles = (address: SolveInstant): boolean => isSeen(address, 'leadAnkle') && isSeen(address, 'trailAnkle')

/** What stands in for the ankles where they are not both seen; null where nothing does. */
export const standIn = (address: SolveInstant): Origin | null => stands.find(({ point }) => isSeen(address, point)) ?? null

/** Without any of these neither the ground nor the origin is known. */
export const noOrigin = 'The cameras cannot be solved: at address neither an ankle nor the ball nor the clubhead is placed, and one of them is needed to give the ground and the origin. Both ankles give them best.'

const mm = (metres: number): string => `${(1000 * metres).toFixed(0)} mm`

/** For the basis; null where both ankles are seen. */
export function originWords(address: SolveInstant): string | null {
  if (hasBothAnkles(address)) return null
  const own = standIn(address)
  if (!own) return null
  const named = own.point.replace(/([A-Z])/g, ' $1').toLowerCase()
  return `${own.point.endsWith('Ankle') ? `the ${named} alone` : `no ankle at address: the ${named}`} stands in for the origin, within ${mm(own.sigma[0])} along the target line and ${mm(own.sigma[1])} across`
}

/** Fixes origin and ground by what is seen at address. @param at the number of an address point */
export function originTerms(address: SolveInstant, at: (name: PointName) => number | undefined, statureM: number): Term[] {
  const high = ankleHeight(statureM)
  const [lead, trail] = [at('leadAnkle'), at('trailAnkle')]
  if (lead !== undefined && trail !== undefined)
    return [
      ...([0, 2] as const).map((axis) => knownPlace([[lead, axis, 0.5], [trail, axis, 0.5]], 0, 1e-3)),
      knownPlace([[lead, 1, 0.5], [trail, 1, 0.5]], high, groundHeights.ankleSigma), knownPlace([[lead, 1, 1], [trail, 1, -1]], 0, groundHeights.ankleSigma),
    ]
  const own = standIn(address)
  const point = own && at(own.point)
  if (!own || point === undefined || point === null) return []
  return [
    knownPlace([[point, 0, 1]], own.at[0], own.sigma[0]), knownPlace([[point, 2, 1]], own.at[1], own.sigma[1]),
    ...(own.point.endsWith('Ankle') ? [knownPlace([[point, 1, 1]], high, groundHeights.ankleSigma)] : []),
  ]
}
