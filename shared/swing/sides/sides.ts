import type { Handedness } from '../../contract/clip.ts'
import { positionNames, type PointName, type PositionName, type ViewName } from '../../contract/pointsFile.ts'
import type { Swing } from '../reading.ts'
import type { SwingView } from '../viewOf.ts'
import { changedPlaces, type Stretch } from './changes.ts'
import { stretchedPairs } from './limbs.ts'
import { leadOf, midway, pairNames, pairSigma, placeOf, standing, trailOf, type PairName, type Place } from './pairs.ts'

/** Points that stand on the wrong side, as far as that is sure. */
export interface SidesFault {
  readonly view: ViewName
  /**
   * hand: the view shows a player of the other hand. pairs: lead and trail of these pairs are placed the wrong way round, at
   * these positions (at all at which it can be told: `isThroughout`); `stretches` of the view's own clock where they change
   * places between frames.
   */
  readonly kind: 'hand' | 'pairs'
  readonly pairs: readonly PairName[]
  readonly at: readonly PositionName[]
  readonly isThroughout: boolean
  readonly stretches: readonly Stretch[]
}

/** Times a standard deviation by which a thing has to lie the wrong way to be sure. */
const sure = 4
/** And by how much of the student's height from ankles to shoulders: at address, and where the body turns. */
const clear = 0.02
const clearTurning = 0.06
/** How far the club or the hands lie to one side, in the same height, to tell a hand by. */
const sideways = 0.12

const clubPoints: readonly PointName[] = ['clubhead', 'shaftEnd', 'ball']

/** One view with its own times of the positions. */
interface Look {
  readonly view: SwingView
  readonly at: Partial<Record<PositionName, number>>
  /** Ankles to shoulders at address, pixels. */
  readonly height: number
}

/** What is sure of the sides of a swing's points. */
export interface Sides {
  readonly faults: readonly SidesFault[]
  /** The hand that each view shows by its club, whichever side the body's points carry; null where it is not seen. */
  readonly hands: Readonly<Partial<Record<ViewName, Handedness | null>>>
}

/** What lies the wrong way round on a swing that was made ready, a left-hander's mirrored. */
export function sidesOf(swing: Swing): Sides {
  let sides = told.get(swing)
  if (!sides) told.set(swing, (sides = findSides(swing)))
  return sides
}

const told = new WeakMap<Swing, Sides>()

function findSides(swing: Swing): Sides {
  const own = swing.file.handedness
  const hands: Partial<Record<ViewName, Handedness | null>> = {}
  const faults = swing.views.flatMap((view) => {
    const known = swing.positions.get(view.name) ?? {}
    const at: Partial<Record<PositionName, number>> = {}
    for (const name of positionNames) if (known[name]) at[name] = known[name].t.value + view.clock.value
    const look: Look = { view, at, height: standing(view, at.address ?? view.times[0]!) }
    const side = view.name === 'face-on' ? backswingSide(look) : ballSide(look)
    hands[view.name] = side && (side === 'own' ? own : otherHand(own))
    // Where the hand is wrong, so are all pairs, or none: one thing is to be put right.
    return side === 'other' ? [{ view: view.name, kind: 'hand', pairs: [], at: [], isThroughout: false, stretches: [] } satisfies SidesFault] : pairFaults(look)
  })
  return { faults, hands }
}

export const otherHand = (hand: Handedness): Handedness => (hand === 'right' ? 'left' : 'right')

interface Wrong {
  readonly pair: PairName
  readonly at: readonly PositionName[]
  readonly isThroughout: boolean
}

function pairFaults(look: Look): SidesFault[] {
  const { view } = look
  const long = new Map(positionNames.flatMap((name) => (look.at[name] === undefined ? [] : [[name, stretchedPairs(view, look.at[name], look.height)] as const])))
  const wrong = pairNames.flatMap((pair): Wrong[] => {
    const { at, seen } = wrongAt(look, pair)
    const isThroughout = at.length > 1 && at.length === seen
    const all = isThroughout ? at : positionNames.filter((name) => at.includes(name) || long.get(name)?.includes(pair))
    return all.length > 0 ? [{ pair, at: all, isThroughout }] : []
  })
  const found: SidesFault[] = []
  // Pairs that are wrong at the same positions go in one sentence.
  for (const list of Map.groupBy(wrong, ({ at, isThroughout }) => (isThroughout ? 'throughout' : at.join())).values())
    found.push({ view: view.name, kind: 'pairs', pairs: list.map(({ pair }) => pair), at: list[0]!.at, isThroughout: list[0]!.isThroughout, stretches: [] })
  for (const pair of pairNames) {
    const own = wrong.find((one) => one.pair === pair)?.at ?? []
    const isTold = ({ from, to }: Stretch): boolean => own.some((name) => look.at[name]! >= from - 1e-6 && look.at[name]! <= to + 1e-6)
    const stretches = changedPlaces(view, pair, look.height).filter((stretch) => !isTold(stretch))
    if (stretches.length > 0) found.push({ view: view.name, kind: 'pairs', pairs: [pair], at: [], isThroughout: false, stretches })
  }
  return found
}

