/** A piece of mono sound as it comes from the microphone. */
export interface SoundPiece {
  /** 16-bit samples. */
  readonly samples: Int16Array
  /** When the first of them was sounded, on performance.now's clock, milliseconds. */
  readonly at: number
}

/** How loud the last pieces were, in dB of full scale; -Infinity is silence. */
export interface Level {
  readonly peakDb: number
  readonly rmsDb: number
  /** A sample stood at full scale: it is being clipped. */
  readonly clipped: boolean
}

/** Where a recording's sound comes from. Pieces follow one another without gaps: what was lost is filled with silence. */
export interface SoundSource {
  readonly sampleRate: number
  /** False where there is no voice: the samples are silence that keeps the time. */
  readonly voiced: boolean
  onPiece: (piece: SoundPiece) => void
  onLevel: (level: Level) => void
  /** The device went away or the stream broke. */
  onLost: (why: string) => void
  close(): void
}

/** Silence by the clock, for a walkthrough without a voice. */
export function silentSource(sampleRate = 48_000, now: () => number = () => performance.now()): SoundSource {
  const began = now()
  let sent = 0
  const source: SoundSource = { sampleRate, voiced: false, onPiece: () => {}, onLevel: () => {}, onLost: () => {}, close: () => clearInterval(timer) }
  const timer = setInterval(() => {
    const due = Math.floor(((now() - began) / 1000) * sampleRate)
    if (due <= sent) return
    source.onPiece({ samples: new Int16Array(due - sent), at: began + (sent / sampleRate) * 1000 })
    sent = due
  }, 50)
  return source
}
