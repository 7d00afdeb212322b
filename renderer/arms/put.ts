import type { ForwardResult } from '../../shared/arms/types.ts'
import { imagePoint, type ImagePoint, type Vec3 } from '../../shared/geometry/vec.ts'
import { armsInCorner, armsMarkId, armsOverPicture, keptFrom, missesInCorner, type FigureWords, type KindOfPose } from '../../shared/markup/armsMarks.ts'
import type { FigureFrom, FigureRow, Misses } from '../../shared/markup/figure.ts'
import type { Mark, Marks } from '../../shared/markup/mark.ts'
import { boardShowing } from '../playback/board.ts'
import { longestFrame } from '../playback/restingSpan.ts'
import { goTo, openOnBench } from '../ui/appStore.ts'
import { tellDone, tellFault } from '../ui/notices.ts'
import type { ArmsRoom } from './armsRoom.ts'
import { figureHolder } from './figureHolder.ts'
import { eyeAxes, fixedViewWords, toScreen, viewOf, type Eye } from './figure/eye.ts'
import type { TopOfClip } from './load.ts'
import { missesOf } from './face/misses.ts'
import { effectWords, nowSigma, wantedSigma } from './numbers.ts'
import { fitKeyOf, staleOf } from './stale.ts'

/** What is put on the picture: marks on the Bench's stage, with undo, in the recording where one runs. */

const nextOrder = (marks: Marks): number => Math.max(0, ...Object.values(marks).map((mark) => mark.order)) + 1
const capital = (text: string): string => `${text[0]?.toUpperCase() ?? ''}${text.slice(1)}`

/** Refuses with a sentence about what to do. */
const refuse = (message: string, remedy: string | null = null): void => tellFault(Object.assign(new Error(message), { fault: { message, remedy } }))

/** What a mark tells, in the fewest words. */
const markRows = [
  { id: 'elbowOutCm', name: 'elbow behind', unit: 'cm' }, { id: 'azimuthDeg', name: 'shaft', unit: 'deg' }, { id: 'azimuthAtLevelDeg', name: 'at level', unit: 'deg' },
] as const

/** Numbers of the poses that a mark shows: as they are in the room. */
function rowsOf(room: ArmsRoom, pose: ForwardResult, isMoved: boolean): FigureRow[] {
  const state = room.state.getState()
  const { now, errors } = state
  const sampled = errors?.at(0) ?? null
  return markRows.flatMap(({ id, name, unit }): FigureRow[] => {
    const known = (value: number | null, sigma: number | null) => (value === null || sigma === null ? null : { value, sigma })
    const filmed = known(now!.readings[id], nowSigma(state, id, sampled))
    const wanted = isMoved ? known(pose.readings[id], wantedSigma(state, pose, id, null)) : null
    return filmed || wanted ? [{ name, unit, filmed, wanted }] : []
  })
}

/** The poses with the ghost first, so that it lies below, and what goes with them. */
function whatIsShown(room: ArmsRoom, pose: ForwardResult, eye: Eye | null): { readonly poses: readonly KindOfPose[]; readonly words: FigureWords; readonly effect: string } {
  const { loaded, now, ghost } = room.state.getState()
  const isMoved = Math.abs(pose.change.swivelDeg) > 0.05
  const isSketch = now!.kind === 'sketch'
  const effect = isMoved ? effectWords(now!, pose) : ''
  const from: FigureFrom = { fit: fitKeyOf(loaded!), swivelDeg: isMoved ? pose.readings.swivelDeg : null, ghost: ghost?.swingId ?? null, eye: eye && [eye.turn, eye.rise] }
  return {
    poses: [
      ...(ghost ? [{ kind: 'reference', pose: ghost.pose } as const] : []),
      { kind: isSketch ? 'sketch' : 'filmed', pose: now! },
      ...(isMoved ? [{ kind: 'wanted', pose } as const] : []),
    ],
    words: {
      seen: null, from, rows: rowsOf(room, pose, isMoved).slice(0, 6), verdict: capital(effect).slice(0, 200), limits: pose.limits.slice(0, 4).map(({ words }) => words.slice(0, 120)),
      basis: [loaded?.fit?.basis ?? pose.basis, ghost ? `reference: ${ghost.title}, ${ghost.basis}` : ''].filter(Boolean).join('; ').slice(0, 2000), handedness: loaded?.handedness ?? 'right',
    },
    effect,
  }
}

