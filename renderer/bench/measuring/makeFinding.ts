import type { Finding, FindingNumber, FindingPicture, FindingSource } from '../../../shared/contract/finding.ts'
import { positionNames, type PositionName } from '../../../shared/contract/pointsFile.ts'
import type { ImagePoint } from '../../../shared/geometry/vec.ts'
import type { Mark } from '../../../shared/markup/mark.ts'
import { pictureAngle } from '../../../shared/markup/pictureAngle.ts'
import { marksFor } from '../../../shared/plan/framing.ts'
import { numberWords, placeWords } from '../../../shared/plan/words.ts'
import { clickSigma } from '../../../shared/swing/clickError.ts'
import { levelOfClip, lineAngle } from '../../../shared/swing/markMeasures.ts'
import { inWords, measureTitle } from '../../../shared/swing/measureWords.ts'
import type { MeasureResult } from '../../../shared/swing/measureSwing.ts'
import { clampTick, frameAt, throughTie, tickOf } from '../../../shared/walkthrough/motion.ts'
import type { PaneId, StageClip } from '../../../shared/walkthrough/stage.ts'
import { tellDone, tellFault } from '../../ui/notices.ts'
import { markName } from '../markWords.ts'
import type { Measuring } from './measuring.ts'

type ToSave = Omit<Finding, 'createdAt'>

/** The measure that the pointer or the focus is on, or null. */
function measureAtHand(measuring: Measuring): MeasureResult | null {
  const row = document.querySelector<HTMLElement>('.evidence-row:focus') ?? document.querySelector<HTMLElement>('.evidence-row:hover')
  const { outcome } = measuring.state.getState()
  if (!row || outcome.kind !== 'measured') return null
  const { measure, at, view } = row.dataset
  return outcome.result.measures.find((one) => one.id === measure && one.at === at && (one.view ?? '') === (view ?? '')) ?? null
}

/** A position that a clip's frame is known to be, or lies next to. */
function positionAt(measuring: Measuring, pane: PaneId, clip: StageClip, tick: number): PositionName | null {
  const frame = frameAt(clip.frames, tick)
  const near = positionNames.flatMap((name) => {
    const at = measuring.positionTick(pane, name)
    return at === null ? [] : [{ name, off: Math.abs(frameAt(clip.frames, at) - frame) }]
  })
  return near.filter(({ off }) => off <= 1).toSorted((a, b) => a.off - b.off)[0]?.name ?? null
}

const numberOfMeasure = (row: MeasureResult): FindingNumber => ({ title: measureTitle(row.id), view: row.view, value: row.value, unit: row.unit, sigma: row.sigma, lo: row.lo, hi: row.hi, basis: inWords(row.basis).slice(0, 2000) })

const symmetric = (title: string, clip: StageClip, value: number, sigma: number, basis: string): FindingNumber =>
  ({ title, view: clip.view === 'other' ? null : clip.view, value, unit: 'deg', sigma, lo: value - sigma, hi: value + sigma, basis: basis.slice(0, 2000) })

/** What a mark comes to as a number: what it reads itself, an angle's degrees, a line's degrees from level; else null. */
export function numberOfMark(mark: Mark, clip: StageClip, measuring: Measuring): FindingNumber | null {
  const { clickError } = measuring.state.getState()
  const { sigmaPx } = clickSigma(clickError, clip)
  if (mark.reading && 'azimuth' in mark.reading) {
    const { azimuth, atLevel, basis } = mark.reading
    const { value, sigma } = atLevel ?? azimuth
    return symmetric(atLevel ? 'Shaft azimuth at level' : 'Shaft azimuth', clip, value, sigma, basis)
  }
  if (mark.shape === 'angle') {
    const angle = pictureAngle(mark.points as unknown as readonly [ImagePoint, ImagePoint, ImagePoint], sigmaPx)
    return angle && symmetric('Angle in the picture', clip, angle.degrees, angle.sigma, 'three points of a mark, as well as they are placed')
  }
  if (mark.shape !== 'line' && mark.shape !== 'segment' && mark.shape !== 'arrow') return null
  const line = lineAngle(mark.points as unknown as readonly [ImagePoint, ImagePoint], levelOfClip(measuring.table, clip, sigmaPx), sigmaPx)
  return line && symmetric(`${markName(mark)} from level`, clip, line.degrees, line.sigma, `both ends of a mark, as well as they are placed; ${line.basis}`)
}

/** The pane whose clip a measure was read in, the active one where both were. */
function paneOfView(measuring: Measuring, view: string | null): PaneId {
  const { bench } = measuring
  const has = (pane: PaneId): boolean => bench.clip(pane)?.view === view
  return view === null || has(bench.active) ? bench.active : has(0) ? 0 : has(1) ? 1 : bench.active
}

interface Seen {
  readonly pane: PaneId
  readonly tick: number
  readonly at: Finding['at']
  readonly number: FindingNumber | null
  readonly source: FindingSource
  readonly saw: string
  readonly mark: Mark | null
}

