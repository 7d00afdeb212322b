import { frameTimeSigma } from '../camera/captureRate.ts'
import type { Clip, Handedness, View } from '../contract/clip.ts'
import { heardId, type ClickError, type Digitised, type DigitisedTable, type GuideRecord, type LandmarkRecord, type PositionRecord } from '../contract/digitising.ts'
import { positionNames, type FilePositions, type PointsFile, type PointsView, type PositionName, type ViewName } from '../contract/pointsFile.ts'
import type { RepeatabilityFigure } from '../contract/repeatability.ts'
import { frameAt, realSeconds, type ClipTime, type Tie } from '../walkthrough/motion.ts'
import { clickSigma } from './clickError.ts'
import { digitisedFault, positionTitle, type ClipFacts } from './digitised.ts'
import { checkTie, type TieCheck } from './tieCheck.ts'

/** A clip as measuring needs it. */
export interface MeasuredClip extends ClipTime, ClipFacts {
  readonly view: View
  readonly handedness: Handedness
  readonly mirrored?: Clip['mirrored']
}

export interface SwingRecords {
  /** One clip, or two of different views. */
  readonly clips: readonly MeasuredClip[]
  /** Whether two clips show one swing. */
  readonly oneSwing: boolean
  /** The tied instants of the first clip and the second. */
  readonly tie: Tie | null
  readonly statureM: number | null
  readonly club: { readonly kind: string; readonly lengthM: number | null } | null
  /** How far the student's swing repeats; left out or null where nobody has said. */
  readonly repeatability?: RepeatabilityFigure | null
  readonly records: DigitisedTable
  readonly clickError: ClickError
}

export type Assembled =
  | {
    readonly ok: true
    readonly file: PointsFile
    /** What the coach should know of it, in sentences. */
    readonly notes: readonly string[]
    /** The positions that lie between two frames and were left to the points. */
    readonly left: readonly { readonly view: ViewName; readonly name: PositionName; readonly t: number; readonly sigma: number }[]
    /** What the positions of both clips say of their tie; null where they share none, or are not tied as one swing. */
    readonly tie: TieCheck | null
  }
  | { readonly ok: false; readonly reasons: readonly string[]; readonly tie?: TieCheck | null }

/** Lines whose being level defines a position. */
export const levelLines: Partial<Record<PositionName, readonly [readonly string[], readonly string[]]>> = {
  'shaft-level-back': [['butt', 'hands'], ['clubhead', 'shaftEnd']],
  'lead-arm-level-back': [['leadShoulder'], ['leadWrist']],
  'lead-arm-level-down': [['leadShoulder'], ['leadWrist']],
  'shaft-level-down': [['butt', 'hands'], ['clubhead', 'shaftEnd']],
  'shaft-level-through': [['butt', 'hands'], ['clubhead', 'shaftEnd']],
}

/** Seconds of the world from a frame's beginning to the next one's; at the end, of the frame before. */
export function intervalAt(clip: ClipTime, tick: number): number {
  const { ticks, endTick } = clip.frames
  const i = frameAt(clip.frames, tick)
  return realSeconds(clip, ticks[i]!, ticks[i + 1] ?? endTick)
}

/**
 * Seconds of the swing's clock at a tick. Tied clips of one swing share the clock whose zero is the tied instant; any other
 * clip counts from its first frame.
 */
export function clockOf(clip: ClipTime, tied: number | null): (tick: number) => number {
  const zero = tied ?? clip.frames.ticks[0]!
  return (tick) => realSeconds(clip, zero, tick)
}

const isMeasurable = (clip: MeasuredClip): clip is MeasuredClip & { view: ViewName } => clip.view !== 'other'

/**
 * Puts what was placed on a swing's clips together as a points file: real time by capture rate, one clock where the clips
 * are tied, the coach's own error for what the coach clicked. Never throws; what stands in the way is told in sentences.
 */
