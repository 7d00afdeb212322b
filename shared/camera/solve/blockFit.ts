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
  /** For the next fit of the same terms with other values. */
  readonly layout: Layout
}

/** How the terms of a problem hang together, with room to work in. */
export interface Layout {
  readonly terms: readonly Pick<Term, 'size' | 'shared' | 'points'>[]
  readonly blocks: Blocks
  readonly places: readonly Places[]
  readonly normal: Normal
  readonly solved: readonly { readonly factor: Float64Array; readonly across: Float64Array; readonly own: Float64Array }[]
}

interface Blocks {
  /** Which block a point is in, and where its coordinates start there. */
  readonly blockOf: Int32Array
  readonly offset: Int32Array
  readonly sizes: readonly number[]
  readonly members: readonly number[][]
  /** Shared numbers that the terms of each block name, in order. */
  readonly rows: readonly Int32Array[]
}

/** Where a term's derivatives go: its block or -1, its shared numbers' places among the block's rows, its coordinates' in the block. */
interface Places {
  readonly block: number
  readonly shared: Int32Array
  readonly rows: Int32Array
  readonly columns: Int32Array
}

function placesOf(term: Term, { blockOf, offset, rows }: Blocks): Places {
  const block = term.points.length ? blockOf[term.points[0]!]! : -1
  return {
    block, shared: Int32Array.from(term.shared), rows: Int32Array.from(block < 0 ? [] : term.shared, (i) => rows[block]!.indexOf(i)),
    columns: Int32Array.from({ length: 3 * term.points.length }, (_, k) => offset[term.points[(k / 3) | 0]!]! + (k % 3)),
  }
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
  return { blockOf, offset, sizes, members, rows: named.map((set) => Int32Array.from(set).sort()) }
}

/** The sums of J^T J (lower triangles) and J^T r, in the pieces that the elimination wants; gb has the block's rows only. */
interface Normal {
  readonly gg: Float64Array
  readonly gr: Float64Array
  readonly bb: readonly Float64Array[]
  readonly gb: readonly Float64Array[]
  readonly br: readonly Float64Array[]
}

const largest = 3

const isSame = (one: readonly number[], two: readonly number[]): boolean => one.length === two.length && one.every((v, i) => v === two[i])

function layoutOf(problem: BlockProblem, earlier?: Layout): Layout {
  const { terms, sharedCount: n } = problem
  if (earlier?.terms.length === terms.length && earlier.normal.gr.length === n && earlier.blocks.blockOf.length === problem.pointCount
    && terms.every((t, k) => t.size === earlier.terms[k]!.size && isSame(t.shared, earlier.terms[k]!.shared) && isSame(t.points, earlier.terms[k]!.points))) return earlier
  const blocks = gather(problem)
  const gb = blocks.sizes.map((s, b) => new Float64Array(blocks.rows[b]!.length * s))
  return {
    terms: terms.map(({ size, shared, points }) => ({ size, shared, points })), blocks, places: terms.map((term) => placesOf(term, blocks)),
    normal: { gg: new Float64Array(n * n), gr: new Float64Array(n), bb: blocks.sizes.map((s) => new Float64Array(s * s)), gb, br: blocks.sizes.map((s) => new Float64Array(s)) },
    solved: blocks.sizes.map((size, b) => ({ factor: new Float64Array(size * size), across: new Float64Array(gb[b]!.length), own: new Float64Array(size) })),
  }
}

export interface FitOptions {
  readonly maxIterations?: number
  readonly tolerance?: number
  /** Starts from a fit of nearly the same terms: a step that does what it should ends it, and its own covariance is good enough. */
  readonly nearly?: boolean
  /** Of an earlier fit. */
  readonly layout?: Layout | undefined
}
/** A step that lowers the cost by what it should, to within this share, leaves nothing worth another. */
const asExpected = 0.05

