import { parseArgs } from 'node:util'
import type { ViewName } from '../../shared/contract/pointsFile.ts'
import { coverage, type Run, type Tally } from '../fixtures/coverage.ts'

const rates = [30, 60, 120, 240]
const noises = [1, 1.5, 3]
const sources: readonly Run['source'][] = ['parametric', 'other', 'recorded']
/** Two known cameras, or one alone that is not known. */
const sights: readonly (readonly [string, readonly ViewName[]])[] = [
  ['both', ['face-on', 'down-the-line']],
  ['face-on', ['face-on']],
  ['down-the-line', ['down-the-line']],
]

/** Fewer readings than that say nothing of how often an interval holds. */
const few = 60
const percent = (part: number, whole: number): string => ((100 * part) / whole).toFixed(0)

/** Depths drawn point by point leave no rigid club: what solves a camera from it is counted in cameraSolve.ts. */
const elsewhere = /^camera-|^shaft-(?:azimuth|elevation|short|plane)/

interface Cell {
  readonly title: readonly string[]
  readonly tallies: ReadonlyMap<string, Tally>
  readonly swings: number
}

function line({ title, tallies, swings }: Cell, apart: boolean): string {
  const counted = [...tallies].filter(([key]) => !key.startsWith('position '))
  const [held, all] = counted.reduce(([h, n], [, t]) => [h + t.held, n + t.all], [0, 0])
  // Readings of one swing share its errors: with n swings a share is known to no more than that; 2.6 deviations are 99 %.
  const slack = (n: number): number => 260 * Math.sqrt((0.683 * 0.317) / Math.min(n, swings))
  const off = counted.filter(([, t]) => t.all >= few).map(([key, t]) => ({ key, t, share: (100 * t.held) / t.all }))
  const out = off.filter(({ t, share }) => (apart ? share < 63 - slack(t.all) || share > 73 + slack(t.all) : share < 63 || share > 73)).toSorted((a, b) => a.share - b.share)
  const found = Math.max(0, ...[...tallies].filter(([key]) => key.startsWith('position ')).map(([, t]) => t.all))
  const say = ({ key, t, share }: (typeof off)[number]) => `${key} ${share.toFixed(0)} (${percent(t.within2, t.all)} in two, ${(t.z / t.all).toFixed(2)} +- ${Math.sqrt(t.zz / t.all - (t.z / t.all) ** 2).toFixed(2)})`
  const positions = [...tallies].filter(([key, t]) => key.startsWith('position ') && t.all >= few).map(([key, t]) => `${key.slice(9)} ${percent(t.held, t.all)}/${percent(t.within2, t.all)}`)
  return [
    `${title.join(', ')}: ${percent(held, all)} over all; ${off.length - out.length} of ${off.length} within 63 to 73${found ? `; ${percent(found, swings)} of 100 swings found` : ''}`,
    ...(positions.length ? [`  positions, held / within two: ${positions.join(', ')}`] : []),
    ...out.map((each) => `  ${say(each)}`),
  ].join('\n')
}

/**
 * Coverage by cell: rate, noise, view, source, and whether positions are found or placed.
 * `node tests/nightly/coverage.ts cells [--swings 200] [--fps 30,60] [--noise 1.5] [--views both,face-on] [--source other] [--positions found] [--apart]`:
 * with `apart` each position for itself, and only what chance does not explain is named.
 */
export function coverageCells(args: readonly string[]): void {
  const { values } = parseArgs({
    args: [...args],
    options: {
      swings: { type: 'string', default: '200' }, seed: { type: 'string', default: '31' }, fps: { type: 'string' }, noise: { type: 'string' }, views: { type: 'string' },
      source: { type: 'string' }, positions: { type: 'string' }, apart: { type: 'boolean', default: false },
    },
  })
  const chosen = <T>(given: string | undefined, all: readonly T[]): T[] => all.filter((one) => given === undefined || given.split(',').includes(String(one)))
  const swings = Number(values.swings)
  for (const source of chosen(values.source, sources))
    for (const [sight, views] of sights.filter(([name]) => chosen(values.views, sights.map(([each]) => each)).includes(name)))
      for (const fps of chosen(values.fps, rates))
        for (const sigmaPx of chosen(values.noise, noises))
          for (const positions of chosen(values.positions, ['found', 'placed'])) {
            const alone = views.length === 1
            const tallies = coverage({
              swings, seed: Number(values.seed), source, views, apart: values.apart, varied: alone && source !== 'recorded',
              how: { sigmaPx, fps, syncSigma: 0.002, matrices: !alone, positionSigma: positions === 'found' ? null : 0.003 },
            })
            const counted = new Map([...tallies].filter(([key]) => !alone || !elsewhere.test(key)))
            console.log(line({ title: [source, sight, `${fps} a second`, `${sigmaPx} px`, positions], tallies: counted, swings }, values.apart))
          }
}
