import type { PointName } from '../../contract/pointsFile.ts'
import type { Vec3 } from '../../geometry/vec.ts'
import type { Term } from './blockFit.ts'
import { clubTails, clubTips, limbs, type Seen, type SolveInput, type SolveInstant } from './input.ts'
import { matPriors, matTerms, quarterTurns, turnSeen } from './mat.ts'
import { originTerms } from './origin.ts'
import { phoneNumbers, phoneSize, poseOf, type Pose } from './phone.ts'
import {
  aimSigma, ankleLineSigma, buttToHands, clubBendSigma, clubEndSigma, groundHeights, headShare, headShareSigma, limbSigma,
  ballStands, phonePrior, usualPlace, usualStature, withTheBall,
} from './priors.ts'
import { standing, standSigma } from './standing.ts'
import { aimTerm, ballTerm, horizonTerm, knownPlace, knownShared, lineTerm, pictureTerm, rodTerm } from './terms.ts'

/** A length that stays through the swing: what it is and its shared number. */
interface Rod {
  readonly ends: readonly [PointName, PointName]
  readonly shared: number
  /** How far it changes through the swing, as a share. */
  readonly relative: number
}

/** The whole of what is to be fitted, as terms over numbered points and shared numbers. */
export interface SolveProblem {
  readonly terms: Term[]
  readonly sharedCount: number
  readonly sharedStart: Float64Array
  /** Start and name of each point; the instant it belongs to (0 is address). */
  readonly points: { readonly name: PointName; readonly instant: number; readonly seen: readonly (Seen | null)[] }[]
  readonly prepare: (g: Float64Array) => void
  /** Shared number of the second clock's shift, or -1. */
  readonly clock: number
  readonly aim: number
  /** Which terms are pictures of points: their place in terms, the view and the point. */
  readonly pictures: { readonly term: number; readonly view: number; readonly point: number }[]
  /** The term that holds the stature against what the picture shows, or -1, and what it is of. */
  readonly stature: { readonly term: number; readonly point: number; readonly share: number } | null
  /** Which ground direction fixes X. */
  readonly direction: 'target line' | 'stance line' | 'ankles' | 'none'
  readonly clubUsed: readonly [PointName, PointName] | null
  /** Terms of a mat's corners, two coordinates each. */
  readonly corners: readonly number[]
}

const knownSigma = [1e-6, 1e-3, 1e-3, 1e-7, 1e-7, 1e-7, 1e-6, 1e-6, 1e-6]

function pickClub(input: SolveInput): readonly [PointName, PointName] | null {
  const all: SolveInstant[] = [input.address, ...input.instants]
  const count = (a: PointName, b: PointName) => all.filter((i) => [a, b].every((n) => i.get(n)?.every((s) => s))).length
  let best: readonly [PointName, PointName] | null = null
  let most = 0
  // The farther ends are preferred unless they are seen much less often.
  for (const tail of clubTails) for (const tip of clubTips) {
    const c = count(tail, tip)
    if (c > 1.2 * most) {
      most = c
      best = [tail, tip]
    }
  }
  return best
}

function clubMean(input: SolveInput, [tail, tip]: readonly [PointName, PointName]): { mean: number; sigma: number } {
  if (input.clubM === undefined) return { mean: tail === 'butt' ? 0.98 : 0.86, sigma: 0.15 }
  const short = (tail === 'hands' ? buttToHands.m : 0) + (tip === 'shaftEnd' ? 0.03 : 0)
  return { mean: input.clubM - short, sigma: Math.hypot(clubEndSigma, tail === 'hands' ? buttToHands.sigma : 0) }
}

/** A mat that one view shows, or both, as terms over its middle and its turn. */
function putMat(views: SolveInput['views'], shared: (mean: number, sigma: number) => number, terms: Term[]): number[] {
  const first = views.find((v) => v.mat)
  if (!first) return []
  const turn = turnSeen(first.view, first.mat!)
  const at = [shared(matPriors.x.mean, matPriors.x.sigma), shared(matPriors.z.mean, matPriors.z.sigma), shared(turn, matPriors.turn)] as const
  const from = terms.length
  views.forEach((v, i) => v.mat && terms.push(...matTerms(i, v, v.mat, at, quarterTurns(turn, turnSeen(v.view, v.mat)))))
  return Array.from({ length: terms.length - from }, (_, k) => from + k)
}

/** How much wider the usual places are taken where both views show the point. */
const loosened = 5

