import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../shared/signal/random.ts'
import { findTop, type ShaftTurn } from '../../shared/swing/positions/top.ts'

/** A shaft that slows to a stop at `at` and starts down `ratio` times as sharply, read with noise. */
function turnOf(random: ReturnType<typeof seededRandom>, fps: number, noise: number, ratio: number): { turn: ShaftTurn; at: number } {
  const at = 0.5 + random.uniform() / fps
  const t = Array.from({ length: Math.round(fps) }, (_, i) => i / fps)
  // Sharpness as simulated swings have it, radians a second squared; the change from one to the other is gradual.
  const angle = t.map((time) => {
    const d = time - at
    return 4.4 - 18 * d * d * (1 + ((ratio - 1) / 2) * (1 + Math.tanh(d / 0.05))) + noise * random.normal()
  })
  return { at, turn: { t, angle, sigma: t.map(() => noise) } }
}

describe('the instant at which the shaft turns back', () => {
  it.each([[240, 0.012], [240, 0.006], [120, 0.006], [60, 0.006], [30, 0.006]])('at %d frames a second, %d radians of noise: its error is honest, and none is far off', (fps, noise) => {
    const random = seededRandom(fps + 1000 * noise)
    const z: number[] = []
    for (let i = 0; i < 400; i++) {
      const { turn, at } = turnOf(random, fps, noise, 1 + random.uniform())
      const found = findTop(turn, 0.1, 0.9)
      if (found) z.push((found.t - at) / found.sigma)
    }
    expect(z.length).toBeGreaterThan(380)
    expect(Math.max(...z.map(Math.abs))).toBeLessThan(5)
    expect(z.filter((one) => Math.abs(one) < 2).length / z.length).toBeGreaterThan(0.9)
    expect(z.filter((one) => Math.abs(one) < 1).length / z.length).toBeGreaterThan(0.6)
    // These differ less from one another than the search takes swings to do.
    expect(z.filter((one) => Math.abs(one) < 1).length / z.length).toBeLessThan(0.9)
  })
})
