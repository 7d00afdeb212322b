import { addOuter, choleskyInverse, factorCholesky, solveCholesky } from './cholesky.ts'

/**
 * Robust least squares over a few shared numbers (cameras, lengths, clocks) and many points in space together, with
 * the points eliminated block by block (the Schur complement; Triggs, McLauchlan, Hartley & Fitzgibbon 2000,
 * "Bundle adjustment: a modern synthesis", section 6), steps by Levenberg and Marquardt with the damping of Nielsen 1999.
 * Points that some residual ties to one another share a block. Residuals are in units of their own standard deviation.
 */
export interface Term {
  /** How many residuals: 1 to 3. */
  readonly size: number
  /** Shared numbers that it depends on. */
  readonly shared: readonly number[]
  /** Points that it depends on, by number. */
  readonly points: readonly number[]
  /** Beyond this length of the residuals they count linearly (Huber 1964); left out: always squared. */
  readonly huber?: number
  /**
   * Writes residuals to r, their derivatives by the shared numbers to js (size x shared) and by the points' coordinates
   * to jp (size x 3 points). False where they do not exist, so that the step is refused.
   */
  readonly evaluate: (g: Float64Array, p: Float64Array, r: Float64Array, js: Float64Array, jp: Float64Array) => boolean
}

export interface BlockProblem {
  readonly terms: readonly Term[]
  readonly sharedCount: number
  readonly pointCount: number
  /** Called before the terms are evaluated at new shared numbers. */
  readonly prepare?: (g: Float64Array) => void
}

export interface BlockFit {
  readonly shared: Float64Array
  readonly points: Float64Array
  /** Robust cost: half the sum of squares where nothing is beyond its Huber bound. */
  readonly cost: number
  readonly iterations: number
  readonly converged: boolean
  /** Of the shared numbers, row by row, for residuals of standard deviation 1; null where they are not determined. */
  readonly covariance: Float64Array | null
  /** The length of each term's residuals. */
  readonly misfits: Float64Array
}

interface Blocks {
  /** Which block a point is in, and where its coordinates start there. */
  readonly blockOf: Int32Array
  readonly offset: Int32Array
  readonly sizes: readonly number[]
  readonly members: readonly number[][]
  /** Shared numbers that the terms of each block name, in order. */
  readonly rows: readonly (readonly number[])[]
}

/** Points in one block where a term names both. */
function gather(problem: BlockProblem): Blocks {
  const parent = Int32Array.from({ length: problem.pointCount }, (_, i) => i)
  const root = (i: number): number => {
    while (parent[i] !== i) i = parent[i] = parent[parent[i]!]!
    return i
  }
  for (const term of problem.terms) for (const p of term.points) parent[root(p)] = root(term.points[0]!)
  const number = new Map<number, number>()
  const blockOf = new Int32Array(problem.pointCount)
  const offset = new Int32Array(problem.pointCount)
  const sizes: number[] = []
  const members: number[][] = []
  for (let i = 0; i < problem.pointCount; i++) {
    const r = root(i)
    let b = number.get(r)
    if (b === undefined) {
      number.set(r, (b = sizes.length))
      sizes.push(0)
      members.push([])
    }
    blockOf[i] = b
    offset[i] = sizes[b]!
    sizes[b] = sizes[b]! + 3
    members[b]!.push(i)
  }
  const named = sizes.map(() => new Set<number>())
  for (const term of problem.terms) if (term.points.length) for (const i of term.shared) named[blockOf[term.points[0]!]!]!.add(i)
  return { blockOf, offset, sizes, members, rows: named.map((set) => [...set].toSorted((a, b) => a - b)) }
}

/** The sums of J^T J and J^T r, in the pieces that the elimination wants. */
interface Normal {
  readonly gg: Float64Array
  readonly gr: Float64Array
  readonly bb: readonly Float64Array[]
  readonly gb: readonly Float64Array[]
  readonly br: readonly Float64Array[]
}

const largest = 3

