export interface Peak {
  /** Samples after the middle one, within +-.5 for a true peak. */
  readonly offset: number
  readonly value: number
}

/** The vertex of the parabola through three samples one step apart, or null where they lie on a line. */
export function parabolicPeak(before: number, middle: number, after: number): Peak | null {
  const bend = before - 2 * middle + after
  if (bend === 0) return null
  const offset = (before - after) / (2 * bend)
  return { offset, value: middle - ((before - after) * offset) / 4 }
}
