import type { MeasureResult, SwingResult } from './measureSwing.ts'

/** How one result differs from another of the same swing. */
export interface ResultChange {
  /** Measures that have moved by a hundredth of their error or more, the one that moved by the most errors first. */
  readonly moved: readonly { readonly before: MeasureResult; readonly after: MeasureResult; readonly errors: number }[]
  readonly gained: readonly MeasureResult[]
  readonly lost: readonly MeasureResult[]
}

const keyOf = ({ id, view, at }: MeasureResult): string => `${id} ${view} ${at}`
const least = 0.01

/** What moved between two results: each difference in the errors that the measure had before. */
export function resultChange(before: SwingResult, after: SwingResult): ResultChange {
  const was = new Map(before.measures.map((one) => [keyOf(one), one]))
  const is = new Map(after.measures.map((one) => [keyOf(one), one]))
  const moved = [...was].flatMap(([key, one]) => {
    const now = is.get(key)
    if (!now) return []
    const errors = one.sigma > 0 ? Math.abs(now.value - one.value) / one.sigma : now.value === one.value ? 0 : Infinity
    return errors >= least ? [{ before: one, after: now, errors }] : []
  })
  return {
    moved: moved.toSorted((a, b) => b.errors - a.errors),
    gained: after.measures.filter((one) => !was.has(keyOf(one))),
    lost: before.measures.filter((one) => !is.has(keyOf(one))),
  }
}
