import type { PointName } from '../../contract/pointsFile.ts'
import { meetSightlines } from '../triangulation.ts'
import type { Camera } from '../projection.ts'
import { fitBlocks } from './blockFit.ts'
import type { Seen, SolveInput, SolveView } from './input.ts'
import { phone, phoneNumbers, phoneSize, squareAzimuth } from './phone.ts'
import { phonePrior, usualPlace, usualStature } from './priors.ts'
import { buildProblem, type SolveProblem } from './problem.ts'

/** Where a first guess starts: the camera that sees ankles and head where they are, square to the player, level. */
export function roughPhone(v: SolveView, view: number, address: SolveInput['address'], statureM: number): Float64Array {
  if (v.known) return Float64Array.from(phoneNumbers(v.view, v.known))
  const g = Float64Array.from(phonePrior(v).mean)
  const focal = Math.exp(g[phone.lnFocal]!)
  const seen = (name: PointName): Seen | null => address.get(name)?.[view] ?? null
  const ankles = [seen('leadAnkle'), seen('trailAnkle')].filter((s) => s !== null)
  const own = ankles.length === 2 ? null : (['leadAnkle', 'trailAnkle', 'ball', 'clubhead', 'shaftEnd'] as const).find((name) => seen(name))
  const feet = ankles.length === 2 ? ankles : own ? [seen(own)!] : []
  // Where in the world that is, about.
  const [standX, standZ] = !own || own.endsWith('Ankle') ? [own === 'leadAnkle' ? 0.23 : own ? -0.23 : 0, 0] : [0.06, 0.95]
  const top = seen('crown') ?? seen('head')
  if (v.plumb) {
    const [low, high] = v.plumb[0][1] >= v.plumb[1][1] ? v.plumb : [v.plumb[1], v.plumb[0]]
    g[phone.roll] = Math.atan2(high[0] - low[0], low[1] - high[1])
  }
  const foot = feet.length ? { x: feet.reduce((s, p) => s + p.x, 0) / feet.length, y: feet.reduce((s, p) => s + p.y, 0) / feet.length } : null
  let distance = 4.2
  if (foot && top) distance = Math.min(12, Math.max(1.5, (focal * (0.82 * statureM)) / Math.max(20, Math.hypot(foot.x - top.x, foot.y - top.y))))
  if (v.view === 'face-on') g[phone.z] = distance
  else g[phone.x] = -distance
  if (!foot) return g
  // Turned back by the roll, the feet's place in the picture tells where the axis points.
  const c = Math.cos(g[phone.roll]!)
  const s = Math.sin(g[phone.roll]!)
  const dx = foot.x - v.width / 2
  const dy = foot.y - v.height / 2
  const right = c * dx + s * dy
  const down = -s * dx + c * dy
  const place = [g[phone.x]!, g[phone.y]!, g[phone.z]!]
  const azimuth = Math.atan2(standZ - place[2]!, standX - place[0]!) - squareAzimuth(v.view)
  g[phone.yaw] = azimuth - 2 * Math.PI * Math.round(azimuth / (2 * Math.PI)) - Math.atan(right / focal)
  g[phone.pitch] = Math.atan(down / focal) - Math.atan2(place[1]! - 0.08, Math.hypot(standX - place[0]!, standZ - place[2]!))
  return g
}

/** Points to start from: where the first cameras' sightlines meet, else where they are usually. */
export function startPoints(problem: SolveProblem, cameras: readonly Camera[]): Float64Array {
  const out = new Float64Array(3 * problem.points.length)
  problem.points.forEach(({ name, seen }, i) => {
    const [a, b] = seen
    const [one, two] = cameras
    const meeting = a && b && one && two ? meetSightlines(one, [a.x, a.y], two, [b.x, b.y]) : null
    out.set(meeting ? meeting.point : usualPlace(name).at, 3 * i)
  })
  return out
}

/** A view's nine numbers from its own address alone. */
export function lookAlone(input: SolveInput, view: number): Float64Array {
  const v = input.views[view]!
  const rough = roughPhone(v, view, input.address, input.statureM ?? usualStature.m)
  if (v.known) return rough
  const own: SolveInput = {
    ...input, views: [v], instants: [], address: new Map([...input.address].map(([name, seen]) => [name, [seen[view] ?? null]])),
  }
  const problem = buildProblem(own)
  const start = Float64Array.from(problem.sharedStart)
  start.set(rough)
  const fit = fitBlocks(asBlocks(problem), start, startPoints(problem, []), { maxIterations: 25, tolerance: 1e-4 })
  return Number.isFinite(fit.cost) ? fit.shared.slice(0, phoneSize) : rough
}

export const asBlocks = (p: SolveProblem) => ({ terms: p.terms, sharedCount: p.sharedCount, pointCount: p.points.length, prepare: p.prepare })

