import type { SwingView } from '../viewOf.ts'
import { leadOf, placeOf, trailOf, type PairName, type Place } from './pairs.ts'

/**
 * Each limb from pair to pair, and the length of its parts over the stature: Drillis & Contini 1966, after Winter, fig. 4.1;
 * thigh and shank from the heights of hip, knee and ankle there.
 */
const chains: readonly { readonly pairs: readonly [PairName, PairName, PairName]; readonly parts: readonly [number, number] }[] = [
  { pairs: ['Shoulder', 'Elbow', 'Wrist'], parts: [0.186, 0.146] },
  { pairs: ['Hip', 'Knee', 'Ankle'], parts: [0.245, 0.246] },
]
/** From the ankles to the shoulders at address, over the stature: common practice, no source. */
const standingShare = 0.72
/** So many times its length no limb looks: for its own build, for standing nearer the camera, and for the marks. */
const longest = 1.5
/** What a limb may look the other way round, for the exchange to be what is wrong, and how much worse any other is. */
const plausible = 1.15
const worse = 0.1

/**
 * The pairs that make a limb longer on one frame than a body has, and would not do so the other way round; those alone where
 * no other exchange would do as well.
 * @param height ankles to shoulders at address, pixels
 */
export function stretchedPairs(view: SwingView, t: number, height: number): PairName[] {
  const unit = height / standingShare
  return chains.flatMap(({ pairs, parts }) => {
    const places = pairs.map((pair): readonly [Place | null, Place | null] => [placeOf(view, leadOf(pair), t), placeOf(view, trailOf(pair), t)])
    if (!places[1]![0] || !places[1]![1]) return []
    /** The longest part over its length, with one pair exchanged (-1: none). */
    const most = (exchanged: number): number => {
      let found = 0
      parts.forEach((share, i) => {
        for (const side of [0, 1] as const) {
          const from = places[i]![exchanged === i ? 1 - side : side]
          const to = places[i + 1]![exchanged === i + 1 ? 1 - side : side]
          if (from && to) found = Math.max(found, Math.hypot(to[0] - from[0], to[1] - from[1]) / (share * unit))
        }
      })
      return found
    }
    if (most(-1) <= longest) return []
    const ways = pairs.map((pair, i) => ({ pair, most: places[i]![0] && places[i]![1] ? most(i) : Infinity })).toSorted((a, b) => a.most - b.most)
    return ways[0]!.most < plausible && ways[1]!.most > ways[0]!.most + worse ? [ways[0]!.pair] : []
  })
}
