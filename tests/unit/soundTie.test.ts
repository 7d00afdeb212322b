import { describe, expect, it } from 'vitest'
import { seededRandom, type Random } from '../../shared/signal/random.ts'
import { lagOfOnsets, sharpestOnset, type Onset } from '../../shared/signal/onset.ts'
import { soundSpeed, tieBySound } from '../../shared/swing/soundTie.ts'

interface Scene {
  readonly rate: number
  readonly seconds: number
  /** Blows: when, how loud; each a burst that dies away, with an echo. */
  readonly blows: readonly (readonly [t: number, loud: number])[]
  readonly noise: number
  readonly echo?: number
}

/** What a phone hears: wind, a voice's hum, and blows, none of them on a sample. */
function hear({ rate, seconds, blows, noise, echo = 0.02 }: Scene, random: Random): Float32Array {
  let wind = 0
  return Float32Array.from({ length: Math.round(rate * seconds) }, (_, i) => {
    const t = i / rate
    wind = 0.995 * wind + noise * random.normal()
    let sum = wind + 0.2 * noise * random.normal() + 0.05 * Math.sin(2 * Math.PI * 170 * t) * Math.max(0, Math.sin(2 * t))
    for (const [at, loud] of blows)
      for (const [late, share] of [[0, 1], [echo, 0.3]] as const) {
        const since = t - at - late
        if (since >= 0 && since < 0.1) sum += share * loud * Math.exp(-since / 0.004) * random.normal()
      }
    return sum
  })
}

const onsetOf = (samples: Float32Array, rate: number): Onset => {
  const onset = sharpestOnset(samples, rate)
  if ('why' in onset) throw new Error(onset.why)
  return onset
}

describe('the sound of impact', () => {
  it('is heard within a millisecond, at any rate of sampling', () => {
    const random = seededRandom(5)
    let zz = 0
    for (let i = 0; i < 40; i++) {
      const rate = i % 2 ? 48_000 : 44_100
      const t = 0.6 + random.uniform()
      const onset = onsetOf(hear({ rate, seconds: 2.2, blows: [[t, 0.5]], noise: 0.003 }, random), rate)
      expect(Math.abs(onset.t - t)).toBeLessThan(1e-3)
      expect(onset.riseDb).toBeGreaterThan(14)
      zz += ((onset.t - t) / onset.sigma) ** 2 / 40
    }
    expect(Math.sqrt(zz)).toBeLessThan(1.3)
  })

  it('is told from a fainter click, and not from one as sharp', () => {
    const random = seededRandom(6)
    expect(Math.abs(onsetOf(hear({ rate: 48_000, seconds: 2, blows: [[0.4, 0.08], [1.1, 0.6]], noise: 0.002 }, random), 48_000).t - 1.1)).toBeLessThan(2e-3)
    expect(sharpestOnset(hear({ rate: 48_000, seconds: 2, blows: [[0.5, 0.5], [1.3, 0.5]], noise: 0.002 }, random), 48_000)).toMatchObject({ why: expect.stringMatching(/two sounds begin alike, at 0\.50 and 1\.30 s/) })
  })

  it('is refused in silence, in wind and in too short a clip', () => {
    const random = seededRandom(7)
    expect(sharpestOnset(new Float32Array(48_000), 48_000)).toMatchObject({ why: expect.stringMatching(/no sound begins sharply/) })
    expect(sharpestOnset(hear({ rate: 48_000, seconds: 2, blows: [], noise: 0.02 }, random), 48_000)).toMatchObject({ why: expect.stringMatching(/no sound begins sharply/) })
    expect(sharpestOnset(new Float32Array(300), 48_000)).toMatchObject({ why: expect.stringMatching(/too short/) })
  })

  it('lies as far apart in two sounds as correlation says', () => {
    const random = seededRandom(8)
    for (let i = 0; i < 10; i++) {
      const [a, b] = [0.5 + random.uniform(), 0.5 + random.uniform()]
      const one = hear({ rate: 48_000, seconds: 2, blows: [[a, 0.5]], noise: 0.002 }, random)
      const two = hear({ rate: 44_100, seconds: 2, blows: [[b, 0.2]], noise: 0.004, echo: 0.013 }, random)
      const lag = lagOfOnsets(one, 48_000, onsetOf(one, 48_000), two, 44_100, onsetOf(two, 44_100))!
      expect(Math.abs(lag.lag - (b - a))).toBeLessThan(Math.max(1e-3, 2.6 * lag.sigma))
      expect(lag.sigma).toBeLessThan(2e-3)
    }
  })

  it('ties two clips, the sound\'s way to either phone taken off and its error kept', () => {
    const random = seededRandom(9)
    let held = 0
    for (let i = 0; i < 60; i++) {
      const [near, far] = [2.5 + 1.6 * random.uniform(), 3.2 + 2 * random.uniform()]
      const [a, b] = [0.7, 0.9]
      const listening = (t: number, metres: number, rate: number) => ({
        samples: hear({ rate, seconds: 1.6, blows: [[t + metres / soundSpeed, 0.4]], noise: 0.002 }, random), rate, distanceM: metres + 0.4 * random.normal(), distanceSigmaM: 0.4,
      })
      const tie = tieBySound(listening(a, near, 48_000), listening(b, far, 48_000), ['face-on', 'down-the-line'])
      if ('why' in tie) throw new Error(tie.why)
      const off = tie.second.t - tie.first.t - (b - a)
      if (Math.abs(off) < tie.sigma) held++
      expect(tie.words).toMatch(/3 ms a metre/)
    }
    expect(held / 60).toBeGreaterThan(0.53)
    expect(held / 60).toBeLessThan(0.86)
  })

  it('names the clip in which it cannot be heard', () => {
    const quiet = { samples: new Float32Array(48_000), rate: 48_000, distanceM: 4, distanceSigmaM: 1 }
    const loud = { ...quiet, samples: hear({ rate: 48_000, seconds: 1, blows: [[0.5, 0.5]], noise: 0.002 }, seededRandom(1)) }
    expect(tieBySound(loud, quiet, ['face-on', 'down-the-line'])).toEqual({ why: 'Impact cannot be heard in the down-the-line clip: no sound begins sharply enough to be the club meeting the ball.' })
  })
})
