/**
 * Mains hum in a recording: lines at 50 or 60 Hz and their multiples that stand out of what lies beside them while nobody speaks.
 */
export interface Hum {
  /** Fundamental, hertz, to about 0.05. */
  readonly hz: number
  /** Multiples that stand out, 1 the fundamental. */
  readonly harmonics: readonly number[]
}

/** Rate at which hum is looked for; its tenth harmonic lies at 600 Hz. */
export const humRate = 2000
/** Half a second: short enough to lie between two words. */
const windowLength = 1024
const highest = 10
/** Ten seconds: a tenth of its windows is as few as can be gone by. */
const leastSamples = 10 * humRate
/** Enough windows (two minutes of quiet) for a steady mean; more would only take longer. */
const mostWindows = 240
/** dB over the median of what lies 6 to 16 Hz beside it. The middle of eight windows of noise alone stays within 5 dB (tried). */
const standsOut = 8
/** Once there is hum, what one may expect of its other lines: a voice may lie near them, and a narrow stop does no harm. */
const standsOutOfHum = 5

/** Keeps every so manieth sample of the mean over as many: a plain decimator, enough to look at what lies under 600 Hz. */
export class Decimator {
  readonly #every: number
  readonly #out: number[] = []
  #sum = 0
  #count = 0

  constructor(sampleRate: number) {
    this.#every = Math.round(sampleRate / humRate)
  }

  add(samples: Float32Array): void {
    for (const sample of samples) {
      this.#sum += sample
      if (++this.#count < this.#every) continue
      this.#out.push(this.#sum / this.#count)
      this.#sum = 0
      this.#count = 0
    }
  }

  get samples(): Float32Array {
    return Float32Array.from(this.#out)
  }
}

const hann = Float64Array.from({ length: windowLength }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / windowLength))

/** Power at one frequency of a windowed stretch: Goertzel's recursion. */
function powerAt(samples: Float32Array, start: number, hz: number): number {
  const turn = 2 * Math.cos((2 * Math.PI * hz) / humRate)
  let one = 0
  let two = 0
  for (let i = 0; i < windowLength; i++) {
    const next = samples[start + i]! * hann[i]! + turn * one - two
    two = one
    one = next
  }
  return one * one + two * two - turn * one * two
}

const median = (values: readonly number[]): number => values.toSorted((a, b) => a - b)[values.length >> 1]!
/** The middle one of the windows' powers: a word in some of them changes nothing. */
const usualPower = (samples: Float32Array, starts: readonly number[], hz: number): number => median(starts.map((start) => powerAt(samples, start, hz)))
const dB = (ratio: number): number => 10 * Math.log10(ratio)

/** The quietest tenth of the windows, but not dead silence. */
function quietWindows(samples: Float32Array): number[] {
  const windows: { start: number; energy: number }[] = []
  for (let start = 0; start + windowLength <= samples.length; start += windowLength / 2) {
    let energy = 0
    for (let i = 0; i < windowLength; i++) energy += samples[start + i]! ** 2
    if (energy > 0) windows.push({ start, energy })
  }
  windows.sort((a, b) => a.energy - b.energy)
  return windows.slice(0, Math.min(mostWindows, Math.max(8, Math.floor(windows.length / 10)))).map(({ start }) => start)
}

/**
 * Finds hum in sound at `humRate`; null where there is none, or too little sound to tell (less than some ten seconds).
 * Either two harmonics stand out, or the fundamental by far.
 */
export function findHum(samples: Float32Array): Hum | null {
  const starts = quietWindows(samples)
  if (samples.length < leastSamples || starts.length < 8) return null
  const bin = humRate / windowLength
  const prominence = (hz: number): { readonly over: number; readonly at: number } => {
    const near = [-2, -1, 0, 1, 2].map((k) => hz + (k * bin) / 2)
    const powers = near.map((one) => usualPower(samples, starts, one))
    const best = powers.indexOf(Math.max(...powers))
    const beside = [-8, -7, -6, -5, -4, -3, 3, 4, 5, 6, 7, 8].map((k) => usualPower(samples, starts, hz + k * bin))
    return { over: dB(powers[best]! / Math.max(median(beside), 1e-30)), at: near[best]! }
  }
  const found = [50, 60].map((mains) => {
    const lines = Array.from({ length: highest }, (_, i) => ({ harmonic: i + 1, ...prominence(mains * (i + 1)) }))
    const out = lines.filter(({ over }) => over >= standsOut)
    // 300 and 600 Hz belong to both.
    const own = out.filter(({ harmonic }) => (mains * harmonic) % 300 !== 0)
    return { mains, lines, own, score: own.reduce((sum, { over }) => sum + over, 0) }
  })
  const best = found[0]!.score >= found[1]!.score ? found[0]! : found[1]!
  const isHum = best.own.length >= 2 || best.own.some(({ harmonic, over }) => harmonic === 1 && over >= standsOut + 6)
  if (!isHum) return null
  // The strongest line tells the frequency best; the grid moves less than a notch is wide.
  const strongest = best.own.reduce((a, b) => (b.over > a.over ? b : a))
  const fine = Array.from({ length: 25 }, (_, i) => strongest.harmonic * best.mains + (i - 12) * 0.06)
  const powers = fine.map((hz) => usualPower(samples, starts, hz))
  return { hz: fine[powers.indexOf(Math.max(...powers))]! / strongest.harmonic, harmonics: best.lines.filter(({ over }) => over >= standsOutOfHum).map(({ harmonic }) => harmonic) }
}
