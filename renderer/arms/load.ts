import { fitArms } from '../../shared/arms/fit.ts'
import { isArmsRefusal, type FitResult } from '../../shared/arms/types.ts'
import type { Camera } from '../../shared/camera/projection.ts'
import type { Clip } from '../../shared/contract/clip.ts'
import type { DigitisedTable } from '../../shared/contract/digitising.ts'
import type { PointName, ViewName } from '../../shared/contract/pointsFile.ts'
import type { Student, Swing as LibrarySwing } from '../../shared/contract/student.ts'
import type { ImagePoint } from '../../shared/geometry/vec.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { clickSigma } from '../../shared/swing/clickError.ts'
import { assembleSwing, withFallbacks, type MeasuredClip } from '../../shared/swing/assemble.ts'
import { landmarksOn, pointTitle } from '../../shared/swing/digitised.ts'
import { positionAt } from '../../shared/swing/definition.ts'
import { prepareSwing } from '../../shared/swing/measureSwing.ts'
import { isMissing, type Swing } from '../../shared/swing/reading.ts'
import { frameAt, tickOf } from '../../shared/walkthrough/motion.ts'
import type { Bridge } from '../bridge/index.ts'
import { restingSpan } from '../playback/restingSpan.ts'
import { viewWords } from '../ui/words.ts'

/** A clip of the swing with the frame in which it is at the top, where that is known. */
export interface TopOfClip {
  readonly clip: Clip
  readonly tick: number | null
  /** The instant itself, in ticks: of two tied clips one goes by it to the frames that hold it in both. */
  readonly instant: number | null
  /** The frames on which the clip may rest there; null where the top is not known. */
  readonly span: { readonly from: number; readonly to: number } | null
  /** Places of the top's frame, for a plate to keep clear of. */
  readonly taken: readonly ImagePoint[]
  /** The camera that the marks gave or the file holds, of a right-hander's picture; null where there is none. */
  readonly camera: Camera | null
  readonly sigmaPx: number
}

/** A swing of the library as the room needs it. */
export interface LoadedSwing {
  readonly swing: LibrarySwing | null
  readonly title: string
  readonly handedness: 'right' | 'left'
  readonly statureM: number | null
  readonly clips: readonly TopOfClip[]
  readonly table: DigitisedTable
  readonly marks: readonly Mark[]
  /** One standard deviation of the coach's clicks on each clip, pixels. */
  readonly clickPx: Readonly<Record<string, number>>
  readonly fit: FitResult | null
  /** Why there is no fit, in sentences, the points that are wanting among them. */
  readonly lacking: readonly string[]
}

/** What is asked for: a swing of the library, or clips that stand together without one. */
export interface Asked {
  readonly swing: LibrarySwing | null
  readonly clipIds: readonly string[]
}

/** The points of one frame that a fit wants, each with what may stand in for it. */
const wanted: readonly (readonly PointName[])[] = [
  ['leadShoulder'], ['trailShoulder'], ['leadElbow'], ['trailElbow'], ['leadWrist'], ['trailWrist'], ['leadHip'], ['trailHip'], ['butt', 'hands'], ['clubhead', 'shaftEnd'],
]

