/** The sound of a clip: a quiet, steady air, and the click of club on ball. Mono, 48 kHz. */
export const sampleRate = 48_000

/** Seeded noise in -1..1 (a 32-bit xorshift, Marsaglia 2003, from memory): the same seed, the same sound. */
function noiseFrom(seed: number): () => number {
  let s = seed | 0 || 1
  return () => {
    s ^= s << 13
    s ^= s >>> 17
    s ^= s << 5
    return s / 2147483648
  }
}

/**
 * `seconds` of sound of the file, with the click starting at `clickS` of the file (left out where null); in slow motion everything is
 * `slow` times as long, as phones write it. The click comes at the instant of impact: no time is taken for the sound's way to the phone.
 */
export function clipSound(seconds: number, clickS: number | null, slow: number, seed: number): Float32Array<ArrayBuffer> {
  const out = new Float32Array(Math.round(seconds * sampleRate))
  const air = noiseFrom(seed)
  let low = 0
  let lower = 0
  for (let i = 0; i < out.length; i++) {
    low += (air() - low) * 0.09
    lower += (low - lower) * 0.04
    out[i] = low * 0.006 + lower * 0.02
  }
  if (clickS === null) return out
  const grain = noiseFrom(seed + 977)
  const from = Math.round(clickS * sampleRate)
  const length = Math.round(0.12 * slow * sampleRate)
  let soft = 0
  for (let i = 0; i < length && from + i < out.length; i++) {
    if (from + i < 0) continue
    const t = i / sampleRate / slow
    soft += (grain() - soft) * (0.75 / slow)
    const strike =
      Math.exp(-t / 0.004) * (0.55 * soft + 0.45 * Math.sin(2 * Math.PI * 2700 * t)) +
      0.25 * Math.exp(-t / 0.022) * Math.sin(2 * Math.PI * 930 * t) +
      0.12 * Math.exp(-t / 0.03) * soft
    out[from + i] = out[from + i]! + 0.8 * strike
  }
  return out
}
