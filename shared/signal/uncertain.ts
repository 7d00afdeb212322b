/**
 * Numbers that know where their error comes from. Each keeps, for every independent source of error (a point's x on
 * one frame, a camera's level, a clock), how far one standard deviation of that source moves it. Errors that two
 * numbers share then cancel or add by themselves, to first order (GUM, JCGM 100:2008, clause 5.2).
 */
export interface Uncertain {
  readonly value: number
  readonly parts: Parts
}

/** Sources, each once, and beside each the change that one standard deviation of it makes. Lists, since a number of a swing has hundreds. */
export interface Parts {
  readonly sources: readonly number[]
  readonly shares: readonly number[]
}

const none: Parts = { sources: [], shares: [] }

export const exact = (value: number): Uncertain => ({ value, parts: none })

/** A number with one source of error of its own. */
export const measured = (value: number, sigma: number, source: number): Uncertain => ({ value, parts: { sources: [source], shares: [sigma] } })

/** A number with what one standard deviation of each source changes it by. */
export const withParts = (value: number, parts: ReadonlyMap<number, number>): Uncertain =>
  linear(value, Array.from(parts, ([source, share]) => measured(0, share, source)), Array.from(parts, () => 1))

export const isExact = ({ parts }: Uncertain): boolean => parts.sources.length === 0

/** Gives out sources, each only once. */
export class Sources {
  private next = 0
  private readonly known = new Map<string, number>()
  /** The source of this name, the same at every call. */
  of(name: string): number {
    const source = this.known.get(name)
    if (source !== undefined) return source
    this.known.set(name, this.next)
    return this.next++
  }
  fresh(): number {
    return this.next++
  }
  /** `count` sources in a row; the first of them. */
  block(count: number): number {
    const first = this.next
    this.next += count
    return first
  }
}

export function sigmaOf({ parts: { shares } }: Uncertain): number {
  let sum = 0
  for (let i = 0; i < shares.length; i++) sum += shares[i]! * shares[i]!
  return Math.sqrt(sum)
}

/** Its standard deviation without what comes from one source. */
export function sigmaWithout({ parts: { sources, shares } }: Uncertain, source: number): number {
  let sum = 0
  for (let i = 0; i < shares.length; i++) if (sources[i] !== source) sum += shares[i]! * shares[i]!
  return Math.sqrt(sum)
}

/** Where each source stands in the list of parts in hand, counted from 1; 0 for all of them between calls. */
let placeOf = new Int32Array(1 << 14)
/** The list that `linear` puts together: one for all calls, so that each copies no more than it came to. */
const gathered: { readonly sources: number[]; readonly shares: number[] } = { sources: [0], shares: [0.5] }

function roomFor(source: number): void {
  if (source < placeOf.length) return
  const larger = new Int32Array(2 * source)
  larger.set(placeOf)
  placeOf = larger
}

/** value + sum of coefficients times what each input is off by. */
export function linear(value: number, inputs: readonly Uncertain[], coefficients: ArrayLike<number>): Uncertain {
  const { sources, shares } = gathered
  let count = 0
  for (let i = 0; i < inputs.length; i++) {
    const k = coefficients[i]!
    if (k === 0) continue
    const { parts } = inputs[i]!
    for (let j = 0; j < parts.sources.length; j++) {
      const source = parts.sources[j]!
      const share = k * parts.shares[j]!
      roomFor(source)
      const place = placeOf[source]!
      if (place > 0) shares[place - 1] = shares[place - 1]! + share
      else {
        sources[count] = source
        shares[count] = share
        placeOf[source] = ++count
      }
    }
  }
  for (let j = 0; j < count; j++) placeOf[sources[j]!] = 0
  return { value, parts: { sources: sources.slice(0, count), shares: shares.slice(0, count) } }
}

export const add = (a: Uncertain, b: Uncertain): Uncertain => (isExact(b) ? { value: a.value + b.value, parts: a.parts } : linear(a.value + b.value, [a, b], [1, 1]))
export const subtract = (a: Uncertain, b: Uncertain): Uncertain => linear(a.value - b.value, [a, b], [1, -1])
export const times = (a: Uncertain, b: Uncertain): Uncertain => linear(a.value * b.value, [a, b], [b.value, a.value])
export const divide = (a: Uncertain, b: Uncertain): Uncertain => linear(a.value / b.value, [a, b], [1 / b.value, -a.value / (b.value * b.value)])
export const scaled = (a: Uncertain, k: number): Uncertain => moving(a.value * k, a, k)

/** A number that moves k times as far as another by all that the other is off by. */
export const moving = (value: number, a: Uncertain, k: number): Uncertain => linear(value, [a], [k])

/** The same number with one more error of its own. */
export function withError(a: Uncertain, sigma: number, source: number): Uncertain {
  if (!(sigma > 0)) return a
  const others = a.parts.sources.includes(source) ? without(a, source) : a
  return { value: a.value, parts: { sources: [...others.parts.sources, source], shares: [...others.parts.shares, sigma] } }
}

function without({ value, parts: { sources, shares } }: Uncertain, source: number): Uncertain {
  const isOther = (_: number, i: number): boolean => sources[i] !== source
  return { value, parts: { sources: sources.filter(isOther), shares: shares.filter(isOther) } }
}

/** The shared part of two numbers' errors, in the product of their units. */
export const covariance = (a: Uncertain, b: Uncertain): number => covariances([a], b)[0]!

/** The shared part of each of several numbers' errors with one other's. */
export function covariances(several: readonly Uncertain[], { parts }: Uncertain): number[] {
  for (let j = 0; j < parts.sources.length; j++) {
    roomFor(parts.sources[j]!)
    placeOf[parts.sources[j]!] = j + 1
  }
  const found = several.map(({ parts: { sources, shares } }) => {
    let sum = 0
    for (let j = 0; j < sources.length; j++) {
      const place = placeOf[sources[j]!] ?? 0
      if (place > 0) sum += shares[j]! * parts.shares[place - 1]!
    }
    return sum
  })
  for (let j = 0; j < parts.sources.length; j++) placeOf[parts.sources[j]!] = 0
  return found
}

/**
 * Several results of one smooth function of uncertain inputs, by central differences of a third of each input's
 * own deviation: wide enough to be free of rounding, narrow enough to be local.
 * @param besides what each result is off by besides, where there is such
 */
export function propagate(f: (values: Float64Array) => readonly number[], inputs: readonly Uncertain[], besides: readonly Parts[] = []): Uncertain[] {
  const at = new Float64Array(inputs.length)
  for (let i = 0; i < at.length; i++) at[i] = inputs[i]!.value
  const middle = f(at)
  const coefficients = middle.map(() => new Float64Array(inputs.length))
  for (let i = 0; i < at.length; i++) {
    const input = inputs[i]!
    const sigma = sigmaOf(input)
    if (sigma === 0) continue
    const step = sigma / 3
    at[i] = input.value + step
    const high = f(at)
    at[i] = input.value - step
    const low = f(at)
    at[i] = input.value
    for (let k = 0; k < middle.length; k++) coefficients[k]![i] = (high[k]! - low[k]!) / (2 * step)
  }
  return middle.map((value, k) => {
    const parts = besides[k]
    return parts ? linear(value, [...inputs, { value: 0, parts }], [...coefficients[k]!, 1]) : linear(value, inputs, coefficients[k]!)
  })
}
