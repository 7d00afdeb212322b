import { demoShots } from '../../electron/desk/demo/plan.ts'
import { clipTruth, pointsFile } from '../../electron/desk/demo/truth.ts'
import { fitArms } from '../../shared/arms/fit.ts'
import { forward } from '../../shared/arms/forward.ts'
import { inverse } from '../../shared/arms/inverse.ts'
import { createArms } from '../../shared/arms/model.ts'
import { spreadOf } from '../../shared/arms/spread.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import { sweep } from '../../shared/arms/sweep.ts'
import { isArmsRefusal, type ArmsInput } from '../../shared/arms/types.ts'
import { parsePointsFile } from '../../shared/contract/pointsFile.ts'
import { prepareSwing } from '../../shared/swing/measureSwing.ts'

/**
 * The arm-and-club model against copying its input once as JSON (the plain baseline): forward on a new model each time and on
 * one while dragging, inverse, fit from two views, sweep, spread. Wanted: forward under 2 ms, inverse under 20, fit under 200.
 */
const shots = demoShots().filter((shot) => shot.student === 'rowan')
const parsed = parsePointsFile(JSON.parse(JSON.stringify(pointsFile(shots.map((shot) => clipTruth(shot, 1)), true))))
if (!parsed.ok) throw new Error(parsed.error)
const swing = prepareSwing(parsed.file)
const fit = fitArms(swing, 'top')
if (isArmsRefusal(fit)) throw new Error(fit.why)

const modelOf = (input: ArmsInput) => {
  const model = createArms(input)
  if (isArmsRefusal(model)) throw new Error(model.why)
  return model
}
const timed = (run: () => unknown): number => {
  const start = performance.now()
  run()
  return performance.now() - start
}
const middle = (count: number, run: (i: number) => unknown): number => {
  for (let i = 0; i < Math.min(10, count); i++) run(i)
  return Array.from({ length: count }, (_, i) => timed(() => run(i))).toSorted((a, b) => a - b)[Math.floor(count / 2)]!
}
const copy = middle(400, () => JSON.parse(JSON.stringify(fit.input)))
const say = (what: string, ms: number, wanted: string): void => console.log(`arms: ${what} ${ms.toFixed(2)} ms, ${(ms / copy).toFixed(0)} times copying the input (${copy.toFixed(3)} ms)${wanted}`)
for (const [who, input] of [['fitted', fit.input], ['standard', standardArms()]] as const) {
  say(`${who}: forward 12 degrees away, a new model each time`, middle(60, () => forward(modelOf(input), modelOf(input).swivelDeg + 12)), '; wanted under 2 ms')
  const model = modelOf(input)
  say(`${who}: forward while dragging`, middle(400, (i) => forward(model, model.swivelDeg + 20 * Math.sin(i / 7))), '; wanted under 2 ms')
  say(`${who}: inverse`, middle(40, (i) => inverse(model, { azimuthDeg: (i % 20) - 10 })), '; wanted under 20 ms')
  say(`${who}: sweep`, middle(10, () => sweep(model)), '')
  say(`${who}: spread of 40 draws`, middle(5, () => spreadOf(model, who === 'fitted' ? { draw: fit.draw } : {})), '')
}
say('fit from two views', middle(20, () => fitArms(swing, 'top')), '; wanted under 200 ms')
