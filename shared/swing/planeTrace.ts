import { project } from '../camera/projection.ts'
import type { Handedness } from '../contract/clip.ts'
import type { PositionName } from '../contract/pointsFile.ts'
import { add3, cross3, scale3, sub3, unit3, type ImagePoint, type Vec3 } from '../geometry/vec.ts'
import { positionAt } from './definition.ts'
import { directionsOf, motionAbout, shaftOf } from './measures/space.ts'
import { middleOf } from './measures/planeOnBody.ts'
import type { MeasureResult } from './measureSwing.ts'
import { isMissing, missing, spaceAt, type Missing, type Swing } from './reading.ts'
import { turnAxis } from './shaftAtLevel.ts'
import { asFilmed } from './twoBearings.ts'
import type { SwingView } from './viewOf.ts'

/** The positions at which the plane of the shaft is shown on the body. */
export const traced = ['lead-arm-level-down', 'shaft-level-down'] as const satisfies readonly PositionName[]

/** Where the plane of the shaft crosses the trunk, as picture points. */
export interface PlaneTrace {
  /** From midway between the shoulders to midway between the hips, where there is room for words. */
  readonly trunk: readonly [ImagePoint, ImagePoint]
  /** Across the trunk, in the plane of the shaft. */
  readonly trace: readonly [ImagePoint, ImagePoint]
  /** The trace one standard deviation lower and higher, as one closed line. */
  readonly band: readonly ImagePoint[]
}

/** To either side of the trunk's middle, metres. */
const half = 0.22
/** Farther than that from the trunk, in its own lengths from the hips, there is nothing to cross. */
const farthest = 2

/** @param share what `shaft-plane-on-trunk` came to there */
export function traceIn(swing: Swing, view: SwingView, at: PositionName, share: Pick<MeasureResult, 'value' | 'sigma'>, handedness: Handedness): PlaneTrace | Missing {
  const shaft = shaftOf(swing)
  if (isMissing(shaft)) return shaft
  const p = positionAt(swing, swing.views[0]!.name, at)
  if (isMissing(p)) return p
  const m = motionAbout(swing, shaft, p.t)
  if (isMissing(m)) return m
  const [hips, shoulders] = [middleOf(swing, 'Hip', p.t), middleOf(swing, 'Shoulder', p.t)]
  const [lead, trail] = [spaceAt(swing, 'leadShoulder', p.t), spaceAt(swing, 'trailShoulder', p.t)]
  if (isMissing(hips) || isMissing(shoulders) || isMissing(lead) || isMissing(trail)) return missing('hips or shoulders are not placed there')
  if (Math.abs(share.value) > farthest) return missing('the plane of the shaft does not cross the trunk')
  const here = (three: readonly { readonly value: number }[]): Vec3 => [three[0]!.value, three[1]!.value, three[2]!.value]
  const [low, high] = [here(hips), here(shoulders)]
  const axis = sub3(high, low)
  // The trunk's front is square to both its own length and the line of the shoulders.
  const front = cross3(axis, sub3(here([lead.x, lead.y, lead.z]), here([trail.x, trail.y, trail.z])))
  const along = unit3(cross3(turnAxis(directionsOf(m.inputs.map((u) => u.value), m.count)), front))
  if (!along) return missing('the plane of the shaft lies in the front of the trunk there')
  const seen = (q: Vec3): ImagePoint | null => {
    const at2 = project(view.camera!, q)
    return at2 && asFilmed(view, handedness, at2)
  }
  const across = (s: number): readonly [ImagePoint | null, ImagePoint | null] => {
    const middle = add3(low, scale3(axis, s))
    return [seen(add3(middle, scale3(along, -half))), seen(add3(middle, scale3(along, half)))]
  }
  const [from, to] = [seen(low), seen(high)]
  const [[a, b], [c, d], [e, f]] = [across(share.value), across(share.value - share.sigma), across(share.value + share.sigma)]
  if (!from || !to || !a || !b || !c || !d || !e || !f) return missing(`the trunk lies behind the ${view.name} camera`)
  return { trunk: [to, from], trace: [a, b], band: [c, d, f, e, c] }
}

/** "plane 78 ± 4 %, up the trunk", on two lines: 0 at the hips, 100 at the shoulders. */
export const traceWords = ({ value, sigma }: Pick<MeasureResult, 'value' | 'sigma'>): string =>
  `plane ${Math.round(100 * value)} \u00b1 ${Math.max(1, Math.round(100 * sigma))} %\nup the trunk`
