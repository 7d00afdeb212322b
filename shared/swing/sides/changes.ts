import type { SwingView } from '../viewOf.ts'
import { leadOf, pairSigma, trailOf, type PairName } from './pairs.ts'

/** A stretch of a view's own clock, seconds, both ends belonging to it. */
export interface Stretch {
  readonly from: number
  readonly to: number
}

/** Frames farther apart than this are not followed, seconds. */
export const farthest = 0.05

type Place = readonly [x: number, y: number]
/** Where the two points of a pair are placed on one frame. */
interface Two {
  readonly t: number
  readonly a: Place
  readonly b: Place
}

/** The frames on which a view has both points of a pair: times and places. */
function framesOf(view: SwingView, pair: PairName): Two[] {
  const [lead, trail] = [view.tracks.get(leadOf(pair)), view.tracks.get(trailOf(pair))]
  if (!lead || !trail) return []
  const found: Two[] = []
  let j = 0
  for (let i = 0; i < lead.times.length; i++) {
    while (j < trail.times.length && trail.times[j]! < lead.times[i]!) j++
    if (trail.times[j] === lead.times[i]) found.push({ t: lead.times[i]!, a: [lead.x[i]!, lead.y[i]!], b: [trail.x[j]!, trail.y[j]!] })
  }
  return found
}

const apart = ([px, py]: Place, [qx, qy]: Place): number => Math.sqrt((px - qx) * (px - qx) + (py - qy) * (py - qy))
const onward = ([px, py]: Place, [qx, qy]: Place, share: number): Place => [qx + share * (qx - px), qy + share * (qy - py)]

/**
 * The stretches on which the two points of a pair have changed places against the frames about them: from one frame to
 * the next each jumps to where the other was going, as no limb does. The fewer frames are taken for the wrong ones.
 */
export function changedPlaces(view: SwingView, pair: PairName, height: number): Stretch[] {
  const frames = framesOf(view, pair)
  const sigma = pairSigma(view, pair)
  const isTurned: boolean[] = []
  let turned = false
  // The pair's two ways so far: as placed, or changed back.
  let last: Two | null = null
  let beforeLast: Two | null = null
  for (let i = 0; i < frames.length; i++) {
    const here = frames[i]!
    const gap = last ? here.t - last.t : Infinity
    const before = last && beforeLast ? last.t - beforeLast.t : Infinity
    // After a gap nothing says which way round they are: what is placed is believed.
    if (!last || gap > farthest) turned = false
    else {
      const isCarriedOn = beforeLast !== null && before <= farthest
      const a = isCarriedOn ? onward(beforeLast!.a, last.a, gap / before) : last.a
      const b = isCarriedOn ? onward(beforeLast!.b, last.b, gap / before) : last.b
      const asPlaced = apart(here.a, a) + apart(here.b, b)
      const changedBack = apart(here.b, a) + apart(here.a, b)
      const [stays, changes] = turned ? [changedBack, asPlaced] : [asPlaced, changedBack]
      const between = Math.min(apart(a, b), apart(last.a, last.b))
      if (between > 5 * sigma + 0.03 * height && stays > 3 * changes + 6 * sigma) turned = !turned
    }
    isTurned[i] = turned
    beforeLast = last
    last = turned ? { t: here.t, a: here.b, b: here.a } : here
  }
  return fewer(frames, isTurned)
}

/** Stretches between gaps are judged each for itself: the side with fewer frames is wrong. */
function fewer(frames: readonly { readonly t: number }[], isTurned: readonly boolean[]): Stretch[] {
  const found: Stretch[] = []
  for (let start = 0; start < frames.length;) {
    let end = start + 1
    while (end < frames.length && frames[end]!.t - frames[end - 1]!.t <= farthest) end++
    const turned = isTurned.slice(start, end).filter(Boolean).length
    const wrong = turned <= (end - start) / 2
    for (let i = start; i < end; i++) {
      if (turned === 0 || isTurned[i] !== wrong) continue
      const last = found.at(-1)
      if (last && i > start && isTurned[i - 1] === wrong && last.to === frames[i - 1]!.t) found[found.length - 1] = { from: last.from, to: frames[i]!.t }
      else found.push({ from: frames[i]!.t, to: frames[i]!.t })
    }
    start = end
  }
  return found
}
