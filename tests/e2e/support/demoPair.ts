/** A pair of the demo's clips on a desk, digitised from the truth that was filmed. */
import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect } from '@playwright/test'
import { makeDemoKit, type ClipTruth } from '../../../electron/desk/demo/kit.ts'
import { guideId, landmarkId, positionId, type Digitised } from '../../../shared/contract/digitising.ts'
import type { PointName } from '../../../shared/contract/pointsFile.ts'
import { imagePoint, type ImagePoint } from '../../../shared/geometry/vec.ts'
import type { TestDesk } from './desk.ts'

export interface DemoPair {
  readonly folder: string
  /** Face-on, down the line. */
  readonly truths: readonly [ClipTruth, ClipTruth]
  remove(): Promise<void>
}

/** Films the pair, small and short; `who` is the beginning of its clips' names. */
export async function filmPair(who: string): Promise<DemoPair> {
  const folder = await mkdtemp(join(tmpdir(), 'demo-pair-'))
  const kit = await makeDemoKit(folder, { scale: 0.5, seconds: 1.6, only: [`${who}-face-on`, `${who}-down-the-line`], workers: 2 })
  const truth = async (view: string): Promise<ClipTruth> => JSON.parse(await readFile(kit.clips.find((clip) => clip.view === view)!.truthPath, 'utf8')) as ClipTruth
  return { folder, truths: [await truth('face-on'), await truth('down-the-line')], remove: () => rm(folder, { recursive: true, force: true }) }
}

const inPicture = ({ widthPx, heightPx }: ClipTruth, [x, y]: readonly [number, number]): boolean => x >= 0 && y >= 0 && x <= widthPx && y <= heightPx

/** Where the truth sees a point of the world. */
function seen({ matrix }: ClipTruth, [x, y, z]: readonly [number, number, number]): ImagePoint {
  const [a, b, c] = matrix.map((row) => row[0]! * x + row[1]! * y + row[2]! * z + row[3]!) as [number, number, number]
  return imagePoint(a / c, b / c)
}

/** What a coach might place: points on every other frame, on each about the top, the positions, the stick and a plumb line. */
export function recordsOf(truth: ClipTruth, clipId: string): Digitised[] {
  const records: Digitised[] = []
  truth.frames.forEach((frame, i) => {
    if (i % 2 && Math.abs(i - truth.events.top!.frame) > 8) return
    for (const [point, at] of Object.entries(frame.pixel) as [PointName, readonly [number, number]][])
      if (inPicture(truth, at)) records.push({ kind: 'landmark', id: landmarkId(clipId, frame.tick, point), clipId, tick: frame.tick, point, at: imagePoint(at[0], at[1]), sigmaPx: null, placed: 1, by: 'coach' })
  })
  for (const name of ['address', 'takeaway', 'top', 'lead-arm-level-down', 'shaft-level-down', 'impact'] as const) {
    const event = truth.events[name]
    if (event) records.push({ kind: 'position', id: positionId(clipId, name), clipId, name, tick: truth.frames[event.frame]!.tick, falls: 'on', sigmaS: null, by: 'coach' })
  }
  const guides = [['targetLine', truth.stick], ['plumb', [[0.1, 0.1, -0.3], [0.1, 1.7, -0.3]]]] as const
  for (const [name, [from, to]] of guides) {
    const ends = [seen(truth, from), seen(truth, to)] as const
    if (ends.every((end) => inPicture(truth, end))) records.push({ kind: 'guide', id: guideId(clipId, name), clipId, name, ends, metres: null, by: 'coach' })
  }
  return records
}

/** Takes the pair in for a student of that name, ties it at impact, places its points; answers with the swing's and both clips' ids. */
export async function takeInPair(desk: TestDesk, { folder, truths }: DemoPair, name: string, isDigitised = true): Promise<{ readonly swingId: string; readonly clipIds: readonly [string, string] }> {
  const [front, line] = truths
  const consent = { student: { given: true, on: '2026-03-02' }, guardian: { given: false, name: '', on: null }, purpose: '', until: null }
  const { id: studentId } = await desk.call('student.save', {
    id: null, name, handedness: front.handedness, statureM: front.statureM, clubs: [{ kind: front.club.kind, lengthM: front.club.lengthM }], goals: '', ballFlight: '', injuries: '', minor: false, consent,
  })
  await desk.call('takeIn.start', {
    studentId, club: front.club.kind, handedness: front.handedness, question: '', feel: '', pair: 'one-swing',
    items: truths.map((truth) => ({ source: { path: join(folder, truth.clip) }, view: truth.view, captureRate: truth.captureRate })),
  })
  await expect.poll(async () => (await desk.call('job.list', {})).every((job) => job.state === 'done'), { timeout: 30_000 }).toBe(true)
  const clips = await desk.call('clip.list', { studentId })
  const clipIds = truths.map((truth) => clips.find((clip) => clip.view === truth.view)!.id) as unknown as readonly [string, string]
  const { createdAt: _, ...swing } = (await desk.call('swing.list', {})).find(({ leftClipId, rightClipId }) => clipIds.some((id) => id === leftClipId || id === rightClipId))!
  const impact = (truth: ClipTruth): number => truth.frames[truth.events.impact!.frame]!.tick
  const tie = swing.leftClipId === clipIds[0] ? { left: impact(front), right: impact(line) } : { left: impact(line), right: impact(front) }
  await desk.call('swing.save', { ...swing, tie })
  if (isDigitised) {
    const records = truths.flatMap((truth, i) => recordsOf(truth, clipIds[i]!))
    await desk.call('digitising.apply', { diff: { added: Object.fromEntries(records.map((record) => [record.id, record])), updated: {}, removed: {} } })
  }
  return { swingId: swing.id, clipIds }
}
