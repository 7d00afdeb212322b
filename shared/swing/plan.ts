import type { DigitisedTable } from '../contract/digitising.ts'
import { positionNames, type PointName, type PositionName, type ViewName } from '../contract/pointsFile.ts'
import { frameAt } from '../walkthrough/motion.ts'
import { clockOf, type MeasuredClip } from './assemble.ts'
import type { At, Input, Landmark, Measure } from './definition.ts'
import { placingOrder } from './placing.ts'
import { measures } from './registry.ts'

/** What is to be measured: one measure, or everything that is read at one position. */
export type Choice = { readonly kind: 'measure'; readonly id: string } | { readonly kind: 'position'; readonly name: PositionName }

/** A point that is wanted on a frame. Any of `instead` does as well. */
export interface Step {
  readonly clipId: string
  readonly view: ViewName
  readonly position: PositionName | 'swing'
  readonly tick: number
  readonly point: PointName
  readonly instead: readonly PointName[]
}

export interface Plan {
  readonly steps: readonly Step[]
  /** Positions that are to be set first. */
  readonly unset: readonly { readonly clipId: string; readonly view: ViewName; readonly name: PositionName }[]
}

/** A clip with what is known of where its positions lie. */
export interface PlannedClip {
  readonly clip: MeasuredClip
  /** The tied instant, or null where the clip's own first frame is zero. */
  readonly tied: number | null
  /** Seconds of the swing's clock, of positions that were set or found. */
  readonly positions: Partial<Record<PositionName, number>>
}

/** Frames of a point that must be followed lie no farther apart than this, seconds; the reading between them allows .11. */
const followEvery = 0.1
/** A frame this near to an instant is that instant, seconds. */
const sameInstant = 2e-4

interface Want {
  readonly at: PositionName | 'swing'
  readonly point: PointName
  readonly instead: readonly PointName[]
  /** here: on the instant; around: on frames to both sides too; throughout: from address to impact. */
  readonly spread: 'here' | 'around' | 'throughout'
}

const landmarkPoints: Partial<Record<Landmark, readonly (readonly PointName[])[]>> = {
  shaftTail: [['butt', 'hands']],
  shaftTip: [['clubhead', 'shaftEnd']],
  midShoulders: [['leadShoulder'], ['trailShoulder']],
  midHips: [['leadHip'], ['trailHip']],
}
const shaft = [['butt', 'hands'], ['clubhead', 'shaftEnd']] as const
/** Lengths need a scale, which is taken at address; the ankles and the head, or the club, give one. */
const standing = [['head', 'crown'], ['leadAnkle'], ['trailAnkle'], ['butt'], ['clubhead', 'shaftEnd']] as const
const shoulders = [['leadShoulder'], ['trailShoulder']] as const
const hips = [['leadHip'], ['trailHip']] as const

/** Points of the measures that are no function of one plane's points. */
const others: Readonly<Record<string, { readonly points: readonly (readonly PointName[])[]; readonly spread: Want['spread'] | 'address'; readonly fromAddress?: true }>> = {
  'shaft-rate': { points: shaft, spread: 'around' },
  'head-excursion': { points: [['head']], spread: 'throughout' },
  'head-excursion-share': { points: [['head']], spread: 'throughout' },
  'shaft-azimuth': { points: shaft, spread: 'here' },
  'shaft-elevation': { points: shaft, spread: 'here' },
  'shaft-short-of-level': { points: shaft, spread: 'around' },
  'shaft-azimuth-at-level': { points: shaft, spread: 'around' },
  'shaft-plane-slope': { points: shaft, spread: 'around' },
  'shaft-plane-slope-change': { points: shaft, spread: 'around', fromAddress: true },
  'shaft-plane-on-trunk': { points: [...shaft, ...shoulders, ...hips], spread: 'around' },
  'shoulder-turn': { points: shoulders, spread: 'here', fromAddress: true },
  'hip-turn': { points: hips, spread: 'here', fromAddress: true },
  'shoulder-alignment': { points: shoulders, spread: 'here' },
  'hip-alignment': { points: hips, spread: 'here' },
  // A camera is solved from what is seen at address; its guides are placed by themselves.
  ...Object.fromEntries(['camera-yaw', 'camera-roll', 'camera-offset', 'camera-offset-hand-line', 'camera-height', 'camera-distance'].map((id) => [id, { points: standing, spread: 'address' as const }])),
  'camera-look-bias': { points: [['hands', 'leadWrist']], spread: 'here' },
  'ray-gap': { points: [['clubhead', 'shaftEnd']], spread: 'here' },
}

const wantOf = (names: readonly PointName[], at: Want['at'], spread: Want['spread']): Want => ({ at, point: names[0]!, instead: names.slice(1), spread })

function wantsOfInput([landmark, when]: Input, at: PositionName): Want[] {
  const position = when === 'here' ? at : when
  return (landmarkPoints[landmark] ?? [[landmark as PointName]]).map((names) => wantOf(names, position, 'here'))
}

/** The points that a measure takes from one view at one of its positions. */
function wantsOf(measure: Measure, at: At): Want[] {
  if (measure.planar) return measure.planar.inputs.flatMap((input) => wantsOfInput(input, at as PositionName))
  const other = others[measure.id]
  if (!other) return []
  const { spread } = other
  if (spread === 'address') return other.points.map((names) => wantOf(names, 'address', 'here'))
  return other.points.flatMap((names) => [
    wantOf(names, spread === 'throughout' ? 'swing' : at as PositionName, spread),
    ...(other.fromAddress ? [wantOf(names, 'address', 'here')] : []),
  ])
}

