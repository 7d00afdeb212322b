/** What the shaft does at the top, in words: from the interval of its azimuth, never from the point alone. */
export type TopVerdict = 'laid off' | 'on the line' | 'across the line' | 'cannot be told from this'

/** Within this many degrees of the target line a shaft counts as on it. The coach's to set: no source gives one. */
export const onTheLineHalfWidth = 3

export interface Interval {
  readonly lo: number
  readonly hi: number
}

/**
 * @param azimuth the interval in degrees, 0 along the target line, positive across it
 * @param halfWidth degrees that still count as on the line
 */
export function topVerdict({ lo, hi }: Interval, halfWidth = onTheLineHalfWidth): TopVerdict {
  if (hi < -halfWidth) return 'laid off'
  if (lo > halfWidth) return 'across the line'
  if (lo >= -halfWidth && hi <= halfWidth) return 'on the line'
  return 'cannot be told from this'
}

export interface TopReadings {
  /** Azimuth as it is at the top, degrees. */
  readonly azimuth: Interval
  /** Azimuth once carried on to level; null where it cannot be had. */
  readonly atLevel: Interval | null
  /** Degrees short of level, positive short. */
  readonly short: Interval | null
  /** What the camera's place alone adds to the look, degrees; null where it is not known. */
  readonly bias: { readonly value: number; readonly sigma: number } | null
}

const degrees = (value: number): string => `${Math.abs(value).toFixed(1)} degrees`
const sided = (verdict: TopVerdict): boolean => verdict === 'laid off' || verdict === 'across the line'

/** The verdict as it looks, as it is, and as it would be at level, in one or two sentences. */
export function topSentence(r: TopReadings, halfWidth = onTheLineHalfWidth): { readonly verdict: TopVerdict; readonly sentence: string } {
  const here = topVerdict(r.azimuth, halfWidth)
  const level = r.atLevel && topVerdict(r.atLevel, halfWidth)
  const verdict = level ?? here
  const shortOf = r.short && r.short.lo > 0 ? `${degrees((r.short.lo + r.short.hi) / 2)} short of level` : r.short && r.short.hi < 0 ? `${degrees((r.short.lo + r.short.hi) / 2)} past level` : null
  const parts: string[] = []
  if (level === null || level === here) {
    const range = r.atLevel ?? r.azimuth
    parts.push(here === 'cannot be told from this' ? `Whether the shaft is on the line cannot be told: its azimuth lies between ${range.lo.toFixed(1)} and ${range.hi.toFixed(1)} degrees.` : `The shaft is ${here}${level ? ', and stays so carried to level' : ''}.`)
  } else if (level === 'cannot be told from this')
    parts.push(`The shaft points ${here} where it stops${shortOf ? `, ${shortOf}` : ''}; what it would be at level cannot be told (${r.atLevel!.lo.toFixed(1)} to ${r.atLevel!.hi.toFixed(1)} degrees).`)
  else parts.push(`${sided(here) ? `The shaft points ${here} where it stops` : 'Where it stops the shaft\'s line says little'}${shortOf ? `, ${shortOf}` : ''}; carried to level it is ${level}.`)
  if (r.bias && Math.abs(r.bias.value) > Math.max(1, r.bias.sigma))
    parts.push(`In the picture it looks ${degrees(r.bias.value)} (+-${r.bias.sigma.toFixed(1)}) more ${r.bias.value > 0 ? 'across' : 'laid off'} than it is, for where the camera stands.`)
  return { verdict, sentence: parts.join(' ') }
}
