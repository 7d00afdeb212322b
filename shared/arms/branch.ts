import { copyPosture, makeWorkspace, readPosture, type Posture } from './chain.ts'
import { LeastCost, type Costed } from './leastCost.ts'
import { pastLimit } from './limits.ts'

/**
 * The connected branch of least-cost postures over the trail elbow's swivel, followed from where the elbow is now. A
 * neighbouring posture is found from its neighbour, so that the shaft moves on smoothly; where it would have to jump (a fold:
 * the least cost there ceases to be one) the branch ends.
 */
export interface Knot {
  /** Radians. */
  readonly swivel: number
  readonly posture: Posture
  /** No joint past its limit. */
  readonly within: boolean
}

export type EndReason =
  /** The shaft would have to jump. */
  | 'fold'
  /** A joint would be far past its limit. */
  | 'limit'
  /** A hand comes out of its arm's reach, or the arm hangs so that its swivel says nothing. */
  | 'reach'
  /** So far round that the elbow stands over the arm. */
  | 'round'

export interface BranchEnd {
  readonly swivel: number
  readonly reason: EndReason
}

const toRad = Math.PI / 180
const usualStep = 1.5
const fine = 0.2 * toRad
/** A shaft that turns by more than this in a fine step jumps. */
const jump = 1.5 * toRad
const wideJump = 6 * toRad
/** Nobody holds a club with the elbow farther round than this (common practice, no source). */
const widest = 120 * toRad
/** So much dearer than now, a posture is one that no joint allows: two margins past a limit cost 81. */
const hopeless = 60
/** A shaft that turns by so much more in a step than in the one before is looked at in fine steps: a jump may hide in it. */
const sudden = 0.4 * toRad
/** The steepest rate, against a fold's own, that is taken without a closer look. */
const rate = 0.15
const wideRate = 0.6
const suddenIn = (step: number): number => sudden * Math.max(1, step / (usualStep * toRad)) ** 2
const coarse = 1e-6
const exact = 1e-9
/** Near a fold the cost is flat and the search goes on in small steps: it is not cut off there. */
const patience = 400
/** A draw of a spread is not worth that. */
const hurried = 25
/** Radians: far under what the draws scatter. */
const hasty = 5e-5

const angleBetween = (a: Float64Array, b: Float64Array): number => {
  const x = a[1]! * b[2]! - a[2]! * b[1]!
  const y = a[2]! * b[0]! - a[0]! * b[2]!
  const z = a[0]! * b[1]! - a[1]! * b[0]!
  return Math.atan2(Math.hypot(x, y, z), a[0]! * b[0]! + a[1]! * b[1]! + a[2]! * b[2]!)
}

export class Branch {
  readonly now: Knot
  private readonly costed: Costed
  private readonly step: number
  private readonly nowCost: number
  /** A branch of wide steps, a draw's: looked at less closely. */
  private readonly wide: boolean
  private readonly fine: number
  private readonly search: LeastCost
  private readonly work = makeWorkspace()
  /** From now on, outward each way; the first is now itself. */
  private readonly ways: Readonly<Record<'low' | 'high', { knots: Knot[]; end: BranchEnd | null }>>
  private readonly limitAt: { low?: number; high?: number } = {}

  /** @param now a posture that is a least one at its own swivel @param stepDeg between the knots, degrees of swivel */
  constructor(costed: Costed, now: Posture, stepDeg = usualStep) {
    this.costed = costed
    this.step = stepDeg * toRad
    this.wide = stepDeg > 2 * usualStep
    this.fine = this.wide ? this.step / 6 : fine
    this.search = new LeastCost(costed)
    this.now = this.knot(now)
    this.nowCost = this.cost(now)
    this.ways = { low: { knots: [this.now], end: null }, high: { knots: [this.now], end: null } }
  }

  private knot(posture: Posture): Knot {
    const { chain, ease } = this.costed
    readPosture(chain, posture, this.work)
    return { swivel: posture.trail, posture, within: !pastLimit(this.work.lead, ease.lead) && !pastLimit(this.work.trail, ease.trail) }
  }

  cost(posture: Posture): number {
    return this.search.cost(posture)
  }

  private from(knot: Knot, swivel: number, tolerance: number): Knot | null {
    const posture = copyPosture(knot.posture)
    posture.trail = swivel
    return this.search.find(posture, 4, this.wide ? Math.max(tolerance, hasty) : tolerance, this.wide ? hurried : patience) === null ? null : this.knot(posture)
  }

