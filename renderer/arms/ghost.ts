import type { ArmsPose, ArmPose } from '../../shared/arms/types.ts'
import { add3, length3, scale3, sub3, type Vec3, type WorldPoint } from '../../shared/geometry/vec.ts'
import type { Bridge } from '../bridge/index.ts'
import type { Student, Swing } from '../../shared/contract/student.ts'
import type { ClipSummary } from '../../shared/contract/lists.ts'
import type { Ghost, OtherSwing } from './armsState.ts'

const middleOf = ({ lead, trail }: ArmsPose): Vec3 => scale3(add3(lead.shoulder, trail.shoulder), 0.5)
const widthOf = ({ lead, trail }: ArmsPose): number => length3(sub3(lead.shoulder, trail.shoulder))

/** Another body's pose laid over this one: the middles of the shoulders brought together, the size to this body's, directions as they are. */
export function ghostOf(swingId: string, title: string, pose: ArmsPose, onto: ArmsPose): Ghost {
  const size = widthOf(onto) / widthOf(pose)
  const from = middleOf(pose)
  const to = middleOf(onto)
  const lay = (p: Vec3): WorldPoint => add3(to, scale3(sub3(p, from), size))
  const arm = (one: ArmPose): ArmPose => ({ ...one, shoulder: lay(one.shoulder), elbow: lay(one.elbow), wrist: lay(one.wrist), grip: lay(one.grip) })
  return {
    swingId, title,
    pose: {
      ...pose, lead: arm(pose.lead), trail: arm(pose.trail), hands: lay(pose.hands), limits: [],
      chest: { ...pose.chest, leadShoulder: lay(pose.chest.leadShoulder), trailShoulder: lay(pose.chest.trailShoulder), trailHip: lay(pose.chest.trailHip) },
      club: { ...pose.club, butt: lay(pose.club.butt), end: lay(pose.club.end) },
    },
    basis: `laid over at the middle of the shoulders and ${Math.abs(size - 1) < 0.005 ? 'of the same size' : `brought to this size (${(size * 100).toFixed(0)} %)`}; directions as they were`,
  }
}

/** How many points make it worth while to try a fit. */
const fewest = 6
/** The newest swings that are looked through. */
const most = 60

/** The library's other swings that have points, newest first; one asked for after another, so that the desk stays free for the coach. */
export async function swingsWithPoints(desk: Pick<Bridge, 'call'>, students: readonly Student[], own: readonly string[]): Promise<readonly OtherSwing[]> {
  const found: OtherSwing[] = []
  const newest = await desk.call('swing.list', { limit: most })
  const clips = await desk.call('clip.some', { ids: newest.flatMap(clipOfSwing) })
  for (const swing of newest) {
    const clipIds = [swing.leftClipId, swing.rightClipId].filter((id) => id !== null)
    if (clipIds.every((id) => own.includes(id))) continue
    const records = await desk.call('digitising.list', { clipIds })
    if (records.filter(({ kind }) => kind === 'landmark').length < fewest) continue
    found.push({ id: swing.id, title: swingTitle(swing, students, clips) })
  }
  return found
}

/** The clip that says of a swing what the swing does not: its club, its student. */
export const clipOfSwing = ({ leftClipId, rightClipId }: Swing): string[] => [leftClipId ?? rightClipId].filter((id) => id !== null)

/** A swing of the library in a few words: whose it is, what it is called, its club. */
export function swingTitle(swing: Swing, students: readonly Student[], clips: readonly ClipSummary[]): string {
  const clip = clips.find((one) => one.id === (swing.leftClipId ?? swing.rightClipId))
  const student = students.find((one) => one.id === (swing.studentId ?? clip?.studentId))
  return [student?.name ?? 'No student', swing.title || clip?.club].filter(Boolean).join(': ')
}
