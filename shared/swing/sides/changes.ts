import type { SwingView } from '../viewOf.ts'
import { leadOf, pairSigma, trailOf, type PairName } from './pairs.ts'

/** A stretch of a view's own clock, seconds, both ends belonging to it. */
export interface Stretch {
  readonly from: number
  readonly to: number
}

/** Frames farther apart than this are not followed, seconds. */
export const farthest = 0.05

/** The frames on which a view has both points of a pair: times and places. */
function framesOf(view: SwingView, pair: PairName): { t: number; a: readonly [number, number]; b: readonly [number, number] }[] {
  const [lead, trail] = [view.tracks.get(leadOf(pair)), view.tracks.get(trailOf(pair))]
  if (!lead || !trail) return []
  const found: { t: number; a: readonly [number, number]; b: readonly [number, number] }[] = []
  let j = 0
  for (let i = 0; i < lead.times.length; i++) {
    while (j < trail.times.length && trail.times[j]! < lead.times[i]!) j++
    if (trail.times[j] === lead.times[i]) found.push({ t: lead.times[i]!, a: [lead.x[i]!, lead.y[i]!], b: [trail.x[j]!, trail.y[j]!] })
  }
  return found
}

type Two = { readonly a: readonly [number, number]; readonly b: readonly [number, number] }
const apart = (p: readonly [number, number], q: readonly [number, number]): number => Math.hypot(p[0] - q[0], p[1] - q[1])
const onward = (p: readonly [number, number], q: readonly [number, number], share: number): readonly [number, number] => [q[0] + share * (q[0] - p[0]), q[1] + share * (q[1] - p[1])]

/**
 * The stretches on which the two points of a pair have changed places against the frames about them: from one frame to
 * the next each jumps to where the other was going, as no limb does. The fewer frames are taken for the wrong ones.
 */
export function changedPlaces(view: SwingView, pair: PairName, height: number): Stretch[] {
  const frames = framesOf(view, pair)
  const sigma = pairSigma(view, pair)
  const isTurned: boolean[] = []
  let turned = false
  const own = (i: number): Two => (isTurned[i] ? { a: frames[i]!.b, b: frames[i]!.a } : frames[i]!)
  for (let i = 0; i < frames.length; i++) {
    const here = frames[i]!
    const gap = i > 0 ? here.t - frames[i - 1]!.t : Infinity
    const before = i > 1 ? frames[i - 1]!.t - frames[i - 2]!.t : Infinity
    // After a gap nothing says which way round they are: what is placed is believed.
    if (gap > farthest) turned = false
    else {
      const last = own(i - 1)
      const two: Two = before <= farthest ? { a: onward(own(i - 2).a, last.a, gap / before), b: onward(own(i - 2).b, last.b, gap / before) } : last
      const [now, other] = turned ? [{ a: here.b, b: here.a }, here] : [here, { a: here.b, b: here.a }]
      const stays = apart(now.a, two.a) + apart(now.b, two.b)
      const changes = apart(other.a, two.a) + apart(other.b, two.b)
      const between = Math.min(apart(two.a, two.b), apart(last.a, last.b))
      if (between > 5 * sigma + 0.03 * height && stays > 3 * changes + 6 * sigma) turned = !turned
    }
    isTurned[i] = turned
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
