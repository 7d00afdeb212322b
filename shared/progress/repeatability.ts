/** A point at a position of one swing, metres from the origin at address in the plane of the view: `u` across, `v` up. */
export interface RepeatedPoint {
  /** Which point of body or club it is. */
  readonly of: string
  readonly u: number
  readonly v: number
  /** One standard deviation of `u`, and of `v`, by placing and timing alone, metres. */
  readonly sigma: number
}

/** One of the swings: its points by what they are and where in the swing. */
export interface RepeatedSwing {
  readonly points: ReadonlyMap<string, RepeatedPoint>
  /** Whether up is marked in its picture; where it is not in one of them, how far each picture leans is taken from the points. */
  readonly isLevel: boolean
}

export interface Repeatability {
  /** How far a point comes back to the same place, metres in each direction, one standard deviation; 0 where no scatter shows beyond that of placing. */
  readonly m: number
  /** One standard deviation of it; where `m` is 0, what it may well be. */
  readonly sigmaM: number
  readonly swings: number
  /** How many points at positions at least `fewestSwings` of the swings have. */
  readonly places: number
  /** Degrees of freedom that the scatter has left, points that stray together counted as one. */
  readonly freedom: number
}

/** Scatter is not told from fewer. */
export const fewestSwings = 3
/** So many points at positions must be had in common. */
export const fewestPlaces = 4

interface Row { readonly of: string; readonly swing: number; readonly u: number; readonly v: number; readonly variance: number; ru: number; rv: number; w: number }

/**
 * What a student's swings of one view and club have in scatter about their own usual swing, beyond that of placing: the
 * variance at which all deviations, each weighted by what it should scatter, are as large as their number says
 * (Paule & Mandel, J. Res. NBS 87, 1982, 377). Each picture's size, and its lean where that is not marked, is fitted too,
 * for no student grows between swings; what they take is taken off the degrees of freedom. Points of one body stray
 * together, so that they tell less than their number: by trace squared over trace of the square of their covariance (Box,
 * Ann. Math. Stat. 25, 1954, 290), its unbiased estimates after Srivastava (J. Japan Stat. Soc. 35, 2005, 251).
 * Null where fewer than three swings share four points at positions.
 */
export function repeatabilityOf(swings: readonly RepeatedSwing[]): Repeatability | null {
  const keys = [...new Set(swings.flatMap(({ points }) => [...points.keys()]))]
    .filter((key) => swings.filter(({ points }) => points.has(key)).length >= fewestSwings)
  const used = swings.filter(({ points }) => keys.filter((key) => points.has(key)).length >= fewestPlaces)
  const groups = keys.map((key) => used.flatMap(({ points }, swing): Row[] => {
    const p = points.get(key)
    return p ? [{ of: p.of, swing, u: p.u, v: p.v, variance: p.sigma ** 2, ru: 0, rv: 0, w: 0 }] : []
  })).filter((rows) => rows.length >= fewestSwings)
  if (used.length < fewestSwings || groups.length < fewestPlaces) return null

  const leans = used.some(({ isLevel }) => !isLevel)
  const fitted = (leans ? 2 : 1) * (used.length - 1)
  const freedom = groups.reduce((sum, rows) => sum + 2 * (rows.length - 1), 0) - fitted
  let variance = 0
  for (let round = 0; round < 12; round++) {
    fit(groups, used.length, variance, leans)
    const next = varianceFor(groups, freedom)
    const isSettled = Math.abs(next - variance) <= 1e-9 * (next + 1e-12)
    variance = next
    if (isSettled) break
  }

  const rank = used.length - 1
  const apart = apartness(groups, used.length, rank, variance)
  let slope = 0
  for (const rows of groups) for (const { ru, rv, variance: own } of rows) slope += (ru * ru + rv * rv) / (variance + own) ** 2
  const sigmaOfVariance = (Math.sqrt(2 / (rank * apart)) * freedom) / slope
  const m = Math.sqrt(variance)
  const isShown = variance > sigmaOfVariance / 4
  return {
    m: isShown ? m : 0, sigmaM: isShown ? Math.min(sigmaOfVariance / (2 * m), Math.sqrt(variance + sigmaOfVariance)) : Math.sqrt(variance + sigmaOfVariance),
    swings: used.length, places: groups.length, freedom: rank * apart,
  }
}

