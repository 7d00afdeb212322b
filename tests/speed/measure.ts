import { seededRandom } from '../../shared/signal/random.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { digitise, parametricSwing, randomCamera } from '../fixtures/swingSim.ts'
import { trueTimes } from '../fixtures/swingTruth.ts'

/**
 * All measures of a swing of some 400 frames in two views, positions found, against copying the same file once as JSON
 * (the plain baseline). Wanted: under 50 ms.
 */
const random = seededRandom(6)
const motion = parametricSwing(random)
const file = digitise(motion, [randomCamera('face-on', random), randomCamera('down-the-line', random)], random, { sigmaPx: 1.5, fps: 400 / motion.duration, syncSigma: 0.002, matrices: true, positionSigma: null }, trueTimes(motion))

const timed = (run: () => unknown): number => {
  const start = performance.now()
  run()
  return performance.now() - start
}
const middle = (values: number[]): number => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)]!
const first = timed(() => measureSwing(file))
const measure = middle(Array.from({ length: 15 }, () => timed(() => measureSwing(file))))
const copy = middle(Array.from({ length: 15 }, () => timed(() => JSON.parse(JSON.stringify(file)))))
console.log(
  `measure: ${file.views[0]!.frames.length} frames, two views: ${measure.toFixed(1)} ms (first ${first.toFixed(0)} ms), ${(measure / copy).toFixed(1)} times copying the file (${copy.toFixed(1)} ms); wanted under 50 ms`,
)