const takes = (measure: Measure, view: ViewName): boolean => (typeof measure.views === 'string' ? measure.views === 'both' : measure.views.includes(view))

/** Positions that a measure of time runs between. */
const timed: Readonly<Record<string, readonly PositionName[]>> = {
  'backswing-time': ['takeaway', 'top'], 'downswing-time': ['top', 'impact'], 'tempo-ratio': ['takeaway', 'top', 'impact'],
}

/**
 * What is to be placed, frame by frame in the order of the swing, for a choice on these clips.
 * @param hasCameras whether both clips' cameras are known, so that what takes both views together can be had
 */
export function planFor(choice: Choice, clips: readonly PlannedClip[], hasCameras = false): Plan {
  const steps: Step[] = []
  const unset: { clipId: string; view: ViewName; name: PositionName }[] = []
  for (const planned of clips) {
    const { view, id } = planned.clip
    if (view === 'other') continue
    const wanted = measures.flatMap((measure) => {
      if (choice.kind === 'measure' && measure.id !== choice.id) return []
      if (choice.kind === 'measure' && timed[measure.id]) {
        for (const name of timed[measure.id]!) if (planned.positions[name] === undefined) unset.push({ clipId: id, view, name })
        return []
      }
      if (!takes(measure, view) || (choice.kind === 'position' && measure.views === 'both' && !hasCameras)) return []
      const at = choice.kind === 'position' ? measure.at.filter((one) => one === choice.name) : measure.at
      const wants = at.flatMap((one) => wantsOf(measure, one))
      return measure.unit === 'mm' && measure.views !== 'both' && wants.length > 0 ? [...wants, ...standing.map((names) => wantOf(names, 'address', 'here'))] : wants
    })
    const asked = new Set<PositionName>()
    const seen = new Set<string>()
    for (const want of inOrder(wanted)) {
      const needed: readonly PositionName[] = want.at === 'swing' ? ['address', 'impact'] : [want.at]
      const missing = needed.filter((name) => planned.positions[name] === undefined)
      for (const name of missing) {
        // A measure read at ten positions is had at those that are set; asking for all ten would be no help.
        const isNeeded = choice.kind === 'position' || want.at === 'swing' || name === 'address' || !wanted.some((one) => one.at !== 'swing' && one.at !== 'address' && planned.positions[one.at] !== undefined)
        if (isNeeded && !asked.has(name)) unset.push({ clipId: id, view, name })
        asked.add(name)
      }
      if (missing.length > 0) continue
      for (const tick of ticksOf(want, planned)) {
        const key = `${tick} ${want.point}`
        if (seen.has(key)) continue
        seen.add(key)
        steps.push({ clipId: id, view, position: want.at, tick, point: want.point, instead: want.instead })
      }
    }
  }
  const rank = new Map(placingOrder.map((point, i) => [point, i]))
  const view = (clipId: string): number => clips.findIndex(({ clip }) => clip.id === clipId)
  steps.sort((a, b) => view(a.clipId) - view(b.clipId) || a.tick - b.tick || rank.get(a.point)! - rank.get(b.point)!)
  return { steps, unset }
}

const inOrder = (wants: readonly Want[]): Want[] => {
  const at = (want: Want): number => (want.at === 'swing' ? -1 : positionNames.indexOf(want.at))
  return wants.toSorted((a, b) => at(a) - at(b))
}

/** The frames that a point is wanted on. */
function ticksOf(want: Want, { clip, tied, positions }: PlannedClip): number[] {
  const clock = clockOf(clip, tied)
  const { ticks } = clip.frames
  if (want.at === 'swing') {
    const from = framesAbout(clip, clock, positions.address!)[0]!
    const to = framesAbout(clip, clock, positions.impact!).at(-1)!
    const chosen = [from]
    for (let i = from + 1; i <= to; i++) {
      const next = ticks[i + 1]
      const isLast = i === to
      if (isLast || (next !== undefined && clock(next) - clock(ticks[chosen.at(-1)!]!) > followEvery)) chosen.push(i)
    }
    return chosen.map((i) => ticks[i]!)
  }
  const about = framesAbout(clip, clock, positions[want.at]!)
  const frames = want.spread === 'around' ? [about[0]! - 1, ...about, about.at(-1)! + 1] : about
  return frames.flatMap((i) => ticks[i] ?? [])
}

/** The frame at an instant, or the two that it lies between. */
export function framesAbout(clip: MeasuredClip, clock: (tick: number) => number, t: number): number[] {
  const { ticks } = clip.frames
  const zero = clock(0)
  const perTick = clock(1) - zero
  const tick = (t - zero) / perTick
  const at = frameAt(clip.frames, tick + sameInstant / perTick)
  if (Math.abs(clock(ticks[at]!) - t) <= sameInstant || at === ticks.length - 1) return [at]
  return [at, at + 1]
}

/** Whether a step's point, or one that does as well, is placed. */
export const isPlaced = (step: Step, table: DigitisedTable): boolean =>
  [step.point, ...step.instead].some((point) => table[`${step.clipId}/${step.tick}/${point}`] !== undefined)