/** Puts into each row its deviation from the usual swing, after every picture is made the size, and turned the way, that fits best. */
function fit(groups: readonly (readonly Row[])[], swings: number, variance: number, leans: boolean): void {
  const size = new Float64Array(swings)
  const lean = new Float64Array(swings)
  for (let round = 0; round < 6; round++) {
    const sums = Array.from({ length: swings }, () => [0, 0, 0] as [number, number, number])
    for (const rows of groups) {
      let [w, mu, mv] = [0, 0, 0]
      for (const row of rows) {
        row.w = 1 / (variance + row.variance + 1e-12)
        const [c, s] = [1 - size[row.swing]!, -lean[row.swing]!]
        row.ru = c * row.u - s * row.v
        row.rv = s * row.u + c * row.v
        w += row.w
        mu += row.w * row.ru
        mv += row.w * row.rv
      }
      mu /= w
      mv /= w
      for (const row of rows) {
        row.ru -= mu
        row.rv -= mv
        const sum = sums[row.swing]!
        sum[0] += row.w * (row.ru * mu + row.rv * mv)
        sum[1] += row.w * (row.rv * mu - row.ru * mv)
        sum[2] += row.w * (mu * mu + mv * mv)
      }
    }
    if (round === 5) break
    const by = sums.map(([grown, turned, all]) => [grown / all, turned / all] as const)
    // What all have in common is the student's own size, and the way that up was taken to be.
    const common = by.reduce(([a, b], [g, t]) => [a + g / swings, b + t / swings] as const, [0, 0] as readonly [number, number])
    by.forEach(([grown, turned], i) => {
      size[i] = size[i]! + grown - common[0]
      if (leans) lean[i] = lean[i]! + turned - common[1]
    })
  }
}

/** The variance, in square metres, at which the deviations are as large as their degrees of freedom; 0 where they are smaller even without. */
function varianceFor(groups: readonly (readonly Row[])[], freedom: number): number {
  const misfit = (variance: number): number => {
    let sum = 0
    for (const rows of groups) for (const { ru, rv, variance: own } of rows) sum += (ru * ru + rv * rv) / (variance + own + 1e-12)
    return sum
  }
  if (misfit(0) <= freedom) return 0
  let [low, high] = [0, 1]
  while (misfit(high) > freedom) high *= 4
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2
    if (misfit(middle) > freedom) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** How many independent things the deviations of a swing amount to: 1 where all points stray together, up to twice the points of the body. */
function apartness(groups: readonly (readonly Row[])[], swings: number, rank: number, variance: number): number {
  // A point that is off at one position is off at the next, as far as anybody has shown.
  const most = 2 * new Set(groups.map(([first]) => first!.of)).size
  const gram = Array.from({ length: swings }, () => new Float64Array(swings))
  for (const rows of groups)
    for (const a of rows)
      for (const b of rows) gram[a.swing]![b.swing]! += (a.ru * b.ru + a.rv * b.rv) / Math.sqrt((variance + a.variance) * (variance + b.variance) + 1e-24)
  let [trace, square] = [0, 0]
  gram.forEach((row, i) => {
    trace += row[i]! / rank
    for (const value of row) square += (value / rank) ** 2
  })
  const whole = ((rank * (rank + 1)) / ((rank - 1) * (rank + 2))) * (trace ** 2 - (2 / (rank + 1)) * square)
  const shared = (rank ** 2 / ((rank - 1) * (rank + 2))) * (square - trace ** 2 / rank)
  return shared <= whole / most ? most : Math.max(1, whole / shared)
}