export function fitBlocks(problem: BlockProblem, sharedStart: ArrayLike<number>, pointStart: ArrayLike<number>, { maxIterations = 60, tolerance = 1e-7 } = {}): BlockFit {
  const n = problem.sharedCount
  const blocks = gather(problem)
  let g = Float64Array.from(sharedStart)
  let p = Float64Array.from(pointStart)
  const most = problem.terms.reduce((m, t) => Math.max(m, t.shared.length, 3 * t.points.length), 1)
  const r = new Float64Array(largest)
  const js = new Float64Array(largest * most)
  const jp = new Float64Array(largest * most)
  const misfits = new Float64Array(problem.terms.length)
  const normal: Normal = {
    gg: new Float64Array(n * n), gr: new Float64Array(n),
    bb: blocks.sizes.map((s) => new Float64Array(s * s)), gb: blocks.sizes.map((s) => new Float64Array(n * s)), br: blocks.sizes.map((s) => new Float64Array(s)),
  }

  /** The robust cost, and the normal equations if asked for; Infinity where a residual does not exist. */
  const assess = (shared: Float64Array, points: Float64Array, sums: boolean): number => {
    problem.prepare?.(shared)
    if (sums) {
      normal.gg.fill(0)
      normal.gr.fill(0)
      for (const list of [normal.bb, normal.gb, normal.br]) for (const a of list) a.fill(0)
    }
    let cost = 0
    for (let k = 0; k < problem.terms.length; k++) {
      const term = problem.terms[k]!
      if (!term.evaluate(shared, points, r, js, jp)) return Infinity
      let square = 0
      for (let i = 0; i < term.size; i++) square += r[i]! * r[i]!
      const length = Math.sqrt(square)
      if (!Number.isFinite(length)) return Infinity
      misfits[k] = length
      const bound = term.huber
      let weight = 1
      if (bound !== undefined && length > bound) {
        weight = bound / length
        cost += bound * (length - bound / 2)
      } else cost += square / 2
      if (sums) addTerm(term, weight)
    }
    return cost
  }

  const addTerm = (term: Term, weight: number): void => {
    const ns = term.shared.length
    const np = 3 * term.points.length
    const block = term.points.length ? blocks.blockOf[term.points[0]!]! : -1
    const size = block >= 0 ? blocks.sizes[block]! : 0
    const bb = normal.bb[block]
    const gb = normal.gb[block]
    const br = normal.br[block]
    for (let i = 0; i < term.size; i++) {
      const s0 = i * ns
      const p0 = i * np
      const wr = weight * r[i]!
      for (let a = 0; a < ns; a++) {
        const ja = js[s0 + a]!
        if (ja === 0) continue
        const row = term.shared[a]!
        normal.gr[row] = normal.gr[row]! + ja * wr
        for (let b = 0; b < ns; b++) {
          const at = row * n + term.shared[b]!
          normal.gg[at] = normal.gg[at]! + weight * ja * js[s0 + b]!
        }
        for (let b = 0; b < np; b++) {
          const at = row * size + blocks.offset[term.points[(b / 3) | 0]!]! + (b % 3)
          gb![at] = gb![at]! + weight * ja * jp[p0 + b]!
        }
      }
      for (let a = 0; a < np; a++) {
        const ja = jp[p0 + a]!
        if (ja === 0) continue
        const row = blocks.offset[term.points[(a / 3) | 0]!]! + (a % 3)
        br![row] = br![row]! + ja * wr
        for (let b = 0; b < np; b++) {
          const at = row * size + blocks.offset[term.points[(b / 3) | 0]!]! + (b % 3)
          bb![at] = bb![at]! + weight * ja * jp[p0 + b]!
        }
      }
    }
  }

  /** Eliminates the points; null where a block or what is left is singular. */
  const reduce = (damping: number): { schur: Float64Array; right: Float64Array; solved: { factor: Float64Array; across: Float64Array; own: Float64Array }[] } | null => {
    const schur = normal.gg.slice()
    const right = normal.gr.slice()
    for (let i = 0; i < n; i++) schur[i * n + i] = schur[i * n + i]! * (1 + damping)
    const solved = []
    for (let b = 0; b < blocks.sizes.length; b++) {
      const size = blocks.sizes[b]!
      const factor = normal.bb[b]!.slice()
      for (let i = 0; i < size; i++) factor[i * size + i] = factor[i * size + i]! * (1 + damping)
      if (!factorCholesky(factor, size)) return null
      // Rows of gb, each solved: gb (bb)^-1; only those that the block's terms name are not zero.
      const across = normal.gb[b]!.slice()
      const rows = blocks.rows[b]!
      for (const i of rows) solveCholesky(factor, size, across, i * size)
      const own = normal.br[b]!.slice()
      solveCholesky(factor, size, own, 0)
      addOuter(schur, across, normal.gb[b]!, n, size, -1, rows)
      for (const i of rows) {
        let sum = 0
        for (let k = 0; k < size; k++) sum += across[i * size + k]! * normal.br[b]![k]!
        right[i] = right[i]! - sum
      }
      solved.push({ factor, across, own })
    }
    return { schur, right, solved }
  }

  let cost = assess(g, p, true)
  if (!Number.isFinite(cost)) return { shared: g, points: p, cost, iterations: 0, converged: false, covariance: null, misfits }
  let damping = 1e-3
  let growth = 2
  let converged = false
  let iterations = 0
  for (; iterations < maxIterations && !converged; iterations++) {
    const reduced = reduce(damping)
    let nextCost = Infinity
    let predicted = 0
    const nextG = g.slice()
    const nextP = p.slice()
    if (reduced && factorCholesky(reduced.schur, n)) {
      const step = reduced.right
      solveCholesky(reduced.schur, n, step, 0)
      for (let i = 0; i < n; i++) {
        nextG[i] = g[i]! - step[i]!
        predicted += step[i]! * (normal.gr[i]! + damping * normal.gg[i * n + i]! * step[i]!)
      }
      for (let b = 0; b < blocks.sizes.length; b++) {
        const size = blocks.sizes[b]!
        const { across, own } = reduced.solved[b]!
        for (let k = 0; k < size; k++) {
          let value = own[k]!
          for (const i of blocks.rows[b]!) value -= across[i * size + k]! * step[i]!
          const at = 3 * blocks.members[b]![(k / 3) | 0]! + (k % 3)
          nextP[at] = p[at]! - value
          predicted += value * (normal.br[b]![k]! + damping * normal.bb[b]![k * size + k]! * value)
        }
      }
      nextCost = assess(nextG, nextP, true)
    }
    if (nextCost < cost) {
      const gain = (cost - nextCost) / (predicted / 2)
      converged = cost - nextCost < tolerance * (1 + cost)
      g = nextG
      p = nextP
      cost = nextCost
      damping = Math.max(1e-12, damping * Math.max(1 / 10, 1 - (2 * gain - 1) ** 3))
      growth = 2
    } else {
      // The sums are those of the step that was refused: back to where it started from.
      assess(g, p, true)
      if (predicted < tolerance * (1 + cost) && reduced) converged = true
      damping *= growth
      growth *= 2
      if (damping > 1e12) converged = true
    }
  }
  const left = reduce(0)
  const covariance = left && factorCholesky(left.schur, n) ? choleskyInverse(left.schur, n) : null
  return { shared: g, points: p, cost, iterations, converged, covariance, misfits }
}
