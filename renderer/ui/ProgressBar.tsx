import { timeLeft } from './words.ts'

/** How far something is, what it does now and how long it will take, in words. */
export function ProgressBar({ label, value, step, secondsLeft }: {
  /** What is on its way, for a screen reader. */
  readonly label: string
  /** 0 to 1. */
  readonly value: number
  readonly step: string
  readonly secondsLeft: number | null
}) {
  const percent = Math.round(value * 100)
  return (
    <div className="progress">
      <div className="progress-words"><span className="clip-text">{step}</span><span className="quiet">{percent} %, {timeLeft(secondsLeft)}</span></div>
      <progress aria-label={label} max={100} value={percent} />
    </div>
  )
}
