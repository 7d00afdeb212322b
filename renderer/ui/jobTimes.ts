import type { Job } from '../../shared/contract/job.ts'
import { dayWords, minuteWords } from './words.ts'

export const isOpen = (job: Job): boolean => job.state === 'waiting' || job.state === 'running'

/** Whether work brings clips in; what is handed over goes out. */
export const comesIn = ({ kind }: Job): boolean => kind !== 'handoff' && kind !== 'pack' && kind !== 'bundle'

/** Why work waits: for its turn, for the coach, or for another try. */
export function waitingWords({ step, retryAt, fault, promisedOn }: Job): string {
  if (retryAt !== null) return `${fault?.message ?? 'It failed.'} Tried again ${minuteWords(retryAt)}`
  return step === 'Paused' ? step : `Waits for its turn${promisedOn ? `, promised for ${dayWords(Date.parse(`${promisedOn}T12:00`))}` : ''}`
}

/**
 * Seconds until all of these jobs are done, as far as can be told, or null. Those that wait are taken to need as long as
 * those that run do, one after the other.
 */
export function secondsLeftOf(jobs: readonly Job[]): number | null {
  const running = jobs.filter((job) => job.state === 'running')
  const known = running.flatMap(({ secondsLeft, progress }) => (secondsLeft === null || progress >= 1 ? [] : [{ left: secondsLeft, whole: secondsLeft / (1 - progress) }]))
  if (!known.length) return null
  const mean = known.reduce((sum, { whole }) => sum + whole, 0) / known.length
  const waiting = jobs.filter((job) => job.state === 'waiting').length
  return known.reduce((sum, { left }) => sum + left, 0) + (running.length - known.length + waiting) * mean
}

/** The jobs at a glance: how many, how long they still take, how many went wrong. */
export function jobsSummary(jobs: readonly Job[], leftWords: (seconds: number | null) => string): string {
  const open = jobs.filter(isOpen)
  const failed = jobs.filter((job) => job.state === 'failed').length
  const failedWords = failed ? `${failed} failed` : ''
  if (!open.length) return failedWords || 'No jobs'
  const left = secondsLeftOf(open)
  return [`${open.length} ${open.length === 1 ? 'job' : 'jobs'}`, left === null ? '' : leftWords(left), failedWords].filter(Boolean).join(', ')
}
