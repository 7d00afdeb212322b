import type { MeasureResult } from './measureSwing.ts'
import type { At, Unit } from './definition.ts'
import { positionNames, type PositionName } from '../contract/pointsFile.ts'
import { positionTitle } from './digitised.ts'

/** `lead-arm-to-vertical` is "Lead arm to vertical". */
export const measureTitle = (id: string): string => {
  const words = id.replaceAll('-', ' ')
  return words[0]!.toUpperCase() + words.slice(1)
}

export const atTitle = (at: At): string => (at === 'swing' ? 'whole swing' : positionTitle(at))

export const unitWords: Readonly<Record<Unit | 'px', string>> = { deg: '\u00b0', mm: ' mm', s: ' s', ratio: '', share: '', 'deg/s': ' \u00b0/s', px: ' px' }

/** Decimals that show two digits of an error. */
export function decimalsFor(sigma: number): number {
  if (!(sigma > 0) || !Number.isFinite(sigma)) return 2
  return Math.min(4, Math.max(0, 1 - Math.floor(Math.log10(sigma) + 1e-9)))
}

const signed = (value: number, decimals: number): string => {
  const text = Math.abs(value).toFixed(decimals)
  return value < 0 && Number(text) !== 0 ? `\u2212${text}` : text
}

/** The value and its error, both to two digits of the error: "34.2", "1.3"; unequal sides "+5" and "-3". */
export function digitsOf({ value, sigma, lo, hi }: Pick<MeasureResult, 'value' | 'sigma' | 'lo' | 'hi'>): { readonly value: string; readonly error: string } {
  const decimals = decimalsFor(sigma)
  const up = (hi - value).toFixed(decimals)
  const down = (value - lo).toFixed(decimals)
  return { value: signed(value, decimals), error: up === down ? `\u00b1 ${sigma.toFixed(decimals)}` : `+${up} \u2212${down}` }
}

/** "34.2 ± 1.3°" */
export function measureWords(measure: Pick<MeasureResult, 'value' | 'sigma' | 'lo' | 'hi'> & { readonly unit: Unit }): string {
  const { value, error } = digitsOf(measure)
  return `${value} ${error}${unitWords[measure.unit]}`
}

const idPattern = new RegExp(`\\b(?:${positionNames.filter((name) => name.includes('-')).join('|')})\\b`, 'g')

/** A basis or a reason with the names of the code put into words (positions, points, views) and its figures cut to what they are worth. */
export const inWords = (text: string): string =>
  text
    .replace(idPattern, (name) => positionTitle(name as PositionName))
    .replace(/\d+\.\d{4,}/g, (figures) => String(Number(Number(figures).toPrecision(2))))
    .replaceAll('+-', '\u00b1')
    .replaceAll('down-the-line', 'down the line')
    .replaceAll('midShoulders', 'midway between the shoulders')
    .replaceAll('midHips', 'midway between the hips')
    .replaceAll('shaftTail', 'butt')
    .replaceAll('shaftTip', 'clubhead')
    .replace(/\b[a-z]+[A-Z][A-Za-z]*\b/g, (name) => name.replace(/([A-Z])/g, ' $1').toLowerCase())
