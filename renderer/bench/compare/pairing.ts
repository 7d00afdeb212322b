import { pictureHand, type Clip } from '../../../shared/contract/clip.ts'
import type { PositionName } from '../../../shared/contract/pointsFile.ts'
import { fitReference, type Anchor, type FitSide, type Sizing } from '../../../shared/compare/fit.ts'
import { nearestShared, positionTicks, tieByPositions, type PositionTicks } from '../../../shared/compare/tie.ts'
import { trackOf } from '../../../shared/compare/track.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { levelOfClip } from '../../../shared/swing/markMeasures.ts'
import { defaultSigmaPx, positionNames } from '../../../shared/contract/pointsFile.ts'
import type { DigitisedTable } from '../../../shared/contract/digitising.ts'
import { ticksPerRealSecond, tickOf } from '../../../shared/walkthrough/motion.ts'
import { toReference, type PhaseTie, type TiePair } from '../../../shared/walkthrough/phaseTie.ts'
import { trackAt, type PointTrack, type Similarity } from '../../../shared/walkthrough/reference.ts'
import type { PaneId, StageClip } from '../../../shared/walkthrough/stage.ts'
import type { Measuring } from '../measuring/measuring.ts'
import { levelUnmarked } from '../../../shared/camera/level.ts'
import type { Beside, PaneComparison } from './compareState.ts'

/** Points a tenth of a second apart may be joined to read one between them. */
const reachS = 0.1

/** Positions of the clip in a pane, as measuring knows them. */
export function ownTicks(measuring: Measuring, pane: PaneId, clip: StageClip): PositionTicks {
  const found = Object.fromEntries(positionNames.flatMap((name) => {
    const t = measuring.positionTime(pane, name)
    return t === null ? [] : [[name, { t }] as const]
  }))
  return positionTicks(clip, measuring.table, found, measuring.tickAtTime(pane, 0))
}

/** Positions of one of the reference's clips. */
export function referenceTicks({ measured, swing, clips, table }: Beside, clip: Clip): PositionTicks {
  if (measured?.kind !== 'measured' || !measured.file.views.some(({ view }) => view === clip.view)) return positionTicks(clip, table, null, 0)
  const { file, result } = measured
  const found = clip.view === 'other' ? null : result.viewPositions?.[clip.view] ?? result.positions
  const isOneClock = file.sameSwing && file.views.length === 2 && swing?.tie
  const zero = isOneClock ? (clip.id === clips[0]!.id ? swing.tie!.left : swing.tie!.right) : clip.frames.ticks[0]!
  return positionTicks(clip, table, found, zero)
}

export interface Paired extends PaneComparison {
  readonly tie: PhaseTie
  readonly tiedBy: 'positions' | 'time'
  readonly transform: Similarity
  readonly tracks: { readonly own: PointTrack | null; readonly reference: PointTrack | null }
  readonly own: PositionTicks
  readonly reference: PositionTicks
}

export interface PairingWish {
  readonly tieBy: 'positions' | 'time'
  /** The instants from which real time runs, where the coach has chosen them. */
  readonly pair: TiePair | null
  readonly sizeBy: Sizing
  readonly alignOn: Anchor
}

/** Ties one clip of the reference to a pane and lays it over the student, as far as what is placed on both allows. */
export function pairUp(measuring: Measuring, pane: PaneId, own: StageClip, beside: Beside, clip: Clip, { tieBy, pair, sizeBy, alignOn }: PairingWish): Paired {
  const notes: string[] = []
  const [a, b] = [ownTicks(measuring, pane, own), referenceTicks(beside, clip)]
  const shared = tieByPositions(a, b)
  const fallback = (): TiePair => {
    const name = nearestShared(a, b, a.impact ?? measuring.bench.store.stage.panes[pane].tick)
    return name ? [a[name]!, b[name]!] : [own.frames.ticks[0]!, clip.frames.ticks[0]!]
  }
  let tie: PhaseTie = [pair ?? fallback()]
  let names: readonly PositionName[] = []
  if (tieBy === 'positions') {
    if (shared && shared.names.length > 1) {
      tie = shared.tie
      names = shared.names
      if (shared.dropped.length > 0) notes.push(`Not tied at ${shared.dropped.map(positionTitle).join(', ')}: out of order on one of the clips.`)
    } else notes.push(lackOfPositions(a, b, shared?.names ?? []))
  }
  const instant = instantOf(a, b, own, clip, tie, measuring.tickShown(pane) ?? own.frames.ticks[0]!)
  const tracks = { own: trackOf(measuring.table, own.id), reference: trackOf(beside.table, clip.id) }
  const { outcome } = measuring.state.getState()
  const ownSwing = outcome.kind === 'measured' && outcome.clips.some(({ id }) => id === own.id) ? outcome.swing : null
  const otherSwing = beside.measured?.kind === 'measured' ? beside.measured.swing : null
  const side = (one: StageClip, table: DigitisedTable, track: PointTrack | null, tick: number, swing: typeof ownSwing): FitSide => {
    const level = levelOfClip(table, one, defaultSigmaPx)
    return {
      width: one.width, height: one.height, handedness: pictureHand(one),
      points: track ? trackAt(track, tick, reachS * ticksPerRealSecond(one)) : {},
      roll: level === levelUnmarked ? null : level.roll,
      statureM: swing?.file.statureM ?? null,
      metresPerPx: one.view === 'other' ? null : swing?.scales.get(one.view)?.metresPerPx ?? null,
    }
  }
  const fit = fitReference(side(own, measuring.table, tracks.own, instant[0], ownSwing), side(clip, beside.table, tracks.reference, instant[1], otherSwing), { sizeBy, alignOn })
  return { tie, tiedBy: names.length > 0 ? 'positions' : 'time', names, transform: fit.transform, fit, tracks, notes: [...notes, ...fit.lacking], own: a, reference: b }
}

function lackOfPositions(own: PositionTicks, reference: PositionTicks, shared: readonly PositionName[]): string {
  const by = shared.length === 1 ? `by real time from ${positionTitle(shared[0]!)}, the only position both have` : 'by real time from the first frames; drag the reference with Alt held to where it belongs'
  const lacking = Object.keys(reference).length === 0 ? 'The reference has no positions' : Object.keys(own).length === 0 ? "The student's clip has no positions" : 'The two share too few positions'
  return `${lacking}: tied ${by}.`
}

/** The instants at which one is laid over the other: address, else the first position both have, else what shows now, on frames with points where they are near. */
function instantOf(a: PositionTicks, b: PositionTicks, own: StageClip, clip: Clip, tie: PhaseTie, shown: number): TiePair {
  const name = positionNames.find((one) => a[one] !== undefined && b[one] !== undefined)
  if (name) return [a[name]!, b[name]!]
  const tick = a.address ?? tickOf(own.frames, 0)
  return [a.address === undefined ? shown : tick, b.address ?? toReference(tie, own, clip, a.address === undefined ? shown : tick)]
}