export function assembleSwing(swing: SwingRecords): Assembled {
  const byClip = Map.groupBy(Object.values(swing.records), ({ clipId }) => clipId)
  const recordsOf = (clip: MeasuredClip): readonly Digitised[] => byClip.get(clip.id) ?? []
  const reasons = swing.clips.flatMap((clip) => clipReasons(clip, recordsOf(clip)))
  const views = swing.clips.filter(isMeasurable)
  const [one, two] = views
  if (swing.clips.length === 0) reasons.push('There is no clip to measure.')
  else if (views.length === 0 && reasons.length === 0) reasons.push(otherView)
  if (one && two && one.view === two.view) reasons.push(`Both clips are ${one.view === 'face-on' ? 'face-on' : 'down the line'}: a swing is measured from one of each.`)
  if (one && two && one.handedness !== two.handedness) reasons.push(`One clip says ${one.handedness}-handed, the other ${two.handedness}-handed: put it right in Arrivals.`)
  const placed = views.filter((clip) => recordsOf(clip).some((record) => record.kind === 'landmark' || record.kind === 'position'))
  if (reasons.length === 0 && placed.length === 0) reasons.push('Nothing is placed yet: choose what to measure and place its points.')
  if (reasons.length > 0) return { ok: false, reasons }

  const notes: string[] = []
  const left: { view: ViewName; name: PositionName; t: number; sigma: number }[] = []
  const both = placed.length === 2
  const sameSwing = !both || (swing.oneSwing && swing.tie !== null)
  if (both && swing.oneSwing && !swing.tie) notes.push('The two clips are not tied, so each is measured on a clock of its own; tie them at an instant to use both together.')
  const parts = placed.map((clip) => {
    const tied = !swing.tie || !both || !sameSwing ? null : clip === swing.clips[0] ? swing.tie.left : swing.tie.right
    return { clip, clock: clockOf(clip, tied) }
  })
  const positions = parts.map((part) => positionsOf(part, recordsOf(part.clip), left))
  const check = both && sameSwing ? checkTie(Object.fromEntries(positions[0]!), Object.fromEntries(positions[1]!), tieError(swing).sigmaS) : null
  // One position that is apart is told by itself; of several, what they have in common is.
  const isTold = check?.warning && check.positions.length > 1
  if (isTold) notes.push(check.warning.replaceAll('+-', '\u00b1'))
  if (check?.isRateOff) for (const name of check.positions) positions[1]!.delete(name)
  if (both && sameSwing) settle(positions, parts.map(({ clip }) => clip), isTold ? [] : notes)
  const file: PointsFile = {
    format: 'crossbearing-points',
    version: 1,
    handedness: placed[0]!.handedness,
    ...(swing.statureM !== null && { statureM: swing.statureM }),
    ...(swing.club && { club: { kind: swing.club.kind, ...(swing.club.lengthM !== null && { lengthM: swing.club.lengthM }) } }),
    sameSwing,
    ...(!sameSwing && swing.repeatability && { repeatabilityM: swing.repeatability.m, repeatabilityFrom: swing.repeatability.from }),
    syncSigmaS: check?.syncSigmaS ?? (both && sameSwing ? tieError(swing).sigmaS : 0),
    views: parts.map((part, i) => viewOf(part, recordsOf(part.clip), swing.clickError, positions[i]!)),
  }
  const early = firstOutOfOrder(file)
  return early ? { ok: false, reasons: [early], tie: check } : { ok: true, file, notes, left, tie: check }
}

/** How well two tied clips are known to be together: by the sound of impact where the tie still stands there, else by eye, to their frames. */
export function tieError(swing: Pick<SwingRecords, 'clips' | 'tie' | 'records'>): { readonly sigmaS: number; readonly isHeard: boolean } {
  const heard = heardSigma(swing)
  return { sigmaS: heard ?? Math.hypot(...swing.clips.map((clip) => frameTimeSigma(1 / clip.captureRate))), isHeard: heard !== null }
}

function heardSigma({ clips, tie, records }: Pick<SwingRecords, 'clips' | 'tie' | 'records'>): number | null {
  const heard = clips.map((clip) => records[heardId(clip.id)])
  const [left, right] = heard
  if (!tie || left?.kind !== 'heard' || right?.kind !== 'heard') return null
  const off = realSeconds(clips[0]!, left.at, tie.left) - realSeconds(clips[1]!, right.at, tie.right)
  return Math.abs(off) < 1e-5 ? Math.hypot(left.sigmaS, right.sigmaS) : null
}

const otherView = 'This clip is neither face-on nor down the line, so it is not known what its plane is: say in Arrivals which it is.'

function clipReasons(clip: MeasuredClip, records: readonly Digitised[]): string[] {
  if (records.length === 0) return []
  if (clip.view === 'other') return [otherView]
  if (clip.frames.ticks.length < 3) return [`The ${clip.view} clip has only ${clip.frames.ticks.length} frames, too few to measure.`]
  const fault = digitisedFault(records, clip)
  return fault ? [fault] : []
}

interface Part {
  readonly clip: MeasuredClip & { view: ViewName }
  readonly clock: (tick: number) => number
}

function positionsOf({ clip, clock }: Part, records: readonly Digitised[], left: { view: ViewName; name: PositionName; t: number; sigma: number }[]): Map<PositionName, { t: number; sigma: number }> {
  const found = new Map<PositionName, { t: number; sigma: number }>()
  for (const record of records) {
    if (record.kind !== 'position') continue
    const interval = intervalAt(clip, record.tick)
    const sigma = record.sigmaS ?? frameTimeSigma(interval)
    const t = clock(record.tick) + (record.falls === 'between' ? interval / 2 : 0)
    if (record.falls === 'between' && canInterpolate(record, records, clip)) left.push({ view: clip.view, name: record.name, t, sigma })
    else found.set(record.name, { t, sigma })
  }
  return found
}

/** Whether the line that defines the position is placed on both frames that it falls between. */
function canInterpolate(record: PositionRecord, records: readonly Digitised[], clip: MeasuredClip): boolean {
  const line = levelLines[record.name]
  if (!line) return false
  const next = clip.frames.ticks[frameAt(clip.frames, record.tick) + 1]
  return [record.tick, next].every((tick) =>
    line.every((names) => records.some((one) => one.kind === 'landmark' && one.tick === tick && names.includes(one.point))))
}

