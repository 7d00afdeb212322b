import { add3, cross3, dot3, length3, scale3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { levelled, type Turning } from './atLevel.ts'
import { fromChest, leadReference, makeWorkspace, readPosture, type Chain, type Posture } from './chain.ts'
import type { Ease } from './cost.ts'
import { headLineIn } from './headLine.ts'
import { at } from './joints.ts'
import { limitsTouched } from './limits.ts'
import { isNoSwivel, swivelElbow, trailSwivelElbow } from './swivel.ts'
import type { ArmPose, ArmsInput, ArmsPose, Chest, ClubPose, JointAngles, Readings, Side } from './types.ts'

const degrees = 180 / Math.PI

function anglesOf(row: Float64Array): JointAngles {
  const d = (k: number): number => row[k]! * degrees
  return {
    planeOfElevation: d(at.plane), elevation: d(at.elevation), axialRotation: d(at.axial), rotation: d(at.rotation), elbowFlexion: d(at.elbow),
    pronation: d(at.pronation), wristFlexion: d(at.wristFlexion), ulnarDeviation: d(at.ulnar),
  }
}

/** Centimetres of a point behind the plane through both shoulders and the trail hip. */
export function behindBodyPlane({ leadShoulder, trailShoulder, trailHip }: Chest, p: Vec3): number {
  const back = unit3(cross3(sub3(leadShoulder, trailShoulder), sub3(trailHip, trailShoulder)))
  return back ? 100 * dot3(back, sub3(p, trailShoulder)) : 0
}

export const azimuthDeg = (shaft: Vec3): number => Math.atan2(shaft[2], shaft[0]) * degrees

/** The face against the lead forearm seen along the shaft, degrees, positive open; 0 where the forearm lies along the shaft. */
function faceToForearm(shaft: Vec3, toe: Vec3, forearm: Vec3): number {
  const flat = sub3(forearm, scale3(shaft, dot3(forearm, shaft)))
  return length3(flat) > 1e-9 ? Math.atan2(dot3(shaft, cross3(flat, toe)), dot3(flat, toe)) * degrees : 0
}

function clubOf({ body, hands }: ArmsInput, shaft: Vec3, side: Vec3): ClubPose {
  const other = cross3(shaft, side)
  const open = (body.grip.faceDeg * Math.PI) / 180
  const toe = add3(scale3(side, Math.cos(open)), scale3(other, Math.sin(open)))
  const butt = add3(hands, scale3(shaft, -body.club.buttToHandsM))
  return { butt, end: add3(butt, scale3(shaft, body.club.lengthM)), shaft, side, toe, face: cross3(toe, shaft) }
}

function armPose(input: ArmsInput, side: Side, club: ClubPose, swivel: number, row: Float64Array): ArmPose {
  const { body, chest, hands } = input
  const hold = body.grip[side]
  const round = (hold.roundDeg * Math.PI) / 180
  const off = add3(scale3(club.side, Math.cos(round)), scale3(cross3(club.shaft, club.side), Math.sin(round)))
  const wrist = add3(hands, add3(scale3(club.shaft, hold.alongM), scale3(off, hold.awayM)))
  const shoulder = side === 'lead' ? chest.leadShoulder : chest.trailShoulder
  const { upperArm, forearm } = body.arms[side]
  const found =
    side === 'lead' ? swivelElbow(shoulder, wrist, upperArm, forearm, fromChest(chest.axes, leadReference), swivel) : trailSwivelElbow(shoulder, wrist, upperArm, forearm, swivel * degrees)
  // Straight, the elbow lies on the line whatever the swivel.
  const elbow = isNoSwivel(found) ? add3(shoulder, scale3(sub3(wrist, shoulder), upperArm / (upperArm + forearm))) : found.elbow
  return { shoulder, elbow, wrist, grip: add3(hands, scale3(club.shaft, (side === 'lead' ? -0.5 : 0.5) * body.grip.apartM)), angles: anglesOf(row) }
}

/** How far lengths that the chain holds are from what they are in the pose, and each wrist from its place on the club, metres. */
function gapOf(input: ArmsInput, arms: Readonly<Record<Side, ArmPose>>, club: ClubPose): number {
  let gap = 0
  for (const side of ['lead', 'trail'] as const) {
    const { shoulder, elbow, wrist } = arms[side]
    const { upperArm, forearm } = input.body.arms[side]
    const hold = input.body.grip[side]
    const off = sub3(wrist, input.hands)
    const along = dot3(off, club.shaft)
    const side0 = dot3(off, club.side)
    const other = dot3(off, cross3(club.shaft, club.side))
    const round = (hold.roundDeg * Math.PI) / 180
    gap = Math.max(
      gap, Math.abs(length3(sub3(elbow, shoulder)) - upperArm), Math.abs(length3(sub3(wrist, elbow)) - forearm),
      Math.hypot(along - hold.alongM, side0 - hold.awayM * Math.cos(round), other - hold.awayM * Math.sin(round)),
    )
  }
  return gap
}

/** A posture in the world with all that is read from it; null where the chain does not reach. */
export function poseOf(input: ArmsInput, chain: Chain, posture: Posture, ease: Readonly<Record<Side, Ease>>, turning: Turning): ArmsPose | null {
  const work = makeWorkspace()
  if (!readPosture(chain, posture, work)) return null
  const { axes } = input.chest
  const shaft = unit3(fromChest(axes, posture.shaft))!
  const side = unit3(fromChest(axes, posture.side))!
  const club = clubOf(input, shaft, side)
  const lead = armPose(input, 'lead', club, posture.lead, work.lead)
  const trail = armPose(input, 'trail', club, posture.trail, work.trail)
  const line = headLineIn(shaft, side, input.body.club.headLine)
  const level = levelled(line, turning)
  const readings: Readings = {
    // A whole degree asked for is a whole degree told.
    swivelDeg: Math.round(posture.trail * degrees * 1e9) / 1e9,
    elbowOutCm: behindBodyPlane(input.chest, trail.elbow),
    azimuthDeg: azimuthDeg(line),
    elevationDeg: Math.asin(Math.max(-1, Math.min(1, line[1]))) * degrees,
    azimuthAtLevelDeg: level ? level.azimuthDeg : null,
    shortOfLevelDeg: level ? level.shortDeg : null,
    faceToForearmDeg: faceToForearm(shaft, club.toe, sub3(lead.elbow, lead.wrist)),
  }
  const limits = [...limitsTouched('lead', work.lead, ease.lead), ...limitsTouched('trail', work.trail, ease.trail)]
  return { chest: input.chest, hands: input.hands, lead, trail, club, readings, limits, gapM: gapOf(input, { lead, trail }, club) }
}
