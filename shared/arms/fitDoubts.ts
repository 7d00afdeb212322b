import { depthOf, type Camera } from '../camera/projection.ts'
import { offOf, type Observation } from './fitChain.ts'
import { pixelSigma } from './fitObserve.ts'
import type { Seen } from './fitBody.ts'
import type { ArmsInput, ArmsPose, Side } from './types.ts'

/** What of the marked points cannot hold together, in words; the fitted pose is the nearest that can. */

const words = (name: string): string => name.replace(/([A-Z])/g, ' $1').toLowerCase()
/** A point is contradicted when the model is this many of its deviations off and this far in the world, metres. */
const wayOff = 5
const wayOffM = 0.03
/** Wrists bend no farther than this against their forearms, degrees (flexion's 80 with a margin). */
const mostBend = 100
/** Metres that a segment may have. */
const plausible = { upperArm: [0.2, 0.42], forearm: [0.17, 0.35], shoulders: [0.22, 0.55] } as const

export function contradictionsOf(seen: Seen, marked: readonly Observation[], cameras: readonly Camera[], input: ArmsInput, pose: ArmsPose, shouldersM: number): string[] {
  const out: string[] = []
  for (const o of marked) {
    if (o.kind !== 'picture') continue
    const off = Math.hypot(...offOf(seen, o, cameras))
    const camera = cameras[o.camera]!
    const metres = (off * depthOf(camera, seen[o.point])) / camera.focalPx
    if (off > wayOff * pixelSigma(o) * Math.SQRT2 && metres > wayOffM)
      out.push(`The ${words(o.label)} as marked ${o.view} lies ${(100 * metres).toFixed(1)} cm from where a body that holds the club can have it.`)
  }
  const length = (name: string, value: number, [low, high]: readonly [number, number]): void => {
    if (value < low || value > high) out.push(`The ${name} comes out ${(100 * value).toFixed(0)} cm long, which nobody’s is: a joint at its end, the stature or a camera is off.`)
  }
  length('upper arm', input.body.arms.trail.upperArm, plausible.upperArm)
  length('forearm', input.body.arms.trail.forearm, plausible.forearm)
  length('line of the shoulders', shouldersM, plausible.shoulders)
  for (const side of ['lead', 'trail'] as const satisfies readonly Side[]) {
    const { wristFlexion, ulnarDeviation } = pose[side].angles
    const cos = Math.cos((wristFlexion * Math.PI) / 180) * Math.cos((ulnarDeviation * Math.PI) / 180)
    const bend = (Math.acos(Math.max(-1, Math.min(1, cos))) * 180) / Math.PI
    if (bend > mostBend) out.push(`The ${side} hand as marked bends ${bend.toFixed(0)} degrees against its forearm, farther than wrists do: look at the ${side} wrist and the hands again.`)
  }
  return out
}