/** Lays the figure over every picture of the swing whose camera is known, at the top, and goes there. */
export async function putOnPicture(room: ArmsRoom): Promise<void> {
  room.settle()
  const { loaded } = room.state.getState()
  if (!loaded || !room.shown) return refuse('There is no picture to put it on: the standard body stands in the room.', 'Open a swing on the Bench, or choose one above.')
  if (!loaded.fit) return refuse('The body is a sketch and has no place in the picture.', loaded.lacking.join(' '))
  const tops = loaded.clips.filter(({ camera, tick }) => camera && tick !== null)
  if (tops.length === 0) return refuse('No camera of this swing is known, so the figure has no place in its pictures.', 'Put it in the corner instead, or place what the camera solve lacks on the Bench.')
  await put(room, tops, overPicture(room, room.shown.pose))
}

/** The figure over a picture whose camera is known. */
function overPicture(room: ArmsRoom, pose: ForwardResult): Make {
  const { poses, words, effect } = whatIsShown(room, pose, null)
  return (top, order) => (top.camera && top.span ? armsOverPicture(clipOf(top), top.span, top.camera, poses, words, breakLine(effect), order) : null)
}

/** The figure on a plate, seen from where the eye stands. */
function inCorner(room: ArmsRoom, pose: ForwardResult, eye: Eye): Make {
  const { poses, words } = whatIsShown(room, pose, eye)
  const axes = eyeAxes(eye)
  const screen = figureHolder.view?.screen ?? { width: 800, height: 600 }
  const isLeft = room.state.getState().loaded?.handedness === 'left'
  const seen = (p: Vec3) => toScreen(axes, screen, isLeft, p)
  const view = viewOf(eye)
  const seenWords = view ? fixedViewWords[view] : 'seen from aside'
  const sketched = poses.some(({ kind }) => kind === 'sketch') ? `${seenWords}, a sketch` : seenWords
  return (top, order, taken) => (top.span ? armsInCorner(clipOf(top), top.span, seen, poses, { ...words, seen: sketched }, order, taken) : null)
}

/** Puts a plate with the figure, as it is looked at now, in the corner of the active view's picture. */
export async function putInCorner(room: ArmsRoom): Promise<void> {
  room.settle()
  const { loaded } = room.state.getState()
  if (!loaded || !room.shown) return refuse('There is no picture to put it on: the standard body stands in the room.', 'Open a swing on the Bench, or choose one above.')
  const tops = loaded.clips.filter(({ clip, tick }) => tick !== null && clip.view === 'down-the-line')
  const chosen = tops.length > 0 ? tops : loaded.clips.filter(({ tick }) => tick !== null)
  if (chosen.length === 0) return refuse('The top is not known on these clips, so there is no frame to put it on.', 'Set the top on the Bench.')
  await put(room, chosen.slice(0, 1), inCorner(room, room.shown.pose, room.eye))
}

/** Puts the fan of misses in a corner of the first picture, for as long as the clip shows. */
export async function putMisses(room: ArmsRoom, misses: Misses): Promise<void> {
  const { loaded } = room.state.getState()
  if (!loaded || loaded.clips.length === 0) return refuse('There is no picture to put it on.', 'Open a swing on the Bench, or choose one above.')
  const top = loaded.clips.find(({ clip }) => clip.view === 'down-the-line') ?? loaded.clips[0]!
  await put(room, [top], (one, order, taken) => missesInCorner(clipOf(one), null, misses, order, taken), false)
}

/** Makes the room's marks that are of an earlier fit anew, each as it was made, in one step of undo; the pictures stay where they are. */
export async function renew(room: ArmsRoom): Promise<void> {
  room.settle()
  const { loaded } = room.state.getState()
  const board = loaded && (await boardOf(room))
  if (!loaded || !board) return refuse('There is no picture whose marks could be made anew.', 'Open a swing on the Bench, or choose one above.')
  const old = staleOf(Object.values(board.marks()), loaded, room.face.getState())
  if (old.length === 0) return tellDone('What is on the pictures is of this fit.')
  const fresh: Mark[] = []
  for (const mark of old) {
    const top = loaded.clips.find(({ clip }) => clip.id === mark.clipId)!
    const made = mark.misses ? missesInCorner(clipOf(top), null, missesOf(room.face.getState(), loaded.handedness), mark.order, []) : await madeAnew(room, mark, top)
    if (made) fresh.push(keptFrom(made, mark, longestFrame(top.clip)))
  }
  board.put(fresh)
  const lost = old.length - fresh.length
  if (lost > 0) refuse(`${lost === 1 ? 'One mark' : `${lost} marks`} of an earlier fit could not be made anew: there is no fit, or no camera, for ${lost === 1 ? 'its' : 'their'} picture now.`, 'Take it off, or place the points that the fit lacks.')
  else tellDone(`${fresh.length === 1 ? 'One mark was' : `${fresh.length} marks were`} made anew; undo on the Bench brings the earlier back.`)
}

