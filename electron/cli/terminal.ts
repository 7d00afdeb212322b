import type { Job } from '../../shared/contract/job.ts'

/** What a command writes to and hears from; tests put their own in. */
export interface Terminal {
  /** A line of the result. */
  out(line: string): void
  /** A line about what goes on, or what went wrong. */
  say(line: string): void
  /** Given when the user interrupts. */
  readonly signal: AbortSignal
}

/** Bad usage: exit code 2 and the sentence. */
export class UsageError extends Error {}

export function timeLeft(seconds: number): string {
  const whole = Math.max(1, Math.round(seconds))
  if (whole < 90) return `${whole} s left`
  const minutes = Math.round(whole / 60)
  return minutes < 90 ? `${minutes} min left` : `${Math.floor(minutes / 60)} h ${minutes % 60} min left`
}

/** One line for how a job stands. */
export function jobLine({ title, state, step, progress, secondsLeft, fault }: Job): string {
  if (state === 'failed' && fault)
    return `${fault.message.includes(title) ? '' : `${title}: `}${fault.message}${fault.remedy ? ` ${fault.remedy}` : ''}`
  if (state !== 'running') return `${title}: ${step}`
  return `${title}: ${step}, ${Math.floor(progress * 100)} %${secondsLeft === null ? '' : `, ${timeLeft(secondsLeft)}`}`
}

/** Says how a job stands whenever its step changes, and at most once a second between. */
export function progressPrinter(say: (line: string) => void, now: () => number = () => performance.now()): (job: Job) => void {
  const told = new Map<string, { step: string; at: number }>()
  return (job) => {
    if (job.state === 'waiting') return
    const last = told.get(job.id)
    const step = `${job.state} ${job.step}`
    if (last && last.step === step && (job.state !== 'running' || now() - last.at < 1000)) return
    told.set(job.id, { step, at: now() })
    say(jobLine(job))
  }
}
