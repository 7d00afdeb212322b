import { cross3, dot3, length3, sub3, type Vec3 } from '../geometry/vec.ts'
import type { ArmsInput, ArmsRefusal } from './types.ts'

const refuse = (refused: ArmsRefusal['refused'], why: string): ArmsRefusal => ({ refused, why, nearest: null })
const finite = (v: Vec3): boolean => v.every(Number.isFinite)

/** What of an input cannot hold whatever the pose, in words; null where nothing speaks against it. */
export function inputFault({ body, chest, hands, anchor, turning, lengthSigma }: ArmsInput): ArmsRefusal | null {
  const points: readonly (readonly [string, Vec3])[] = [
    ['The lead shoulder', chest.leadShoulder], ['The trail shoulder', chest.trailShoulder], ['The trail hip', chest.trailHip], ['The place of the hands', hands],
    ['The chest’s lead axis', chest.axes.lead], ['The chest’s up axis', chest.axes.up], ['The chest’s front axis', chest.axes.front],
    ...(anchor ? ([['The filmed shaft', anchor.shaft], ['The filmed lead wrist’s side', anchor.side], ['The filmed lead elbow', anchor.leadElbow], ['The filmed trail elbow', anchor.trailElbow]] as const) : []),
    ...(turning ? ([['The axis that the shaft turns round', turning]] as const) : []),
  ]
  for (const [name, v] of points) if (!finite(v)) return refuse('bad-input', `${name} is not three finite numbers.`)
  for (const side of ['lead', 'trail'] as const) {
    for (const part of ['upperArm', 'forearm'] as const) {
      const length = body.arms[side][part]
      const name = part === 'forearm' ? 'forearm' : 'upper arm'
      if (!Number.isFinite(length)) return refuse('bad-input', `The ${side} ${name} has no length that is a finite number.`)
      if (!(length > 0)) return refuse('zero-length', `The ${side} ${name} is ${length} m long: it must be longer than nothing.`)
    }
    const hold = body.grip[side]
    if (![hold.alongM, hold.awayM, hold.roundDeg, body.grip.apartM, body.grip.faceDeg].every(Number.isFinite)) return refuse('bad-input', `The ${side} hand’s place on the club is not finite numbers.`)
    if (!(hold.awayM > 0)) return refuse('zero-length', `The ${side} wrist lies on the shaft itself, so that its hand has no direction: give it a place beside the shaft.`)
  }
  if (body.grip.lead.roundDeg !== 0) return refuse('bad-input', 'The lead wrist’s angle round the shaft is 0 by definition.')
  const { lengthM, buttToHandsM } = body.club
  if (!Number.isFinite(lengthM) || !(lengthM > 0)) return refuse('zero-length', `The club is ${lengthM} m long: it must be longer than nothing.`)
  if (!(buttToHandsM >= 0 && buttToHandsM < lengthM)) return refuse('bad-input', 'The middle of the hands lies off the club.')
  if (!(lengthSigma >= 0)) return refuse('bad-input', 'The error of the lengths must be 0 or more.')
  const { lead, up, front } = chest.axes
  const square = Math.max(
    ...[lead, up, front].map((v) => Math.abs(length3(v) - 1)), Math.abs(dot3(lead, up)), Math.abs(dot3(up, front)), Math.abs(dot3(front, lead)),
  )
  if (!(square < 1e-6)) return refuse('bad-input', 'The chest’s axes are not of length 1 and square to each other.')
  if (dot3(cross3(lead, up), front) < 0) return refuse('bad-input', 'The chest’s front axis points out of its back.')
  const across = sub3(chest.leadShoulder, chest.trailShoulder)
  if (!(length3(across) > 0.01)) return refuse('contradiction', 'Both shoulders are at one place.')
  if (!(length3(cross3(across, sub3(chest.trailHip, chest.trailShoulder))) > 1e-4)) return refuse('contradiction', 'The trail hip lies on the line of the shoulders, so that the body has no plane.')
  if (dot3(across, lead) <= 0) return refuse('contradiction', 'The lead shoulder lies on the trail side of the chest.')
  if (anchor && !(length3(anchor.shaft) > 1e-6)) return refuse('bad-input', 'The filmed shaft has no direction.')
  return null
}