export async function loadSwing(desk: Pick<Bridge, 'call'>, { swing, clipIds }: Asked, students: readonly Student[]): Promise<LoadedSwing> {
  const [clips, records, marks, settings] = await Promise.all([
    Promise.all(clipIds.map((id) => desk.call('clip.get', { id }))),
    clipIds.length ? desk.call('digitising.list', { clipIds: [...clipIds] }) : [],
    clipIds.length ? desk.call('marks.list', { clipIds: [...clipIds] }) : [],
    desk.call('settings.get', {}),
  ])
  const table: DigitisedTable = Object.fromEntries(records.map((record) => [record.id, record]))
  const first = clips[0]
  const student = students.find(({ id }) => id === first?.studentId)
  const club = student?.clubs.find(({ kind }) => kind.toLowerCase() === first?.club.toLowerCase())
  const common = {
    swing, table, marks, clickPx: Object.fromEntries(clips.map((clip) => [clip.id, clickSigma(settings.clickError, clip).sigmaPx])), handedness: first?.handedness ?? 'right', statureM: student?.statureM ?? null,
    title: [student?.name, swing?.title || [first?.club, clips.length === 1 && first ? viewWords[first.view] : ''].filter(Boolean).join(', ')].filter(Boolean).join(': ') || 'A swing',
  } as const
  const tie = clips.length === 2 ? swing?.tie ?? null : null
  const spanOf = (i: number, instants: readonly (number | null)[]): TopOfClip['span'] => {
    const [instant, other] = [instants[i] ?? null, instants[1 - i] ?? null]
    if (instant === null) return null
    return restingSpan(clips[i]!, instant, tie && other !== null ? { clip: clips[1 - i]!, instant: other, there: i === 0 ? tie.right : tie.left, here: i === 0 ? tie.left : tie.right } : null)
  }
  const set = clips.map((clip) => topSet(table, clip))
  const bare = clips.map((clip, i): TopOfClip => ({ clip, tick: set[i]!, instant: set[i]!, span: spanOf(i, set), taken: takenOn(table, clip, set[i]!), camera: null, sigmaPx: 2 }))
  const measured = measurable(clips)
  const assembled = assembleSwing({
    clips: measured, oneSwing: swing?.pairing === 'one-swing', tie: measured.length === 2 ? swing?.tie ?? null : null, statureM: common.statureM, repeatability: student?.repeatability ?? null,
    club: first && first.club !== '' ? { kind: first.club, lengthM: club?.lengthM ?? null } : null, records: table, clickError: settings.clickError,
  })
  if (!assembled.ok) return { ...common, clips: bare, fit: null, lacking: [...assembled.reasons, ...wanting(table, bare)] }
  let read = prepareSwing(assembled.file)
  const lost = assembled.left.filter(({ view, name }) => !read.positions.get(view)?.[name])
  if (lost.length) read = prepareSwing(withFallbacks(assembled.file, lost))
  const isTied = read.file.sameSwing && read.views.length === 2 && swing?.tie
  const instants = clips.map((clip, i) => topInstant(read, clip, isTied ? (i === 0 ? swing.tie!.left : swing.tie!.right) : null) ?? set[i]!)
  const tops = clips.map((clip, i): TopOfClip => {
    const instant = instants[i]!
    const tick = instant === null ? null : tickOf(clip.frames, frameAt(clip.frames, instant))
    const view = read.views.find(({ name }) => name === clip.view)
    return { clip, tick, instant, span: spanOf(i, instants), taken: takenOn(table, clip, tick), camera: cameraIn(read, clip.view as ViewName), sigmaPx: view?.sigmaPx ?? 2 }
  })
  const fit = fitArms(read, 'top')
  if (isArmsRefusal(fit)) return { ...common, clips: tops, fit: null, lacking: [fit.why, ...wanting(table, tops)] }
  return { ...common, clips: tops, fit, lacking: [] }
}

/** Both clips where they are one of each view and of one student; else the first that has a view. */
function measurable(clips: readonly Clip[]): readonly MeasuredClip[] {
  const [one, two] = clips
  if (one && two && new Set([one.view, two.view]).size === 2 && one.view !== 'other' && two.view !== 'other' && one.studentId === two.studentId) return [one, two]
  return clips.filter(({ view }) => view !== 'other').slice(0, 1)
}

const topSet = (table: DigitisedTable, clip: Clip): number | null => {
  const record = Object.values(table).find((one) => one.kind === 'position' && one.clipId === clip.id && one.name === 'top')
  return record?.kind === 'position' ? record.tick : null
}

/** The instant at which a clip is at the top, in its ticks. @param tied the clip's tied tick where the swing has one clock, else null */
function topInstant(read: Swing, clip: Clip, tied: number | null): number | null {
  if (clip.view === 'other' || !read.views.some(({ name }) => name === clip.view)) return null
  const position = positionAt(read, clip.view, 'top')
  if (isMissing(position)) return null
  const { frames, captureRate, playRate } = clip
  return (tied ?? frames.ticks[0]!) + (position.t.value * frames.timescale * captureRate) / playRate + 1e-6
}

const cameraIn = (read: Swing, view: ViewName): Camera | null =>
  read.views.find(({ name }) => name === view)?.camera ?? read.solved.alone.get(view)?.camera ?? null

const takenOn = (table: DigitisedTable, clip: Clip, tick: number | null): readonly ImagePoint[] =>
  tick === null ? [] : Object.values(landmarksOn(table, clip.id, tick)).map(({ at }) => at)

/** What is still to be placed on the top's frame of each clip, a sentence a view. */
function wanting(table: DigitisedTable, tops: readonly TopOfClip[]): string[] {
  return tops.flatMap(({ clip, tick }) => {
    if (clip.view === 'other') return []
    if (tick === null) return [`${capital(viewWords[clip.view])}: set the top first, then place both shoulders, elbows, wrists and hips, the butt and the clubhead on its frame.`]
    const there = landmarksOn(table, clip.id, tick)
    const missing = wanted.filter((names) => !names.some((name) => there[name])).map(([name]) => pointTitle(name!))
    return missing.length > 0 ? [`${capital(viewWords[clip.view])}, at the top: ${missing.join(', ')}.`] : []
  })
}

const capital = (text: string): string => `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}`
