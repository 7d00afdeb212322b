import type { PointName, PositionName } from '../../contract/pointsFile.ts'
import { frameTimeSigma } from '../../camera/captureRate.ts'
import { measured, sigmaOf, subtract, withError, type Uncertain } from '../../signal/uncertain.ts'
import { hasSpace, isMissing, placeInSpace, planeAt, spaceAt, type Position, type Swing } from '../reading.ts'
import { shaftPoints, type ShaftPoints } from '../shaft.ts'
import { placeAt, smoothedOver } from '../track.ts'
import type { SwingView } from '../viewOf.ts'
import { crossings, levelInstant, type Level } from './levels.ts'
import { indexAt, levelled, paired, restsOf, seriesOf, speedAt, type Rest, type Series } from './series.ts'
import { findImpact } from './impact.ts'
import { findTakeaway, type Instant } from './takeaway.ts'
import { findTop, findTopAlong, shaftTurn } from './top.ts'
import { findTopInSpace } from './topInSpace.ts'

export type Found = Map<PositionName, Position>

/** What lines that get level are looked for with. */
interface LevelSearch {
  readonly swing: Swing
  readonly view: SwingView
  /** Null where the view shows no club: then the arm alone is looked at. */
  readonly shaft: ShaftPoints | null
  /** The shaft's length in the plane's unit. */
  readonly length: number
  readonly found: Found
}

/** What is known of how a view's swing runs while its positions are looked for. */
interface Search extends LevelSearch {
  readonly shaft: ShaftPoints
  readonly tail: Series
  readonly tip: Series
}

/**
 * Finds what the file does not give, from one view; `given` is taken as it is and guides the rest. Positions that the
 * points do not show are left out.
 */
export function findPositions(swing: Swing, view: SwingView, given: Found): Found {
  const found: Found = new Map(given)
  const shaft = shaftPoints([view])
  const tail = shaft && seriesOf(view, shaft.tail)
  const tip = shaft && seriesOf(view, shaft.tip)
  const both = tail && tip ? paired(tail, tip) : null
  if (!shaft || !tail || !tip || !both || !isDense(both.t)) {
    // A few frames show no movement, but a line may still be seen to pass level between two of them.
    levels({ swing, view, shaft, length: 0, found })
    return found
  }
  const length = both.t.reduce((longest, _, i) => Math.max(longest, Math.hypot(both.a[i]![0] - both.b[i]![0], both.a[i]![1] - both.b[i]![1])), 0)
  const search: Search = { swing, view, shaft, tail, tip, length, found }
  const fast = fastest(search)
  const rest = addressRest(search, fast)
  const met = found.has('impact') ? null : findImpact(swing, view, shaft.tip, length, fast, rest)
  if (met) put(search, 'impact', met.t, met.basis)
  takeawayAndTop(search, rest)
  address(search, rest)
  levels(search)
  finish(search)
  return found
}

/** Whether frames follow one another closely enough for a movement to be searched, and not just for single instants. */
function isDense(times: readonly number[]): boolean {
  const gaps = times.slice(1).map((t, i) => t - times[i]!).toSorted((a, b) => a - b)
  return times.length >= 12 && gaps[gaps.length >> 1]! <= 0.06
}

const at = (found: Found, name: PositionName): number | undefined => found.get(name)?.t.value

const put = (s: Pick<Search, 'found'>, name: PositionName, t: Uncertain, basis: string): void => {
  if (!s.found.has(name)) s.found.set(name, { t, basis })
}

const instant = (s: Search, name: PositionName, { t, sigma }: Instant): Uncertain => measured(t, sigma, s.swing.sources.of(`found ${name} ${s.view.name}`))

/** When the clubhead is fastest: a little after impact or before it. */
function fastest(s: Search): number {
  const given = at(s.found, 'impact')
  if (given !== undefined) return given
  let best = 0
  let t = s.tip.t[0]!
  for (let i = 1; i + 1 < s.tip.t.length; i++) {
    const speed = speedAt(s.tip, i)
    if (speed > best) {
      best = speed
      t = s.tip.t[i]!
    }
  }
  return t
}