/** Everything that the input says, as terms; one view alone has its address only, with points where they are usually met. */
export function buildProblem(input: SolveInput): SolveProblem {
  const { views } = input
  const alone = views.length === 1
  const terms: Term[] = []
  const poses: Pose[] = []
  const start: number[] = []
  views.forEach((v, i) => {
    const known = v.known ? phoneNumbers(v.view, v.known) : null
    const prior = phonePrior(v)
    for (let k = 0; k < phoneSize; k++) {
      const mean = known ? known[k]! : prior.mean[k]!
      terms.push(knownShared(i * phoneSize + k, mean, known ? knownSigma[k]! : prior.sigma[k]!))
      start.push(mean)
    }
  })
  const shared = (mean: number, sigma: number): number => {
    terms.push(knownShared(start.length, mean, sigma))
    start.push(mean)
    return start.length - 1
  }
  const clock = !alone && input.syncSigmaS > 0 ? shared(0, input.syncSigmaS) : -1
  const aim = shared(0, aimSigma)
  const corners = putMat(views, shared, terms)

  const clubUsed = pickClub(input)
  const club = clubUsed && { ends: clubUsed, ...clubMean(input, clubUsed) }
  const stands = alone ? standing(new Set(input.address.keys()), club && { ends: club.ends, length: club.mean }) : null
  const follows = new Set(stands?.links.map(({ point }) => point))
  const points: { name: PointName; instant: number; seen: readonly (Seen | null)[] }[] = []
  const pictures: { term: number; view: number; point: number }[] = []
  const numbers: Map<PointName, number>[] = []
  ;[input.address, ...input.instants].forEach((instant, k) => {
    const here = new Map<PointName, number>()
    numbers.push(here)
    for (const [name, seen] of instant) {
      const times = seen.filter((s) => s).length
      if (times === 0 || (k > 0 && times < views.length)) continue
      const point = points.length
      here.set(name, point)
      points.push({ name, instant: k, seen })
      seen.forEach((s, view) => {
        if (!s) return
        pictures.push({ term: terms.length, view, point })
        terms.push(pictureTerm(poses, view, point, s, view === 1 ? clock : -1))
      })
      if (k > 0) continue
      // With both views these only keep a point from running away.
      const { at, sigma } = usualPlace(name)
      const loosen = (axis: 0 | 1 | 2): number => (times === 2 || (axis === 2 && follows.has(name)) ? loosened : 1)
      for (const axis of [0, 1, 2] as const) terms.push(knownPlace([[point, axis, 1]], at[axis], loosen(axis) * (axis === 2 && name === stands?.anchor ? standSigma : sigma[axis])))
    }
  })

  const rods: Rod[] = []
  if (club) rods.push({ ends: club.ends, shared: shared(club.mean, club.sigma), relative: clubBendSigma / club.mean })
  if (!alone)
    for (const ends of limbs) {
      const count = numbers.filter((n) => ends.every((e) => n.has(e))).length
      // One set of marks is off in the same way for long: many instants say little more than a few.
      if (count >= 4) rods.push({ ends, shared: shared(0.32, 0.3), relative: (limbSigma / 0.32) * Math.sqrt(count / 4) })
    }
  for (const rod of rods)
    for (const here of numbers) {
      const [a, b] = rod.ends.map((e) => here.get(e))
      if (a !== undefined && b !== undefined) terms.push(rodTerm(a, b, rod.shared, rod.relative))
    }

  const address = numbers[0]!
  const at = (name: PointName): number | undefined => address.get(name)
  const statureM = input.statureM ?? usualStature.m
  const statureSigma = input.statureM === undefined ? usualStature.sigma : 0
  const [lead, trail] = [at('leadAnkle'), at('trailAnkle')]
  terms.push(...originTerms(input.address, at, statureM))
  const ball = at('ball')
  if (ball !== undefined) {
    terms.push(knownPlace([[ball, 1, 1]], groundHeights.ball, groundHeights.sigma))
    views.forEach((v, i) => v.ballDiameterPx !== undefined && terms.push(ballTerm(i, v, ball, v.ballDiameterPx)))
  }
  // Where the ball is put along the stance is one unknown for all that goes with it.
  for (const [point, other, share, ahead, sigma] of withTheBall) {
    const [a, b] = [at(point), at(other)]
    if (a !== undefined && b !== undefined) terms.push(knownPlace([[a, 0, 1], [b, 0, -share]], ahead, sigma * (alone ? 1 : loosened)))
  }
  const first = ballStands.map((name) => at(name)).find((p) => p !== undefined)
  if (first !== undefined && first !== ball) terms.push(knownPlace([[first, 0, 1]], 0.06, 0.11 * (alone ? 1 : loosened)))
  // One camera does not see how far before the hands the head lies: the club's usual lie says.
  for (const { point, from, ahead, sigma } of stands?.links ?? []) terms.push(knownPlace([[at(point)!, 2, 1], [at(from)!, 2, -1]], ahead, sigma))
  const head = at('clubhead')
  if (head !== undefined) terms.push(knownPlace([[head, 1, 1]], groundHeights.clubhead, groundHeights.sigma, 2.5))
  let stature: SolveProblem['stature'] = null
  // The ears: how far the crown is over them depends on how the head is bent, and on the cap.
  const top = at('head') !== undefined ? 'head' : 'crown'
  const high = at(top)
  if (high !== undefined) {
    const share = headShare[top]!
    stature = { term: terms.length, point: high, share }
    terms.push(knownPlace([[high, 1, 1]], share * statureM, Math.hypot(headShareSigma * statureM, share * statureSigma), 2.5))
  }

  const alongX = (): Vec3 => [1, 0, 0]
  const alongFeet = (g: Float64Array): Vec3 => [Math.cos(g[aim]!), 0, Math.sin(g[aim]!)]
  const hasTarget = views.some((v) => v.targetLine)
  const hasStance = views.some((v) => v.stanceLine)
  views.forEach((v, i) => {
    if (v.plumb) terms.push(lineTerm(i, v, v.plumb, () => [0, 1, 0]))
    if (v.horizon) terms.push(horizonTerm(i, v, v.horizon))
    if (v.targetLine) terms.push(lineTerm(i, v, v.targetLine, alongX))
    if (v.stanceLine && !hasTarget) terms.push(lineTerm(i, v, v.stanceLine, alongFeet, [aim]))
  })
  const feet = lead !== undefined && trail !== undefined
  if (feet && !hasTarget) terms.push(aimTerm(lead, trail, aim, ankleLineSigma))
  const known = views.some((v) => v.known)
  return {
    terms, sharedCount: start.length, sharedStart: Float64Array.from(start), points, clock, aim, pictures, stature, clubUsed, corners,
    direction: known || hasTarget ? 'target line' : hasStance ? 'stance line' : feet ? 'ankles' : 'none',
    prepare: (g) => views.forEach((v, i) => (poses[i] = poseOf(v.view, g, i * phoneSize))),
  }
}