async function madeAnew(room: ArmsRoom, mark: Mark, top: TopOfClip): Promise<Mark | null> {
  const { from } = mark.figure!
  const { loaded, ghost } = room.state.getState()
  if (mark.shape === 'arms' && !loaded?.fit) return null
  if (from && from.ghost !== null && from.ghost !== ghost?.swingId) await room.setGhost(from.ghost)
  const pose = from?.swivelDeg == null ? room.state.getState().now : room.poseAt(from.swivelDeg)
  if (!pose) return null
  const eye = { ...room.eye, ...(from?.eye && { turn: from.eye[0], rise: from.eye[1] }) }
  return (mark.shape === 'arms' ? overPicture(room, pose) : inCorner(room, pose, eye))(top, mark.order, [])
}

/** Takes what the room has put there off the pictures of the open swing. */
export async function takeOff(room: ArmsRoom): Promise<void> {
  const ids = (room.state.getState().loaded?.clips ?? []).flatMap(({ clip }) => (['arms', 'figure', 'misses'] as const).map((kind) => armsMarkId(clip.id, kind)))
  const board = await boardOf(room)
  board?.put([], ids.filter((id) => board.marks()[id]))
}

const clipOf = ({ clip: { id, width, height, handedness, mirrored } }: TopOfClip) => ({ id, width, height, handedness, mirrored })
const breakLine = (text: string): string => capital(text).replace(': ', ':\n')

/** The stage with the room's swing on it: it is opened there where it is not. */
async function boardOf(room: ArmsRoom) {
  const { loaded } = room.state.getState()
  const ids = loaded?.clips.map(({ clip }) => clip.id) ?? []
  const there = await boardShowing(ids, 0)
  if (there) return there
  if (loaded?.swing) openOnBench({ swingId: loaded.swing.id })
  else if (ids[0]) openOnBench({ clipId: ids[0] })
  return boardShowing(ids)
}

/** Places that marks on a clip cover: a plate keeps clear of them as of the player. */
const coveredBy = (marks: Marks, clipId: string): readonly ImagePoint[] => Object.values(marks).filter((mark) => mark.clipId === clipId && !mark.hidden).flatMap((mark) => {
  if (mark.shape !== 'plan' && mark.shape !== 'figure' && mark.shape !== 'misses') return mark.points
  const [a, b] = mark.points as [ImagePoint, ImagePoint]
  const along = [0.1, 0.3, 0.5, 0.7, 0.9]
  return along.flatMap((x) => along.map((y) => imagePoint(a[0] + x * (b[0] - a[0]), a[1] + y * (b[1] - a[1]))))
})

/** Makes a mark for a clip; null where its picture does not show it. */
type Make = (top: TopOfClip, order: number, taken: readonly ImagePoint[]) => Mark | null

async function put(room: ArmsRoom, tops: readonly TopOfClip[], make: Make, goesToTop = true): Promise<void> {
  const board = await boardOf(room)
  if (!board) return refuse('The Bench did not open this swing.', 'Open it there, then put the figure on it.')
  const marks = board.marks()
  const fresh = tops.flatMap((top, i) => {
    const mark = make(top, nextOrder(marks) + i, [...top.taken, ...coveredBy(marks, top.clip.id)])
    return mark ? [keptFrom(mark, marks[mark.id], longestFrame(top.clip))] : []
  })
  if (fresh.length === 0) return refuse('The figure lies outside what these cameras see.')
  board.put(fresh)
  const all = room.state.getState().loaded?.clips ?? tops
  if (goesToTop) board.goTo(all.flatMap(({ clip, instant }) => (instant === null ? [] : [{ clipId: clip.id, tick: instant }])))
  goTo('bench')
}
