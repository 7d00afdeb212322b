import type { LogRow } from '../../shared/walkthrough/log.ts'

/** Puts one piece on the disk: `at` is the number of samples before it. Resolves when it is there. */
export type Append = (piece: { at: number; sound: Uint8Array; rows: readonly LogRow[] }) => Promise<void>

/**
 * Carries sound and rows to the disk as they come, one piece at a time and in order. What was not confirmed is kept and sent
 * again, with the same `at`, so that the desk can tell a repeat. Nothing is thrown away until it is confirmed.
 */
export class Saver {
  readonly #append: Append
  readonly #wait: (ms: number) => Promise<void>
  readonly #onFault: (fault: unknown) => void
  #sound: Int16Array[] = []
  #rows: LogRow[] = []
  #savedSamples = 0
  #takenSamples = 0
  #running: Promise<void> | null = null

  constructor(append: Append, onFault: (fault: unknown) => void = () => {}, wait: (ms: number) => Promise<void> = (ms) => new Promise((done) => setTimeout(done, ms))) {
    this.#append = append
    this.#onFault = onFault
    this.#wait = wait
  }

  /** Samples that are on the disk. */
  get savedSamples(): number {
    return this.#savedSamples
  }
  /** Samples taken so far. */
  get takenSamples(): number {
    return this.#takenSamples
  }

  addSound(samples: Int16Array): void {
    if (samples.length === 0) return
    this.#sound.push(samples)
    this.#takenSamples += samples.length
  }

  addRow(row: LogRow): void {
    this.#rows.push(row)
  }

  /** Sends what is held, retrying until it is confirmed; calls while one is under way join it. Rows travel with sound. */
  flush(): Promise<void> {
    this.#running ??= this.#send().finally(() => (this.#running = null))
    return this.#running
  }

  async #send(): Promise<void> {
    while (this.#sound.length > 0) {
      const parts = this.#sound
      const rows = this.#rows
      this.#sound = []
      this.#rows = []
      const length = parts.reduce((sum, part) => sum + part.length, 0)
      const joined = new Int16Array(length)
      let offset = 0
      for (const part of parts) {
        joined.set(part, offset)
        offset += part.length
      }
      const piece = { at: this.#savedSamples, sound: littleEndian(joined), rows }
      for (let pause = 100; ; pause = Math.min(pause * 2, 2000)) {
        try {
          await this.#append(piece)
          break
        } catch (fault) {
          this.#onFault(fault)
          await this.#wait(pause)
        }
      }
      this.#savedSamples += length
    }
  }
}

function littleEndian(samples: Int16Array): Uint8Array {
  const bytes = new Uint8Array(samples.length * 2)
  const view = new DataView(bytes.buffer)
  samples.forEach((sample, i) => view.setInt16(i * 2, sample, true))
  return bytes
}
