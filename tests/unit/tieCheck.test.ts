import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { PointsFile, PositionName } from '../../shared/contract/pointsFile.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { offerWords, rateOffers } from '../../shared/swing/clockRate.ts'
import { checkTie, rateWords } from '../../shared/swing/tieCheck.ts'
import { randomRig } from '../fixtures/rigs.ts'

const at: Partial<Record<PositionName, number>> = { takeaway: -1.15, top: -0.28, 'shaft-level-down': -0.06, impact: 0 }

/** Positions of one swing on two clocks, each off by its error. */
function pair(seed: number, { offset = 0, rate = 1, sigma = 0.004, names = Object.keys(at) as PositionName[] } = {}) {
  const random = seededRandom(seed)
  const first = Object.fromEntries(names.map((name) => [name, { t: at[name]! + sigma * random.normal(), sigma }]))
  const second = Object.fromEntries(names.map((name) => [name, { t: offset + rate * at[name]! + sigma * random.normal(), sigma }]))
  return [first, second] as const
}

describe('a tie held against the positions of both clips', () => {
  it('says nothing of clips that are tied right, and knows their rate with its error', () => {
    let [warned, zz, n] = [0, 0, 0]
    for (let seed = 0; seed < 400; seed++) {
      const check = checkTie(...pair(seed), 0.005)!
      if (check.warning) warned++
      expect(check.rate!.sigma).toBeLessThan(0.02)
      zz += ((check.rate!.value - 1) / check.rate!.sigma) ** 2
      n++
      if (!check.warning) expect(check.syncSigmaS).toBe(0.005)
    }
    // Three standard deviations of either: rarely by chance.
    expect(warned / n).toBeLessThan(0.03)
    expect(Math.sqrt(zz / n)).toBeGreaterThan(0.7)
    expect(Math.sqrt(zz / n)).toBeLessThan(1.15)
  })

  it('names how far apart they are tied, and lets the clocks be as far apart', () => {
    fc.assert(fc.property(fc.integer({ min: 0, max: 1e6 }), fc.double({ min: 0.05, max: 0.2, noNaN: true }), fc.boolean(), (seed, far, isLate) => {
      const offset = isLate ? far : -far
      const check = checkTie(...pair(seed, { offset }), 0.005)!
      expect(check.warning).toMatch(/^By takeaway, top, shaft level down and impact the two clips are tied \d+ \+- \d+ ms apart, and 5 ms were taken for granted/)
      expect(Math.abs(check.offset - offset)).toBeLessThan(0.02)
      expect(check.syncSigmaS).toBeGreaterThan(0.02)
    }))
  })

  it('names a frame rate that is not what it is said to be', () => {
    for (const rate of [0.5, 0.8, 2]) {
      const check = checkTie(...pair(3, { rate }), 0.005)!
      expect(Math.abs(check.rate!.value - rate)).toBeLessThan(4 * check.rate!.sigma)
      expect(check.warning).toMatch(/runs \d\.\d{3} \+- 0\.\d{3} times as fast as the first/)
    }
  })

  it('says which clip\'s frame rate would put it right, with what the positions make it, and nothing of clips that run alike', () => {
    const clip = (captureRate: number, captureRateBasis: 'file' | 'tag' | 'coach' = 'file') => ({ captureRate, captureRateBasis })
    let [right, close, offered] = [0, 0, 0]
    for (let seed = 0; seed < 200; seed++) {
      // Filmed at 120, said to be 240: its seconds are half as many.
      const offers = rateOffers(checkTie(...pair(seed, { rate: 0.5 }), 0.005)!, [clip(120, 'coach'), clip(240)])
      const first = offers[0]
      if (first?.clip === 1 && first.captureRate === 120) right++
      if (first && Math.abs(first.measured - 120) < first.sigma) close++
      if (rateOffers(checkTie(...pair(seed), 0.005)!, [clip(120), clip(240)]).length > 0) offered++
    }
    expect(right).toBe(200)
    expect(close / 200).toBeGreaterThan(0.6)
    expect(offered).toBe(0)
    // Either may be wrong: the one that rests on less comes first.
    const both = rateOffers(checkTie(...pair(5, { rate: 2 }), 0.005)!, [clip(240, 'tag'), clip(60, 'file')])
    expect(both.map(({ clip: which, captureRate }) => [which, captureRate])).toEqual([[1, 120], [0, 120]])
    expect(offerWords(both[0]!, 60)).toMatch(/^1[12]\d\.\d \+- \d\.\d a second by the positions, not 60$/)
  })

  it('offers no rate where one position alone is set wrong', () => {
    let offered = 0
    for (let seed = 0; seed < 200; seed++) {
      const [first, second] = pair(seed)
      const wrong = { ...second, takeaway: { ...second.takeaway!, t: second.takeaway!.t - 0.12 } }
      if (rateOffers(checkTie(first, wrong, 0.005)!, [{ captureRate: 120, captureRateBasis: 'file' }, { captureRate: 240, captureRateBasis: 'file' }]).length > 0) offered++
    }
    expect(offered).toBeLessThan(20)
  })

  it('says where the rate is not determined: one position, or two that are near each other', () => {
    const one = checkTie(...pair(4, { names: ['impact'] }), 0.005)!
    expect(one.rate).toBeNull()
    expect(rateWords(one)).toBe('that the clocks run alike is taken for granted: impact alone does not tell')
    const near = checkTie(...pair(4, { names: ['shaft-level-down', 'impact'] }), 0.005)!
    expect(near.rate).toBeNull()
    expect(rateWords(near)).toContain('are not known well enough to tell')
    expect(checkTie({ top: { t: 0, sigma: 0.01 } }, { impact: { t: 0.3, sigma: 0.01 } }, 0.005)).toBeNull()
  })
})

it('a points file whose views give positions 20 ms apart is measured with clocks as far apart, and warned of', () => {
  const rig = randomRig(seededRandom(7))
  const { positions: _common, ...rest } = rig.file
  const late = 0.02
  const file: PointsFile = {
    ...rest, views: rest.views.map((v, i) => ({
      ...v, frames: v.frames.map((f) => ({ ...f, t: f.t + i * late })),
      positions: Object.fromEntries(Object.entries(rig.times).map(([name, t]) => [name, { t: t + i * late, sigma: 0.003 }])),
    })),
  }
  const result = measureSwing(file)
  expect(result.warnings?.join(' ')).toMatch(/tied 20 \+- \d+ ms apart|tied (?:1[89]|2[01]) \+- \d+ ms apart/)
  const top = result.measures.find(({ id, at: where }) => id === 'shaft-azimuth' && where === 'top')!
  expect(top.sigma).toBeLessThan(3)
  const [front, { positions: told, ...line }] = file.views as [PointsFile['views'][number], PointsFile['views'][number]]
  expect(told).toBeDefined()
  const untold = measureSwing({ ...file, views: [front, line] })
  expect(untold.missing.find(({ id, at: where }) => id === 'shaft-azimuth' && where === 'top')?.why).toMatch(/clocks \d+ ms apart/)
})