export function fitBlocks(problem: BlockProblem, sharedStart: ArrayLike<number>, pointStart: ArrayLike<number>, { maxIterations = 60, tolerance = 1e-7, nearly = false, layout: earlier }: FitOptions = {}): BlockFit {
  const n = problem.sharedCount
  const layout = layoutOf(problem, earlier)
  const { blocks, places, normal, solved } = layout
  let g = Float64Array.from(sharedStart)
  let p = Float64Array.from(pointStart)
  const most = problem.terms.reduce((m, t) => Math.max(m, t.shared.length, 3 * t.points.length), 1)
  const r = new Float64Array(largest)
  const js = new Float64Array(largest * most)
  const jp = new Float64Array(largest * most)
  const misfits = new Float64Array(problem.terms.length)
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
      if (sums) addTerm(term.size, places[k]!, weight)
    }
    return cost
  }

  const addTerm = (size: number, { block, shared, rows, columns }: Places, weight: number): void => {
    const ns = shared.length
    const np = columns.length
    const { gg, gr } = normal
    const wide = block >= 0 ? blocks.sizes[block]! : 0
    const bb = normal.bb[block]!
    const gb = normal.gb[block]!
    const br = normal.br[block]!
    for (let i = 0; i < size; i++) {
      const s0 = i * ns
      const p0 = i * np
      const wr = weight * r[i]!
      for (let a = 0; a < ns; a++) {
        const ja = js[s0 + a]!
        if (ja === 0) continue
        const row = shared[a]!
        gr[row] = gr[row]! + ja * wr
        const wj = weight * ja
        for (let b = 0; b < ns; b++) {
          const column = shared[b]!
          if (column <= row) gg[row * n + column] = gg[row * n + column]! + wj * js[s0 + b]!
        }
        if (np === 0) continue
        const start = rows[a]! * wide
        for (let b = 0; b < np; b++) gb[start + columns[b]!] = gb[start + columns[b]!]! + wj * jp[p0 + b]!
      }
      for (let a = 0; a < np; a++) {
        const ja = jp[p0 + a]!
        if (ja === 0) continue
        const row = columns[a]!
        br[row] = br[row]! + ja * wr
        const wj = weight * ja
        for (let b = 0; b < np; b++) {
          const column = columns[b]!
          if (column <= row) bb[row * wide + column] = bb[row * wide + column]! + wj * jp[p0 + b]!
        }
      }
    }
  }

  const schur = new Float64Array(n * n)
  const right = new Float64Array(n)
  /** Eliminates the points, into schur, right and solved; false where a block is singular. */
  const reduce = (damping: number): boolean => {
    schur.set(normal.gg)
    right.set(normal.gr)
    for (let i = 0; i < n; i++) schur[i * n + i] = schur[i * n + i]! * (1 + damping)
    for (let b = 0; b < blocks.sizes.length; b++) {
      const size = blocks.sizes[b]!
      const { factor, across, own } = solved[b]!
      const gb = normal.gb[b]!
      const br = normal.br[b]!
      factor.set(normal.bb[b]!)
      for (let i = 0; i < size; i++) factor[i * size + i] = factor[i * size + i]! * (1 + damping)
      if (!factorCholesky(factor, size)) return false
      // Rows of gb, each solved: gb (bb)^-1.
      across.set(gb)
      const rows = blocks.rows[b]!
      for (let i = 0; i < rows.length; i++) solveCholesky(factor, size, across, i * size)
      own.set(br)
      solveCholesky(factor, size, own, 0)
      addOuter(schur, across, gb, n, size, -1, rows)
      for (let i = 0; i < rows.length; i++) {
        let sum = 0
        for (let k = 0; k < size; k++) sum += across[i * size + k]! * br[k]!
        right[rows[i]!] = right[rows[i]!]! - sum
      }
    }
    return true
  }

  let cost = assess(g, p, true)
  if (!Number.isFinite(cost)) return { shared: g, points: p, cost, iterations: 0, converged: false, covariance: null, misfits, layout }
  let damping = nearly ? 1e-9 : 1e-3
  let growth = 2
  let converged = false
  let iterations = 0
  let wasAccepted = false
  for (; iterations < maxIterations && !converged; iterations++) {
    const reduced = reduce(damping)
    let nextCost = Infinity
    let predicted = 0
    const nextG = g.slice()
    const nextP = p.slice()
    if (reduced && factorCholesky(schur, n)) {
      const step = right
      solveCholesky(schur, n, step, 0)
      for (let i = 0; i < n; i++) {
        nextG[i] = g[i]! - step[i]!
        predicted += step[i]! * (normal.gr[i]! + damping * normal.gg[i * n + i]! * step[i]!)
      }
      for (let b = 0; b < blocks.sizes.length; b++) {
        const size = blocks.sizes[b]!
        const { across, own } = solved[b]!
        const rows = blocks.rows[b]!
        for (let k = 0; k < size; k++) {
          let value = own[k]!
          for (let i = 0; i < rows.length; i++) value -= across[i * size + k]! * step[rows[i]!]!
          const at = 3 * blocks.members[b]![(k / 3) | 0]! + (k % 3)
          nextP[at] = p[at]! - value
          predicted += value * (normal.br[b]![k]! + damping * normal.bb[b]![k * size + k]! * value)
        }
      }
      nextCost = assess(nextG, nextP, true)
    }
    wasAccepted = nextCost < cost
    if (wasAccepted) {
      const gain = (cost - nextCost) / (predicted / 2)
      converged = cost - nextCost < tolerance * (1 + cost) || (nearly && Math.abs(gain - 1) < asExpected)
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
  const isFactored = nearly && wasAccepted ? true : reduce(0) && factorCholesky(schur, n)
  return { shared: g, points: p, cost, iterations, converged, covariance: isFactored ? choleskyInverse(schur, n) : null, misfits, layout }
}