/** The last stillness of the clubhead below the hands before the swing. */
function addressRest(s: Search, fast: number): Rest | null {
  const latest = at(s.found, 'takeaway') ?? fast - 0.4
  const low = restsOf(s.tip, s.length).filter((rest) => {
    if (rest.from > latest) return false
    const i = Math.min(indexAt(s.tail.t, rest.from), s.tail.t.length - 1)
    return s.tail.v[i]! - rest.v > 0.4 * s.length
  })
  // Down the line a clubhead going back stands still in the picture for a moment: a real rest is longer.
  return low.findLast((rest) => rest.to - rest.from >= 0.25) ?? low.at(-1) ?? null
}

/** What the turn that one picture does not show may shift the top by, seconds: a recorded swing shows .01. */
const unseenTurn = 0.01

function takeawayAndTop(s: Search, rest: Rest | null): void {
  const impactAt = at(s.found, 'impact')
  if (impactAt === undefined) return
  const from = at(s.found, 'takeaway') ?? rest?.to ?? s.tip.t[0]!
  if (!s.found.has('top')) {
    const top =
      s.view.name === 'face-on'
        ? findTop(shaftTurn(s.tail, s.tip), from, impactAt)
        : findTopAlong(s.tail, s.tip, Math.max(from + 0.35, impactAt - 0.6), impactAt - 0.1)
    const inSpace = top && findTopInSpace(s.swing, top.t, 0.12)
    const best = inSpace ?? top
    // One picture does not see the shaft turn toward the camera or away.
    const vague = inSpace ? 0 : Math.max(unseenTurn, frameTimeSigma(s.view.interval))
    const where = inSpace ? 'in the world, from both views' : `in the ${s.view.name} view`
    if (best) put(s, 'top', instant(s, 'top', { t: best.t, sigma: Math.hypot(best.sigma, vague) }), `found ${where}: the shaft's turning reverses`)
  }
  if (!s.found.has('takeaway') && rest) {
    const start = findTakeaway(s.tip, rest, s.length, at(s.found, 'top') ?? impactAt, s.view.name === 'face-on' ? 0.2 : 0.04)
    const along = s.view.name === 'down-the-line' ? 0.03 : 0
    if (start) put(s, 'takeaway', instant(s, 'takeaway', { t: start.t, sigma: Math.hypot(start.sigma, along) }), `found in the ${s.view.name} view: the clubhead leaves its place`)
  }
}

/** The last frame before the takeaway's own error could reach it, or what smooths a reading there could reach the takeaway. */
function address(s: Search, rest: Rest | null): void {
  if (s.found.has('address')) return
  const takeaway = s.found.get('takeaway')
  const { interval } = s.view
  const error = frameTimeSigma(interval)
  let t: number | null = null
  if (takeaway) {
    t = takeaway.t.value - Math.max(2 * sigmaOf(takeaway.t) + smoothedOver(interval), interval)
    // A rest that is shorter has no better frame than its middle.
    if (rest && t < rest.from) t = Math.min((rest.from + rest.to) / 2, takeaway.t.value - interval)
  } else if (rest) t = rest.to - interval
  if (t === null) return
  const index = indexAt([...s.view.times], t + s.view.clock.value) - 1
  const frame = s.view.times[Math.max(index, 0)]! - s.view.clock.value
  if (frame > t + interval) return
  // Nothing moves there, so that its error is kept apart from what is read at it.
  put(s, 'address', measured(frame, error, s.swing.sources.of(`found address ${s.view.name}`)), `found in the ${s.view.name} view: the last still frame`)
}

/** How far, of the line's length, a line that is level may look off level when seen nearly along itself. */
const foreshortened = 0.08