  /** The next knot outward of the last one, or why there is none. */
  private extend(way: 'low' | 'high'): void {
    const side = this.ways[way]
    const { step } = this
    const last = side.knots.at(-1)!
    const sign = way === 'high' ? 1 : -1
    const most = sign * Math.max(widest, sign * this.now.swivel)
    if (sign * (most - last.swivel) < 1e-9) {
      side.end = { swivel: last.swivel, reason: 'round' }
      return
    }
    const to = sign * Math.min(sign * (last.swivel + sign * step), sign * most)
    const next = this.from(last, to, coarse)
    const before = side.knots.at(-2)
    const usual = before ? (angleBetween(last.posture.shaft, before.posture.shaft) * Math.abs(to - last.swivel)) / Math.abs(last.swivel - before.swivel) : 0
    if (next && angleBetween(next.posture.shaft, last.posture.shaft) < Math.min(usual + suddenIn(step), ((this.wide ? wideRate : rate) * jump * Math.abs(to - last.swivel)) / fine)) {
      this.add(way, next)
      return
    }
    let here = last
    const pieces = Math.max(1, Math.ceil(Math.abs(to - last.swivel) / this.fine - 1e-9))
    for (let k = 1; k <= pieces; k++) {
      const small = this.from(here, last.swivel + ((to - last.swivel) * k) / pieces, this.wide ? coarse : exact)
      if (!small) {
        side.end = { swivel: here.swivel, reason: 'reach' }
        return
      }
      if (angleBetween(small.posture.shaft, here.posture.shaft) > (this.wide ? wideJump : jump)) {
        side.end = { swivel: here.swivel, reason: 'fold' }
        return
      }
      this.add(way, small)
      if (side.end) return
      here = small
    }
  }

  private add(way: 'low' | 'high', knot: Knot): void {
    const side = this.ways[way]
    if (!knot.within && this.cost(knot.posture) > this.nowCost + hopeless) side.end = { swivel: side.knots.at(-1)!.swivel, reason: 'limit' }
    else side.knots.push(knot)
  }

  /** The posture at a swivel (radians), or the end of the branch that lies before it. */
  at(swivel: number): Knot | BranchEnd {
    const way = swivel >= this.now.swivel ? 'high' : 'low'
    const side = this.ways[way]
    const reached = (): boolean => Math.abs(side.knots.at(-1)!.swivel - this.now.swivel) >= Math.abs(swivel - this.now.swivel)
    while (!reached() && !side.end) this.extend(way)
    if (swivel === this.now.swivel) return this.now
    if (!reached()) return side.end!
    let nearest = this.now
    for (const knot of side.knots) if (Math.abs(knot.swivel - swivel) < Math.abs(nearest.swivel - swivel)) nearest = knot
    if (Math.abs(nearest.swivel - swivel) < 1e-12) return nearest
    return this.from(nearest, swivel, exact) ?? { swivel: nearest.swivel, reason: 'reach' }
  }

  /** How far the branch goes one way, at most to a swivel. */
  endOf(way: 'low' | 'high', upTo = way === 'high' ? widest : -widest): BranchEnd {
    const found = this.at(upTo)
    return 'reason' in found ? found : { swivel: found.swivel, reason: 'round' }
  }

  /** The last swivel one way at which no joint is past its limit; now's own where now is past one itself. */
  lastWithin(way: 'low' | 'high'): number {
    const known = this.limitAt[way]
    if (known !== undefined) return known
    const side = this.ways[way]
    let found = this.now.swivel
    if (this.now.within) {
      let k = 0
      for (;;) {
        if (k + 1 >= side.knots.length) {
          if (side.end) break
          this.extend(way)
          continue
        }
        if (!side.knots[k + 1]!.within) break
        k++
      }
      found = side.knots[k]!.swivel
      const past = side.knots[k + 1]
      if (past) {
        let inside = side.knots[k]!
        let outside = past.swivel
        for (let i = 0; i < 12; i++) {
          const middle = this.from(inside, (inside.swivel + outside) / 2, coarse)
          if (middle?.within) inside = middle
          else outside = (inside.swivel + outside) / 2
        }
        found = inside.swivel
      }
    }
    this.limitAt[way] = found
    return found
  }
}
