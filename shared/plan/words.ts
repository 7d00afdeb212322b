import type { Dose, DrillArea } from '../contract/drill.ts'
import type { Finding, FindingNumber } from '../contract/finding.ts'
import { positionTitle } from '../swing/digitised.ts'
import { digitsOf, unitWords } from '../swing/measureWords.ts'

/** "34.2 ± 1.3°", or with its two sides where they differ. */
export function numberWords(number: Pick<FindingNumber, 'value' | 'sigma' | 'lo' | 'hi' | 'unit'>): string {
  const { value, error } = digitsOf(number)
  return `${value} ${error}${unitWords[number.unit]}`
}

/** "at the top", "over the whole swing"; empty where it is a frame without a name. */
export function placeWords(at: Finding['at']): string {
  if (at === null) return ''
  return at === 'swing' ? 'over the whole swing' : at === 'top' || at === 'finish' || at === 'takeaway' ? `at the ${at}` : `at ${positionTitle(at)}`
}

export const areaTitles: Readonly<Record<DrillArea, string>> = {
  grip: 'Grip', 'set-up': 'Set-up', takeaway: 'Takeaway', top: 'Top', transition: 'Transition', delivery: 'Delivery', 'face-control': 'Face control', tempo: 'Tempo',
}

const times = (n: number, one: string): string => `${n} ${one}${n === 1 ? '' : 's'}`

/** "3 sets of 8, 5 days a week" */
export function doseWords({ sets, repetitions, daysAWeek }: Dose): string {
  const often = daysAWeek === 7 ? 'every day' : daysAWeek === 1 ? 'one day a week' : `${daysAWeek} days a week`
  return `${times(sets, 'set')} of ${repetitions}, ${often}`
}

const months = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December']

/** "14 May 2026", of an ISO day. */
export function longDay(iso: string): string {
  const [year, month, day] = iso.split('-').map(Number)
  return `${day} ${months[month! - 1]} ${year}`
}

/** The ISO day that is so many days after another. */
export function dayAfter(iso: string, days: number): string {
  const date = new Date(`${iso}T12:00:00Z`)
  date.setUTCDate(date.getUTCDate() + days)
  return date.toISOString().slice(0, 10)
}

/** What comes before the first blank of a name. */
export const firstName = (name: string): string => name.trim().split(/\s+/)[0] ?? ''