/** The positions at which a pair surely lies the wrong way round, and at how many it can be told. */
function wrongAt(look: Look, pair: PairName): { readonly at: PositionName[]; readonly seen: number } {
  const { view, height } = look
  const sigma = pairSigma(view, pair)
  let seen = 0
  const at = positionNames.filter((name) => {
    const t = look.at[name]
    if (t === undefined) return false
    const lead = placeOf(view, leadOf(pair), t)
    const trail = placeOf(view, trailOf(pair), t)
    if (!lead || !trail) return false
    const along = orderAt(look, pair, name, t, lead, trail)
    if (along === null) return false
    seen++
    return along < -sure * sigma - (name === 'address' ? clear : clearTurning) * height
  })
  return { at, seen }
}

/**
 * By how much, pixels, the lead point is where it should be of the trail one, where bodies leave no choice; null where they do.
 * Face-on at address and impact it is nearer the target. Down the line the lead foot is the farther one, which stands higher
 * in the picture, and at the top the lead shoulder and hip are the nearer ones to the ball. The lead wrist is the nearer
 * one to the butt.
 */
function orderAt(look: Look, pair: PairName, name: PositionName, t: number, lead: Place, trail: Place): number | null {
  if (pair === 'Wrist') return name === 'address' ? alongShaft(look, t, lead, trail) : null
  if (look.view.name === 'face-on') return name === 'address' || name === 'impact' ? lead[0] - trail[0] : null
  if (pair === 'Ankle') return name === 'address' ? lead[1] - trail[1] : null
  if (pair === 'Shoulder') return name === 'top' || name === 'lead-arm-level-back' ? lead[0] - trail[0] : null
  return null
}

function alongShaft({ view, height }: Look, t: number, lead: Place, trail: Place): number | null {
  const tail = placeOf(view, 'butt', t) ?? placeOf(view, 'hands', t)
  const tip = placeOf(view, 'clubhead', t) ?? placeOf(view, 'shaftEnd', t)
  if (!tail || !tip) return null
  const [x, y] = [tip[0] - tail[0], tip[1] - tail[1]]
  const length = Math.hypot(x, y)
  return length > 0.25 * height ? ((trail[0] - lead[0]) * x + (trail[1] - lead[1]) * y) / length : null
}

/** Down the line: on which side of the feet the club, else the hands, are at address. */
function ballSide({ view, at, height }: Look): 'own' | 'other' | null {
  const t = at.address
  if (t === undefined) return null
  const both = (pair: PairName) => midway(placeOf(view, leadOf(pair), t), placeOf(view, trailOf(pair), t))
  const feet = both('Ankle') ?? both('Knee') ?? both('Hip') ?? placeOf(view, 'spineBase', t)
  const club = clubPoints.map((point) => placeOf(view, point, t)).find((p) => p !== null) ?? placeOf(view, 'hands', t) ?? both('Wrist')
  return feet && club ? sideOf(club[0] - feet[0], height) : null
}

/** Face-on: to which side the hands go back. */
function backswingSide({ view, at, height }: Look): 'own' | 'other' | null {
  if (at.address === undefined) return null
  const hands = (t: number): Place | null => placeOf(view, 'hands', t) ?? midway(placeOf(view, 'leadWrist', t), placeOf(view, 'trailWrist', t)) ?? placeOf(view, 'butt', t)
  const home = hands(at.address)
  if (!home) return null
  for (const name of ['lead-arm-level-back', 'top', 'shaft-level-back'] as const) {
    const there = at[name] === undefined ? null : hands(at[name])
    if (there) return sideOf(home[0] - there[0], height)
  }
  return null
}

const sideOf = (by: number, height: number): 'own' | 'other' | null => (Math.abs(by) < sideways * height ? null : by > 0 ? 'own' : 'other')