/** Of a position that was set on both tied clips, the better known one stands. */
function settle(positions: readonly Map<PositionName, { t: number; sigma: number }>[], clips: readonly MeasuredClip[], notes: string[]): void {
  const [one, two] = positions as [Map<PositionName, { t: number; sigma: number }>, Map<PositionName, { t: number; sigma: number }>]
  for (const name of positionNames) {
    const [a, b] = [one.get(name), two.get(name)]
    if (!a || !b) continue
    const apart = Math.abs(a.t - b.t)
    // A frame either way is what setting it by eye on each clip allows.
    const usual = Math.hypot(...clips.map((clip) => 1 / clip.captureRate))
    if (apart > Math.max(usual, 3 * Math.hypot(a.sigma, b.sigma)))
      notes.push(`${positionTitle(name)[0]!.toUpperCase()}${positionTitle(name).slice(1)} is set ${(apart * 1000).toFixed(0)} ms apart on the two tied clips: the tie or one of them is off.`)
    ;(b.sigma < a.sigma ? one : two).delete(name)
  }
}

function viewOf({ clip, clock }: Part, records: readonly Digitised[], clickError: ClickError, positions: Map<PositionName, { t: number; sigma: number }>): PointsView {
  const click = clickSigma(clickError, clip).sigmaPx
  const byTick = Map.groupBy(records.filter((record) => record.kind === 'landmark'), ({ tick }) => tick)
  const guides = Object.fromEntries(records.flatMap((record) => (record.kind === 'guide' ? [[record.name, record] as const] : []))) as Partial<Record<GuideRecord['name'], GuideRecord>>
  const own: FilePositions = {}
  for (const name of positionNames) {
    const p = positions.get(name)
    if (p) own[name] = p
  }
  const ends = (guide: GuideRecord): [[number, number], [number, number]] => [[...guide.ends[0]] as [number, number], [...guide.ends[1]] as [number, number]]
  const { plumb, horizon, targetLine, stanceLine, ball, known } = guides
  const mat = records.find((record) => record.kind === 'mat')
  const without = records.flatMap((record) => (record.kind === 'left-out' ? [record.source] : []))
  return {
    view: clip.view,
    ...(clip.mirrored && { mirrored: true }),
    widthPx: clip.width,
    heightPx: clip.height,
    captureRate: clip.captureRate,
    sigmaPx: click,
    frames: framesFor(clip, [...byTick.keys()]).map((tick) => ({
      t: clock(tick),
      points: Object.fromEntries((byTick.get(tick) ?? []).map((record) => [record.point, [record.at[0], record.at[1], sigmaOf(record, click)] as [number, number, number]])),
    })),
    ...(ball && { ballDiameterPx: Math.hypot(ball.ends[0][0] - ball.ends[1][0], ball.ends[0][1] - ball.ends[1][1]) }),
    ...(known && known.metres !== null && { knownLength: { ends: ends(known), lengthM: known.metres } }),
    guides: {
      ...(plumb && { plumb: ends(plumb) }), ...(horizon && { horizon: ends(horizon) }),
      ...(targetLine && { targetLine: ends(targetLine) }), ...(stanceLine && { stanceLine: ends(stanceLine) }),
      ...(mat && { mat: { corners: mat.corners.map(([x, y]) => [x, y]) as [[number, number], [number, number], [number, number], [number, number]], lengthM: mat.lengthM, widthM: mat.widthM } }),
    },
    ...(without.length > 0 && { scaleWithout: without }),
    positions: own,
  }
}

/** Placed several times, the mean is surer by the root of how often. */
const sigmaOf = (record: LandmarkRecord, click: number): number => record.sigmaPx ?? click / Math.sqrt(record.placed)

/** The ticks of frames with points on them, and as many beside them as make three. */
function framesFor(clip: ClipTime, ticks: readonly number[]): number[] {
  const chosen = new Set(ticks)
  for (const tick of clip.frames.ticks) {
    if (chosen.size >= 3) break
    chosen.add(tick)
  }
  return [...chosen].toSorted((a, b) => a - b)
}

/** Positions of tied clips must be in order together. */
function firstOutOfOrder(file: PointsFile): string | null {
  if (!file.sameSwing) return null
  let before: { name: PositionName; t: number } | null = null
  for (const name of positionNames) {
    const t = file.views.map((view) => view.positions?.[name]?.t).find((one) => one !== undefined)
    if (t === undefined) continue
    if (before && t <= before.t) return `Positions are out of order across the tied clips: ${positionTitle(name)} must come after ${positionTitle(before.name)}. Move one of them, or the tie.`
    before = { name, t }
  }
  return null
}

/** The file with what the points could not find put at the middle between its two frames. */
export function withFallbacks(file: PointsFile, left: readonly { readonly view: ViewName; readonly name: PositionName; readonly t: number; readonly sigma: number }[]): PointsFile {
  if (left.length === 0) return file
  return {
    ...file,
    views: file.views.map((view) => ({
      ...view,
      positions: { ...view.positions, ...Object.fromEntries(left.filter((one) => one.view === view.view).map(({ name, t, sigma }) => [name, { t, sigma }])) },
    })),
  }
}
