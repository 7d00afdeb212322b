import type { PointName, ScaleSource } from '../contract/pointsFile.ts'
import { pointNames } from '../contract/pointsFile.ts'
import { clubTails, clubTips, limbs, type Seen, type SolveInput, type SolveInstant, type SolveView } from '../camera/solve/input.ts'
import { usualClubLengths } from '../camera/scale.ts'
import { exact, sigmaWithout } from '../signal/uncertain.ts'
import { isMissing, missing, pictureAt, type Missing, type Swing } from './reading.ts'
import { blendAt } from './track.ts'
import { isTwoSwings, otherInstant, repeatabilityM, sharedPositions } from './twoSwings.ts'
import { usualFocal, type SwingView } from './viewOf.ts'

/** Points that must be had together at an instant for their length to tell anything. */
const groups: readonly (readonly PointName[])[] = [
  [...clubTails, ...clubTips], ...(['lead', 'trail'] as const).flatMap((side) => [
    limbs.filter(([a]) => a.startsWith(side)).slice(0, 2).flat(), limbs.filter(([a]) => a.startsWith(side)).slice(2).flat(),
  ]),
]
const groupOf = (name: PointName): number => groups.findIndex((g) => g.includes(name))

/** The least time between instants that are looked at, seconds. */
const step = 0.03
/** How long after impact points still count, seconds. */
const afterImpact = 0.2

/** The last frame that a reading at t rests on, and the first, in seconds. */
function span(view: SwingView, name: PointName, t: number): readonly [number, number] | null {
  const track = view.tracks.get(name)
  const blend = track && blendAt(track, t + view.clock.value)
  if (!blend) return null
  let first = -1
  let last = -1
  blend.weights.forEach((w, i) => {
    if (Math.abs(w) < 1e-9) return
    if (first < 0) first = i
    last = i
  })
  return [track.times[blend.start + first]!, track.times[blend.start + last]!]
}

/** What stands on the ground in every swing; another swing's stands elsewhere on it, but no higher. */
const onGround = /Ankle$|^ball$/
/** Of a shift along the ground, what a rolled camera that looks down on it shows as up and down. */
const shownUp = 0.25

/**
 * The instants of two swings, each point with what it is off by in another swing, pixels, before the camera is known: as if
 * it stood 4 m off with a usual lens. It is off the same way wherever it was read, so that all of them together tell
 * little more than one.
 */
function repeating(swing: Swing, instants: readonly SolveInstant[]): SolveInstant[] {
  const times = new Map<PointName, number>()
  for (const instant of instants) for (const name of instant.keys()) times.set(name, (times.get(name) ?? 0) + 1)
  return instants.map((instant) => new Map([...instant].map(([name, seen]) => [name, seen.map((s, i) => {
    if (!s) return null
    const repeats = (repeatabilityM(swing) * usualFocal(swing.views[i]!) * Math.sqrt(times.get(name)!)) / 4
    return { ...s, sigma: Math.hypot(s.sigma, repeats), ...(onGround.test(name) && { sigmaY: Math.hypot(s.sigma, shownUp * repeats) }) }
  })])))
}

function readSeen(swing: Swing, view: SwingView, name: PointName, t: number, clocks: number): Seen | null {
  const sample = pictureAt(swing, view, name, exact(t))
  if (isMissing(sample)) return null
  // The solve finds the clocks for itself.
  const sigma = Math.sqrt((sigmaWithout(sample.x, clocks) ** 2 + sigmaWithout(sample.y, clocks) ** 2) / 2)
  return { x: sample.x.value, y: sample.y.value, sigma: Math.max(sigma, 0.02), rate: sample.rate ?? [0, 0] }
}

const isLeftOut = (view: SwingView, source: ScaleSource): boolean => view.file.scaleWithout?.includes(source) ?? false

