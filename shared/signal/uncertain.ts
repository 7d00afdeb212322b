/**
 * Numbers that know where their error comes from. Each keeps, for every independent source of error (a point's x on
 * one frame, a camera's level, a clock), how far one standard deviation of that source moves it. Errors that two
 * numbers share then cancel or add by themselves, to first order (GUM, JCGM 100:2008, clause 5.2).
 */
export interface Uncertain {
  readonly value: number
  /** Source to the change that one standard deviation of it makes. */
  readonly parts: ReadonlyMap<number, number>
}

const none: ReadonlyMap<number, number> = new Map()

export const exact = (value: number): Uncertain => ({ value, parts: none })

/** A number with one source of error of its own. */
export const measured = (value: number, sigma: number, source: number): Uncertain => ({ value, parts: new Map([[source, sigma]]) })

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

export function sigmaOf(u: Uncertain): number {
  let sum = 0
  u.parts.forEach((part) => (sum += part * part))
  return Math.sqrt(sum)
}

/** value + sum of coefficients times what each input is off by. */
export function linear(value: number, inputs: readonly Uncertain[], coefficients: ArrayLike<number>): Uncertain {
  const parts = new Map<number, number>()
  for (let i = 0; i < inputs.length; i++) {
    const k = coefficients[i]!
    if (k === 0) continue
    if (parts.size === 0) inputs[i]!.parts.forEach((part, source) => parts.set(source, k * part))
    else inputs[i]!.parts.forEach((part, source) => parts.set(source, (parts.get(source) ?? 0) + k * part))
  }
  return { value, parts }
}

export const add = (a: Uncertain, b: Uncertain): Uncertain => linear(a.value + b.value, [a, b], [1, 1])
export const subtract = (a: Uncertain, b: Uncertain): Uncertain => linear(a.value - b.value, [a, b], [1, -1])
export const times = (a: Uncertain, b: Uncertain): Uncertain => linear(a.value * b.value, [a, b], [b.value, a.value])
export const divide = (a: Uncertain, b: Uncertain): Uncertain => linear(a.value / b.value, [a, b], [1 / b.value, -a.value / (b.value * b.value)])
export const scaled = (a: Uncertain, k: number): Uncertain => linear(a.value * k, [a], [k])

/** The same number with one more error of its own. */
export const withError = (a: Uncertain, sigma: number, source: number): Uncertain =>
  sigma > 0 ? { value: a.value, parts: new Map([...a.parts, [source, sigma]]) } : a

/** The shared part of two numbers' errors, in the product of their units. */
export function covariance(a: Uncertain, b: Uncertain): number {
  let sum = 0
  for (const [source, part] of a.parts) sum += part * (b.parts.get(source) ?? 0)
  return sum
}

/**
 * Several results of one smooth function of uncertain inputs, by central differences of a third of each input's
 * own deviation: wide enough to be free of rounding, narrow enough to be local.
 */
export function propagate(f: (values: Float64Array) => readonly number[], inputs: readonly Uncertain[]): Uncertain[] {
  const at = Float64Array.from(inputs, (input) => input.value)
  const middle = f(at)
  const coefficients = middle.map(() => new Float64Array(inputs.length))
  inputs.forEach((input, i) => {
    const sigma = sigmaOf(input)
    if (sigma === 0) return
    const step = sigma / 3
    at[i] = input.value + step
    const high = f(at)
    at[i] = input.value - step
    const low = f(at)
    at[i] = input.value
    for (let k = 0; k < middle.length; k++) coefficients[k]![i] = (high[k]! - low[k]!) / (2 * step)
  })
  return middle.map((value, k) => linear(value, inputs, coefficients[k]!))
}