/** The rise of the line between two points in the world. */
const riseInSpace = (s: LevelSearch, low: PointName, high: PointName): Level => ({
  value: (t) => {
    const a = placeInSpace(s.swing, low, t)
    const b = placeInSpace(s.swing, high, t)
    return a && b ? b[1] - a[1] : Number.NaN
  },
  read: (t) => {
    const a = spaceAt(s.swing, low, t)
    if (isMissing(a)) return a
    const b = spaceAt(s.swing, high, t)
    return isMissing(b) ? b : subtract(b.y, a.y)
  },
})

/** The same on the view's levelled plane. */
const rise = (s: LevelSearch, low: PointName, high: PointName): Level => ({
  value: (t) => {
    const [a, b] = [low, high].map((point) => {
      const track = s.view.tracks.get(point)
      const p = track && placeAt(track, t + s.view.clock.value)
      return p ? levelled(s.view, p[0], p[1]) : null
    })
    return a && b ? b[1] - a[1] : Number.NaN
  },
  read: (t) => {
    const a = planeAt(s.swing, s.view, low, t, 'shape')
    if (isMissing(a)) return a
    const b = planeAt(s.swing, s.view, high, t, 'shape')
    if (isMissing(b)) return b
    const up = subtract(b.v, a.v)
    return s.view.name === 'face-on' ? up : withError(up, foreshortened * s.length, s.swing.sources.of(`along ${s.view.name} ${low} ${high}`))
  },
})

function levels(s: LevelSearch): void {
  const takeaway = at(s.found, 'takeaway')
  const top = at(s.found, 'top')
  const impactAt = at(s.found, 'impact')
  if (top === undefined) return
  const from = takeaway ?? s.view.times[0]! - s.view.clock.value
  const pick = (name: PositionName, line: readonly [PointName, PointName] | null, a: number, b: number, rising: boolean, which: 0 | -1) => {
    if (!line) return
    const [low, high] = line
    const series = s.found.has(name) ? null : riseSeries(s, low, high)
    const span = series && crossings(series.t, series.y, a, b, rising).at(which)
    if (!span) return
    const frame = s.view.interval
    const readings: [Level, string][] = [[rise(s, low, high), `in the levelled ${s.view.name} picture`]]
    if (hasSpace(s.swing)) readings.unshift([riseInSpace(s, low, high), 'in the world, from both views'])
    for (const [level, where] of readings)
      for (const reach of [0.5, 2, 4, 0]) {
        const t = levelInstant(level, Math.max(span[0] - reach * frame, a), Math.min(span[1] + reach * frame, b), Math.max(frame / 2, 0.004))
        if (!t) continue
        put(s, name, t, `found between frames: elevation 0 ${where}`)
        return
      }
  }
  const shaft = s.shaft && ([s.shaft.tail, s.shaft.tip] as const)
  const arm = ['leadShoulder', 'leadWrist'] as const
  pick('shaft-level-back', shaft, from, top, true, 0)
  pick('lead-arm-level-back', arm, from, top, true, 0)
  if (impactAt === undefined) return
  pick('lead-arm-level-down', arm, top, impactAt, false, -1)
  pick('shaft-level-down', shaft, top, impactAt, false, -1)
  pick('shaft-level-through', shaft, impactAt, impactAt + 0.4, true, 0)
}

function riseSeries(s: LevelSearch, low: PointName, high: PointName): { t: number[]; y: number[] } | null {
  const a = seriesOf(s.view, low, 2)
  const b = seriesOf(s.view, high, 2)
  if (!a || !b) return null
  const both = paired(a, b)
  return { t: both.t, y: both.t.map((_, i) => both.b[i]![1] - both.a[i]![1]) }
}

/** The first stillness of the hands after the ball is gone. */
function finish(s: Search): void {
  const impactAt = at(s.found, 'impact')
  if (impactAt === undefined || s.found.has('finish')) return
  const rest = restsOf(s.tail, s.length * 2).find((r) => r.from > impactAt + 0.25)
  if (rest) put(s, 'finish', instant(s, 'finish', { t: rest.from, sigma: Math.max(0.03, frameTimeSigma(s.view.interval)) }), `found in the ${s.view.name} view: the first stillness of the hands`)
}