const solveView = (view: SwingView): SolveView => {
  const { targetLine, plumb, horizon, stanceLine, mat } = view.file.guides ?? {}
  return {
    view: view.name, width: view.width, height: view.height, sigmaPx: view.sigmaPx,
    ...(targetLine && { targetLine }), ...(plumb && { plumb }), ...(horizon && { horizon }), ...(stanceLine && { stanceLine }), ...(mat && { mat }),
    ...(view.file.ballDiameterPx !== undefined && !isLeftOut(view, 'ball') && { ballDiameterPx: view.file.ballDiameterPx }), ...(view.camera && { known: view.camera }),
  }
}

/**
 * What a swing's marks say about its cameras: its address, and instants of the swing at which nothing that was read
 * shares a frame with what was read before, so that their errors are independent.
 * @param few at positions only: enough to see whether two views belong together
 */
export function solveInput(swing: Swing, few = false): SolveInput | Missing {
  const { views } = swing
  const first = swing.positions.get(views[0]!.name)
  const addressAt = first?.address?.t.value
  if (addressAt === undefined) return missing('the cameras cannot be solved without the position address')
  const clocks = swing.sources.of('clocks')
  const lengthM = swing.file.club?.lengthM ?? (swing.file.club?.kind ? usualClubLengths[swing.file.club.kind.toLowerCase()] : undefined)
  const taken = new Map<string, number>()

  /** The same instant on a view's own clock: of two swings the second has its own positions. */
  const timeIn = (i: number, t: number): number => (i === 1 && isTwoSwings(swing) ? (otherInstant(swing, exact(t))?.value ?? t) : t)

  const instantAt = (t: number, all: boolean): SolveInstant => {
    const out = new Map<PointName, readonly (Seen | null)[]>()
    const blocked = new Set<number>()
    const spans = new Map<PointName, (readonly [number, number] | null)[]>()
    for (const name of pointNames) {
      const here = views.map((view, i) => span(view, name, timeIn(i, t)))
      if (!(all ? here.some((s) => s) : here.every((s) => s))) continue
      spans.set(name, here)
      const group = groupOf(name)
      const overlaps = here.some((s, i) => s !== null && s[0] <= (taken.get(`${i} ${name}`) ?? -Infinity))
      if (group >= 0 && overlaps) blocked.add(group)
      if (overlaps && group < 0) spans.delete(name)
    }
    for (const [name, here] of spans) {
      const group = groupOf(name)
      if (group >= 0 && blocked.has(group)) continue
      const seen = views.map((view, i) => (here[i] ? readSeen(swing, view, name, timeIn(i, t), clocks) : null))
      here.forEach((s, i) => s && taken.set(`${i} ${name}`, s[1]))
      out.set(name, seen)
    }
    return out
  }

  const address = instantAt(addressAt, true)
  const instants: SolveInstant[] = []
  if (few || isTwoSwings(swing)) {
    // Between positions two swings have nothing to do with each other; what does not repeat stays wrong for long.
    for (const name of sharedPositions(swing)) {
      const t = first?.[name]?.t.value
      const instant = t !== undefined && t > addressAt + 3 * step ? instantAt(t, false) : null
      if (instant?.size) instants.push(instant)
    }
  } else if (views.length === 2) {
    const impact = first?.impact?.t.value
    const last = Math.min(...views.map((v) => v.times.at(-1)! - v.clock.value), impact === undefined ? Infinity : impact + afterImpact)
    let before = addressAt
    for (const time of views[0]!.times) {
      const t = time - views[0]!.clock.value
      if (t < before + step || t > last) continue
      before = t
      const instant = instantAt(t, false)
      if (instant.size) instants.push(instant)
    }
  }
  const [still, ...moving] = isTwoSwings(swing) ? repeating(swing, [address, ...instants]) : [address, ...instants]
  return {
    views: views.map(solveView), address: still!, instants: moving,
    // The club and the stature are one for all views: what one of them leaves out is not used.
    ...(swing.file.statureM !== undefined && !views.some((v) => isLeftOut(v, 'stature')) && { statureM: swing.file.statureM }),
    ...(lengthM !== undefined && !views.some((v) => isLeftOut(v, 'club')) && { clubM: lengthM }), syncSigmaS: views.length === 2 && swing.file.sameSwing ? swing.file.syncSigmaS : 0,
  }
}
