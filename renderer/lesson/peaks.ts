/** Peaks of a sound for drawing: the largest absolute sample, 0 to 1, of each of `perSecond` equal parts of a second. */
export interface Peaks {
  readonly perSecond: number
  readonly values: Float32Array
}

const wavHeader = 44

/** Gathers peaks from the bytes of mono 16-bit little-endian PCM as they come, cut anywhere. */
export class PeakGatherer {
  readonly #each: number
  #values = new Float32Array(1024)
  #count = 0
  #inPart = 0
  #peak = 0
  #half: number | null = null

  constructor(sampleRate: number, perSecond: number) {
    this.#each = Math.max(1, Math.round(sampleRate / perSecond))
  }

  add(bytes: Uint8Array): void {
    for (const byte of bytes) {
      if (this.#half === null) {
        this.#half = byte
        continue
      }
      const sample = ((byte << 24) >> 16) | this.#half
      this.#half = null
      this.#peak = Math.max(this.#peak, Math.abs(sample))
      if (++this.#inPart === this.#each) this.#close()
    }
  }

  finish(): Float32Array {
    if (this.#inPart > 0) this.#close()
    return this.#values.slice(0, this.#count)
  }

  #close(): void {
    if (this.#count === this.#values.length) {
      const larger = new Float32Array(this.#values.length * 2)
      larger.set(this.#values)
      this.#values = larger
    }
    this.#values[this.#count++] = this.#peak / 32768
    this.#inPart = 0
    this.#peak = 0
  }
}

/** Reads a walkthrough's sound once, as it streams in, without ever holding it whole. */
export async function fetchPeaks(url: string, sampleRate: number, signal: AbortSignal, perSecond = 50): Promise<Peaks> {
  const answer = await fetch(url, { signal, credentials: 'same-origin' })
  if (!answer.ok || !answer.body) throw new Error(`The sound of this walkthrough cannot be read (${answer.status}).`)
  const gatherer = new PeakGatherer(sampleRate, perSecond)
  const reader = answer.body.getReader()
  let skip = wavHeader
  for (;;) {
    const { done, value } = await reader.read()
    if (done) break
    const cut = Math.min(skip, value.length)
    skip -= cut
    gatherer.add(value.subarray(cut))
  }
  return { perSecond, values: gatherer.finish() }
}
