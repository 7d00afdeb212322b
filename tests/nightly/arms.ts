import { forward } from '../../shared/arms/forward.ts'
import { createArms } from '../../shared/arms/model.ts'
import { isArmsRefusal } from '../../shared/arms/types.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { randomTop } from '../fixtures/armsBodies.ts'
import { monotony, pastRanges, type Monotony } from '../fixtures/armsMonotony.ts'

/**
 * Common practice, no source: the farther the trail elbow is turned out behind, the farther across the shaft goes. How often the model says
 * so over random bodies at the top, through the drawn pose and with generic easy middles. A drawn pose may be one that no joint allows; the
 * counts stand apart. By hand: node tests/nightly/arms.ts [COUNT]
 */
const count = Number(process.argv[2] ?? 3000)
const groups = [['within 10 degrees of every published range', 0, 10], ['10 to 20 past one', 10, 20], ['more than 20 past one', 20, Infinity]] as const

for (const kind of ['through the drawn pose', 'generic easy middles'] as const) {
  const random = seededRandom(11)
  const found: { past: number; of: Monotony }[] = []
  let refused = 0
  let bodies = 0
  let largestGap = 0
  while (bodies < count) {
    const input = randomTop(random)
    if (!input) continue
    bodies++
    const model = createArms(kind === 'generic easy middles' ? { ...input, anchor: null } : input)
    const drawn = createArms(input)
    const pose = isArmsRefusal(drawn) ? drawn : forward(drawn, drawn.swivelDeg)
    if (isArmsRefusal(model) || isArmsRefusal(pose)) {
      refused++
      continue
    }
    const of = monotony(model, (swivel) => {
      const there = forward(model, swivel)
      if (isArmsRefusal(there)) return null
      largestGap = Math.max(largestGap, there.gapM)
      return there.reachable ? there.readings.azimuthDeg : null
    })
    found.push({ past: pastRanges(pose), of })
  }
  console.log(`${kind}: ${bodies} bodies, ${refused} refused, largest gap ${(largestGap * 1e3).toExponential(1)} mm`)
  for (const [name, low, high] of [['all', -1, Infinity] as const, ...groups]) {
    const some = found.filter(({ past }) => past > low && past <= high).concat(low === 0 ? found.filter(({ past }) => past === 0) : [])
    const share = (f: (m: Monotony) => number): string => ((100 * some.reduce((sum, one) => sum + f(one.of), 0)) / some.length).toFixed(1)
    console.log(`  ${name} (${some.length}): sign at the elbow's own place right in ${share((m) => Number(m.sign))} %, rising over the whole usable range in ${share((m) => Number(m.rising === 1))} %, over ${share((m) => m.rising)} % of all steps`)
  }
}
