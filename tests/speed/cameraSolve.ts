import { isRefusal, solveCameras } from '../../shared/camera/solve/solveCameras.ts'
import type { PointName } from '../../shared/contract/pointsFile.ts'
import { project } from '../../shared/camera/projection.ts'
import type { Seen, SolveInput, SolveInstant } from '../../shared/camera/solve/input.ts'
import { triangulateLinear } from '../../shared/camera/triangulation.ts'
import { phoneCamera, phoneSize } from '../../shared/camera/solve/phone.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { prepareSwing } from '../../shared/swing/measureSwing.ts'
import { solveInput } from '../../shared/swing/solveInput.ts'
import { isMissing } from '../../shared/swing/reading.ts'
import { randomRig } from '../fixtures/rigs.ts'

/**
 * Two unknown cameras from 40 frames of 21 points, from nothing and from an earlier solve after one point was dragged,
 * against triangulating the same points once with the cameras known (the plain baseline). Wanted: under 300 and 16 ms.
 */
const random = seededRandom(6)
const rig = randomRig(random)
const swing = prepareSwing(rig.file)
const marked = solveInput({ ...swing, views: swing.views.map((v) => ({ ...v, camera: null })) })
if (isMissing(marked)) throw new Error(marked.why)
const { address, impact } = rig.times
const instants = Array.from({ length: 39 }, (_, k): SolveInstant => {
  const t = address! + 0.05 + ((impact! + 0.15 - address!) * k) / 38
  const seen = new Map<PointName, (Seen | null)[]>()
  for (const [name, p] of Object.entries(rig.motion.at(t))) {
    const ends = rig.cameras.map(({ camera }) => project(camera, p))
    if (ends.every((e) => e)) seen.set(name as PointName, ends.map((e): Seen => ({ x: e![0] + 1.5 * random.normal(), y: e![1] + 1.5 * random.normal(), sigma: 1.5, rate: [0, 0] })))
  }
  return seen
})
const input: SolveInput = { ...marked, instants }
/** Wall clock and the processor's own time, milliseconds: the second does not count what else the machine does. */
const timed = (run: () => unknown): { wall: number; cpu: number } => {
  const start = performance.now()
  const before = process.cpuUsage()
  run()
  const { user, system } = process.cpuUsage(before)
  return { wall: performance.now() - start, cpu: (user + system) / 1000 }
}
const middle = (runs: { wall: number; cpu: number }[]): { wall: number; cpu: number } => {
  const half = (values: number[]): number => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)]!
  return { wall: half(runs.map(({ wall }) => wall)), cpu: half(runs.map(({ cpu }) => cpu)) }
}
const words = ({ wall, cpu }: { wall: number; cpu: number }): string => `${wall.toFixed(1)} ms (${cpu.toFixed(1)} of the processor's)`
const first = timed(() => solveCameras(input))
const cold = middle(Array.from({ length: 15 }, () => timed(() => solveCameras(input))))
const solve = solveCameras(input)
if (isRefusal(solve)) throw new Error(solve.why)
const [name, seen] = [...input.instants[3]!][0]!
const dragged = { ...input, instants: input.instants.map((instant, i) => (i === 3 ? new Map([...instant, [name, seen.map((s) => s && { ...s, x: s.x + 4 })]]) : instant)) }
const warm = middle(Array.from({ length: 15 }, () => timed(() => solveCameras(dragged, solve))))
const cameras = input.views.map((v, i) => phoneCamera(v.view, solve.numbers, i * phoneSize))
const plain = middle(Array.from({ length: 15 }, () => timed(() => {
  for (const instant of input.instants) for (const [a, b] of instant.values()) if (a && b) triangulateLinear(cameras, [[a.x, a.y], [b.x, b.y]])
})))
const points = input.instants.reduce((sum, i) => sum + i.size, 0)
console.log(
  `camera solve: ${input.instants.length + 1} instants, ${points} points of both views: ${words(cold)}, the first ${first.wall.toFixed(0)} ms, ${(cold.cpu / plain.cpu).toFixed(0)} times triangulating them once (${words(plain)}); after a dragged point ${words(warm)}, ${(warm.cpu / cold.cpu).toFixed(2)} of a whole solve; wanted under 300 and 16 ms`,
)
