import { forward } from '../../shared/arms/forward.ts'
import { createArms } from '../../shared/arms/model.ts'
import { isArmsRefusal } from '../../shared/arms/types.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { randomTop } from '../fixtures/armsBodies.ts'
import { monotony } from '../fixtures/armsMonotony.ts'

/**
 * Common practice, no source: the farther the trail elbow is turned out behind, the farther across the shaft goes. How often the model says
 * so over random bodies at the top, through the drawn pose and with generic easy middles. By hand: node tests/nightly/arms.ts [COUNT]
 */
const count = Number(process.argv[2] ?? 3000)
for (const kind of ['through the drawn pose', 'generic easy middles'] as const) {
  const random = seededRandom(11)
  let bodies = 0
  let sign = 0
  let whole = 0
  let share = 0
  let refused = 0
  let largestGap = 0
  const spans: number[] = []
  for (let drawn = 0; bodies < count && drawn < 4 * count; drawn++) {
    const input = randomTop(random)
    if (!input) continue
    bodies++
    const model = createArms(kind === 'generic easy middles' ? { ...input, anchor: null } : input)
    if (isArmsRefusal(model)) {
      refused++
      continue
    }
    const m = monotony(model, (swivel) => {
      const pose = forward(model, swivel)
      if (isArmsRefusal(pose)) return null
      largestGap = Math.max(largestGap, pose.gapM)
      return pose.reachable ? pose.readings.azimuthDeg : null
    })
    if (m.sign) sign++
    if (m.rising === 1) whole++
    share += m.rising
    spans.push(m.spanDeg)
  }
  const asked = bodies - refused
  const percent = (n: number): string => ((100 * n) / asked).toFixed(1)
  spans.sort((a, b) => a - b)
  console.log(
    `${kind}: ${bodies} bodies, ${refused} refused; sign at the elbow's own place right in ${percent(sign)} %, rising over the whole usable range in ${percent(whole)} %, over ${percent(share)} % of all of it; usable range ${spans[Math.floor(spans.length / 2)]!.toFixed(0)} degrees in the middle; largest gap ${(largestGap * 1e3).toExponential(1)} mm`,
  )
}
