/** Amounts in words, the same in every room. */
import type { Output } from '../../shared/contract/operations.ts'

const plural = (n: number, one: string): string => `${n.toLocaleString('en')} ${n === 1 ? one : /[^aeiou]y$/.test(one) ? `${one.slice(0, -1)}ies` : `${one}s`}`

/** `about 40 s left`; seconds, or null where it cannot be told yet. */
export function timeLeft(seconds: number | null): string {
  if (seconds === null || !Number.isFinite(seconds)) return 'time left not known yet'
  if (seconds < 5) return 'a few seconds left'
  if (seconds < 55) return `about ${Math.round(seconds / 5) * 5} s left`
  if (seconds < 3600) return `about ${Math.max(1, Math.round(seconds / 60))} min left`
  const hours = Math.floor(seconds / 3600)
  return `about ${hours} h ${Math.round((seconds - hours * 3600) / 60)} min left`
}

/** How long since `from`, for somebody who waits: `3 days`. Milliseconds. */
export function waited(from: number, now: number): string {
  const minutes = Math.max(0, (now - from) / 60_000)
  if (minutes < 60) return 'less than an hour'
  if (minutes < 48 * 60) return plural(Math.floor(minutes / 60), 'hour')
  return plural(Math.floor(minutes / 1440), 'day')
}

/** `18.4 MB`. */
export function byteWords(bytes: number): string {
  const units = ['bytes', 'kB', 'MB', 'GB', 'TB']
  let value = bytes
  let unit = 0
  while (value >= 999.5 && unit < units.length - 1) {
    value /= 1000
    unit++
  }
  return `${unit === 0 || value >= 100 ? Math.round(value) : value.toFixed(1)} ${units[unit]}`
}

/** `2.4 s`, `1 min 12 s`. */
export function durationWords(seconds: number): string {
  if (seconds < 60) return `${seconds < 10 ? seconds.toFixed(2) : seconds.toFixed(1)} s`
  const minutes = Math.floor(seconds / 60)
  return `${minutes} min ${Math.round(seconds - minutes * 60)} s`
}

/** A rate without needless digits: 240, 59.94, 23.98. */
export const rateNumber = (rate: number): string => String(Number(rate.toFixed(2)))

/** `filmed at 240, plays at 30`, or `60 a second` where both are the same within 1 %. */
export function rateWords(captureRate: number, playRate: number): string {
  if (Math.abs(captureRate / playRate - 1) < 0.01) return `${rateNumber(captureRate)} a second`
  return `filmed at ${rateNumber(captureRate)}, plays at ${rateNumber(playRate)}`
}

const dayFormat = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', year: 'numeric' })
const minuteFormat = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', year: 'numeric', hour: '2-digit', minute: '2-digit' })
export const dayWords = (ms: number): string => dayFormat.format(ms)
export const minuteWords = (ms: number): string => minuteFormat.format(ms)

/** ISO day in the coach's own time zone: 2026-05-01. */
export function isoDay(ms: number): string {
  const date = new Date(ms)
  const two = (n: number): string => String(n).padStart(2, '0')
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`
}

export const viewWords = { 'face-on': 'Face-on', 'down-the-line': 'Down the line', other: 'Other view' } as const
export const handednessWords = { right: 'Right-handed', left: 'Left-handed' } as const
export const pairingWords = { 'one-swing': 'One swing, two cameras', 'two-swings': 'Two swings, one after the other' } as const

/** Removal in words: `2 clips, 1 swing, 14 marks`. */
export function countWords(counts: Readonly<Record<string, number>>): string {
  const parts = Object.entries(counts).filter(([, n]) => n > 0).map(([what, n]) => plural(n, what))
  if (parts.length < 2) return parts[0] ?? 'nothing'
  return `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`
}

type Removed = Output<'student.remove'>
const removedWords = {
  clips: 'clip', marks: 'mark', points: 'placed point', findings: 'finding', prescriptions: 'prescribed drill', plans: 'plan', walkthroughs: 'walkthrough', lessons: 'edited lesson', handoffs: 'hand-off',
} as const satisfies Partial<Record<keyof Removed, string>>

/** What hangs on clips and goes with them, in words; what there is none of is left out. */
export function removedCounts(went: Omit<Removed, 'files'>): string {
  const counts = Object.fromEntries(Object.entries(removedWords).map(([what, words]) => [words, went[what as keyof typeof removedWords]]))
  return countWords(counts)
}
