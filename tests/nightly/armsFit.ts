import { oneViewReadings } from '../../shared/arms/fitOneView.ts'
import { countFits, heldOf, quantile, shareOf } from '../fixtures/armsFits.ts'
import type { Filming } from '../fixtures/armsRig.ts'

/**
 * How far the fit of arms and club is off over random bodies before random cameras, and how often what it states holds the truth. By hand:
 *   node tests/nightly/armsFit.ts [PLAYERS] [SEED]          what is stated; fails where a row of 200 or more is outside 60 to 76 %
 *   node tests/nightly/armsFit.ts PLAYERS SEED shares       by how much the fit's own errors have to be taken larger (fitOneView.ts)
 */
const players = Number(process.argv[2] ?? 200)
const seed = Number(process.argv[3] ?? 202)
const asks = process.argv[4] === 'shares'
const cases: [string, Filming][] = asks ? [] : [
  ['both views, cameras given', { views: ['face-on', 'down-the-line'], cameras: 'given', sigmaPx: 1.5, statureKnown: true }],
  ['both views, cameras solved', { views: ['face-on', 'down-the-line'], cameras: 'solved', sigmaPx: 1.5, statureKnown: true }],
]
for (const view of ['down-the-line', 'face-on'] as const)
  for (const cameras of ['given', 'solved'] as const)
    for (const topOnly of view === 'down-the-line' ? [false, true] : [true])
      for (const statureKnown of [true, false])
        cases.push([`${view} ${cameras} ${topOnly ? 'still' : 'motion'}, stature ${statureKnown ? 'known' : 'not known'}`, { views: [view], cameras, sigmaPx: 1.5, statureKnown, topOnly: view === 'down-the-line' && topOnly }])

let outside = 0
for (const [name, how] of cases) {
  const { rows, refused } = countFits(how, players, seed, !asks)
  const cells = oneViewReadings.map((reading) => {
    const offs = rows.get(reading)!
    if (asks) return `${reading} ${shareOf(offs).toFixed(2)}`
    const held = heldOf(offs)
    if (offs.length >= 150 && (held < 0.6 || held > 0.76)) outside++
    return `${reading} ${quantile(offs.map(({ error }) => Math.abs(error)), 0.68).toFixed(1)} (stated ${quantile(offs.map(({ sigma }) => sigma), 0.5).toFixed(1)}, held ${(100 * held).toFixed(0)} %)`
  })
  console.log(`${name}: ${players - refused} of ${players} fitted; ${cells.join(', ')}`)
}
if (outside) process.exitCode = 1
