import { positionNames, type PointName } from '../contract/pointsFile.ts'
import type { RepeatedPoint, RepeatedSwing } from '../progress/repeatability.ts'
import { linear, scaled, sigmaOf, add, subtract, type Uncertain } from '../signal/uncertain.ts'
import { isMissing, missing, pictureAt, type Missing, type Swing } from './reading.ts'

/** What stands on the ground does not come back, it stays. */
const standing: readonly PointName[] = ['leadAnkle', 'trailAnkle', 'ball']

/**
 * A swing seen from one side as its points at its positions, in metres from midway between the ankles at address, to be set
 * beside others of the same student. The error is that of placing and timing: scale and lean are the picture's.
 * @param swing of one view, without a camera
 */
export function repeatedSwing(swing: Swing): RepeatedSwing | Missing {
  const view = swing.views[0]!
  const positions = swing.positions.get(view.name) ?? {}
  const scale = swing.scales.get(view.name)
  if (!positions.address) return missing('its address is not known')
  if (!scale) return missing('it has no scale')
  const ankles = (['leadAnkle', 'trailAnkle'] as const).map((name) => pictureAt(swing, view, name, positions.address!.t))
  const [lead, trail] = ankles
  if (!lead || !trail || isMissing(lead) || isMissing(trail)) return missing('an ankle is not placed at address')
  const middle = { x: scaled(add(lead.x, trail.x), 0.5), y: scaled(add(lead.y, trail.y), 0.5) }
  const c = Math.cos(view.level.value)
  const s = Math.sin(view.level.value)
  const points = new Map<string, RepeatedPoint>()
  for (const at of positionNames) {
    const position = positions[at]
    if (!position) continue
    for (const name of view.tracks.keys()) {
      if (standing.includes(name)) continue
      const seen = pictureAt(swing, view, name, position.t)
      if (isMissing(seen)) continue
      const [x, y] = [subtract(seen.x, middle.x), subtract(seen.y, middle.y)]
      const turned = (a: number, b: number): Uncertain => linear(a * x.value + b * y.value, [x, y], [a, b])
      const [u, v] = [turned(c, s), turned(s, -c)]
      const k = scale.metresPerPx
      points.set(`${name} ${at}`, { of: name, u: k * u.value, v: k * v.value, sigma: k * Math.sqrt((sigmaOf(u) ** 2 + sigmaOf(v) ** 2) / 2) })
    }
  }
  if (points.size === 0) return missing('none of its points is placed at a position')
  const { plumb, horizon } = view.file.guides ?? {}
  return { points, isLevel: plumb !== undefined || horizon !== undefined }
}