/** What is made a finding: the measure at hand, else the chosen mark, else the frame that is shown. */
function whatIsSeen(measuring: Measuring): Seen | null {
  const { bench } = measuring
  const row = measureAtHand(measuring)
  if (row) {
    const pane = paneOfView(measuring, row.view)
    const tick = (row.at === 'swing' ? null : measuring.positionTick(pane, row.at)) ?? measuring.tickShown(pane)
    return tick === null ? null : { pane, tick, at: row.at, number: numberOfMeasure(row), source: { kind: 'measure', id: row.id, view: row.view, at: row.at }, saw: '', mark: null }
  }
  const mark = bench.marks.selected
  const pane = mark ? (bench.marks.paneOf(mark) ?? bench.active) : bench.active
  const clip = bench.clip(pane)
  const now = measuring.tickShown(pane)
  if (!clip || now === null) return null
  if (!mark) return { pane, tick: now, at: positionAt(measuring, pane, clip, now), number: null, source: { kind: 'frame', tick: now }, saw: '', mark: null }
  const tick = mark.span && (now < mark.span.from || now > mark.span.to) ? tickOf(clip.frames, frameAt(clip.frames, mark.span.from)) : now
  return { pane, tick, at: positionAt(measuring, pane, clip, tick), number: numberOfMark(mark, clip, measuring), source: { kind: 'mark', id: mark.id }, saw: mark.text.includes('\u00b1') ? '' : mark.text.slice(0, 600), mark }
}

const sameSource = (a: FindingSource, b: FindingSource): boolean => JSON.stringify(a, Object.keys(a).toSorted()) === JSON.stringify(b, Object.keys(b).toSorted())

/**
 * The other view of the swing at the finding's instant, where both stand on the Bench: what its pane shows, or where the same
 * position or the tie puts it when the finding is of another frame than the one shown. Null where there is none, or none to tell.
 */
async function otherView(measuring: Measuring, seen: Seen, clip: StageClip): Promise<FindingPicture['beside']> {
  const { bench } = measuring
  const { stage } = bench.store
  const pane: PaneId = seen.pane === 0 ? 1 : 0
  const other = bench.clip(pane)
  if (stage.layout !== 'twin' || !other || other.id === clip.id || other.view === clip.view) return null
  const { tie } = stage
  const own = measuring.tickShown(seen.pane)
  const tick = own !== null && frameAt(clip.frames, own) === frameAt(clip.frames, seen.tick) ? measuring.tickShown(pane)
    : (seen.at !== null && seen.at !== 'swing' ? measuring.positionTick(pane, seen.at) : null)
      ?? (tie && clampTick(other.frames, throughTie(clip, other, seen.pane === 0 ? tie.left : tie.right, pane === 0 ? tie.left : tie.right, seen.tick)))
  if (tick === null) return null
  // What stands there may be another swing, or another student's.
  const [one, two] = await bench.desk.call('clip.some', { ids: [clip.id, other.id] })
  if (!one || !two || one.swingId === null || one.swingId !== two.swingId) return null
  const { zoom, centre, mirror } = stage.panes[pane]
  const at = tickOf(other.frames, frameAt(other.frames, tick))
  return { clipId: other.id, pane, shown: true, tick: at, zoom, centre, mirror, marks: marksFor(stage.marks, other.id, at) }
}

/**
 * Makes a finding of what is at hand, with a picture of its frame and the marks on it. What was made of the same measure or
 * mark before is brought up to date and keeps the coach's words and its place.
 */
export async function makeFinding(measuring: Measuring): Promise<void> {
  const { bench } = measuring
  const seen = whatIsSeen(measuring)
  const clip = seen && bench.clip(seen.pane)
  if (!seen || !clip) return measuring.refuse('There is nothing to make a finding of yet: wait until the clip shows.')
  const { stage } = bench.store
  const { zoom, centre, mirror } = stage.panes[seen.pane]
  const shown = marksFor(stage.marks, clip.id, seen.tick)
  const marks = seen.mark && !shown.some(({ id }) => id === seen.mark!.id) ? [...shown, { ...seen.mark, hidden: false }] : shown
  try {
    const clipIds = ([0, 1] as const).flatMap((pane) => bench.clip(pane)?.id ?? [])
    const known = await bench.desk.call('finding.list', { clipIds })
    const before = known.find((one) => one.clipId === clip.id && sameSource(one.source, seen.source))
    const { createdAt: _at, ...kept } = before ?? { createdAt: 0 }
    const other = await otherView(measuring, seen, clip)
    // A view that the coach has taken out of the picture stays out.
    const beside = other && { ...other, shown: before?.picture.beside?.shown ?? true }
    const finding: ToSave = {
      id: crypto.randomUUID(), swingId: bench.state.getState().swing?.id ?? null, shown: true, saw: seen.saw,
      // The first finding of a swing is its cause until the coach says otherwise.
      role: known.some(({ role }) => role === 'cause') ? 'follows' : 'cause', order: known.length,
      ...kept,
      clipId: clip.id, at: seen.at, number: seen.number, source: seen.source, picture: { tick: seen.tick, zoom, centre, mirror, marks: [...marks], beside },
    }
    await bench.desk.call('finding.save', finding)
    const words = [seen.number ? `${seen.number.title} ${numberWords(seen.number)}` : seen.mark ? markName(seen.mark) : 'This frame', placeWords(seen.at)].filter(Boolean).join(', ')
    tellDone(before ? `Finding brought up to date: ${words}.` : `Finding ${known.length + 1}: ${words}. Its words and its place are in the Lesson, under Findings.`)
  } catch (error) {
    tellFault(error)
  }
}
