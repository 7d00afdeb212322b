import { levelFromHorizon, levelFromPlumb, levelUnmarked, type Level } from '../camera/level.ts'
import { cameraFrom, type Camera } from '../camera/projection.ts'
import { defaultSigmaPx, pointNames, type PointName, type PointsView, type ViewName } from '../contract/pointsFile.ts'
import { median } from '../signal/quantile.ts'
import { exact, measured, withError, type Sources, type Uncertain } from '../signal/uncertain.ts'
import type { Track } from './track.ts'

/** One view of a swing, a right-hander's, made ready for reading. */
export interface SwingView {
  readonly name: ViewName
  readonly width: number
  readonly height: number
  readonly tracks: ReadonlyMap<PointName, Track>
  /** All frames' times, seconds of this view's clock. */
  readonly times: Float64Array
  /** Median time between frames, seconds. */
  readonly interval: number
  readonly camera: Camera | null
  /** What is added to the swing's clock to get this view's. */
  readonly clock: Uncertain
  /** Radians by which up leans to the right in the picture; only where there is no camera. */
  readonly level: Uncertain
  readonly levelBasis: string
  readonly readoutS: number
  readonly sigmaPx: number
  readonly file: PointsView
}

type BodyPart = 'upper' | 'lower'

/** Which part of the body carries a point; the club and the ball are of none. */
const partOf = (name: PointName): BodyPart | null =>
  /^(?:head|crown|spineTop|hands|butt|shaftEnd|clubhead)$|Shoulder$|Elbow$|Wrist$/.test(name) ? 'upper' : /^spineBase$|Hip$|Knee$|Ankle$/.test(name) ? 'lower' : null

/** The head and the end of the shaft turn about its butt, else about the hands; these come before them in the list of points. */
function about(name: PointName, before: ReadonlyMap<PointName, Track>): { about?: Track } {
  const [butt, hands] = [before.get('butt'), before.get('hands')]
  const other = butt && butt.times.length >= 0.8 * (hands?.times.length ?? 0) ? butt : hands
  return (name === 'clubhead' || name === 'shaftEnd') && other ? { about: other } : {}
}

export function buildTracks(v: PointsView, sources: Sources): Map<PointName, Track> {
  const placed = new Map<PointName, { t: number[]; x: number[]; y: number[]; sigma: number[] }>(pointNames.map((name) => [name, { t: [], x: [], y: [], sigma: [] }]))
  const usual = v.sigmaPx ?? defaultSigmaPx
  for (const frame of v.frames)
    for (const name in frame.points) {
      const track = placed.get(name as PointName)
      const p = frame.points[name]
      if (!track || !p) continue
      track.t.push(frame.t)
      track.x.push(p[0])
      track.y.push(p[1])
      track.sigma.push(p[2] ?? usual)
    }
  const tracks = new Map<PointName, Track>()
  // Points on the same frames share their times, and what is worked out from those alone.
  const shared: Float64Array[] = []
  const timesOf = (t: readonly number[]): Float64Array => {
    let times = shared.find((known) => known.length === t.length && known.every((each, i) => each === t[i]))
    if (!times) shared.push((times = Float64Array.from(t)))
    return times
  }
  const parts: Record<BodyPart, Track[]> = { upper: [], lower: [] }
  for (const [name, { t, x, y, sigma }] of placed) {
    if (t.length === 0) continue
    const part = partOf(name)
    const track: Track = {
      times: timesOf(t), x: Float64Array.from(x), y: Float64Array.from(y), sigma: Float64Array.from(sigma),
      source: sources.block(2 * t.length), ...(part && { company: parts[part] }), ...about(name, tracks),
    }
    if (part) parts[part].push(track)
    tracks.set(name, track)
  }
  return tracks
}

/** Usual focal length of a phone's main lens held upright, pixels: .83 of the picture's long side (common practice, no source). */
export const usualFocal = (v: { width: number; height: number }): number => 0.83 * Math.max(v.width, v.height)

function levelOf(v: PointsView): Level {
  const sigma = v.sigmaPx ?? defaultSigmaPx
  const { plumb, horizon } = v.guides ?? {}
  if (plumb) {
    return levelFromPlumb(plumb[0], plumb[1], sigma, (plumb[0][0] + plumb[1][0] - v.widthPx) / 2, usualFocal({ width: v.widthPx, height: v.heightPx }))
  }
  return horizon ? levelFromHorizon(horizon[0], horizon[1], sigma) : levelUnmarked
}

/** The level with its errors apart: its marks' own, and that of the pitch, which perspective shares. */
function levelUncertain(view: ViewName, { roll, sigma, byPitch = 0 }: Level, sources: Sources): Uncertain {
  const own = measured(roll, Math.sqrt(Math.max(0, sigma * sigma - byPitch * byPitch)), sources.of(`level ${view}`))
  return withError(own, byPitch, pitchSource(view, sources))
}

/** Where the error of a view's unknown pitch comes from. */
export const pitchSource = (view: ViewName, sources: Sources): number => sources.of(`pitch ${view}`)

export function buildView(v: PointsView, clock: Uncertain, sources: Sources): SwingView {
  const tracks = buildTracks(v, sources)
  const times = Float64Array.from(v.frames, (f) => f.t)
  const steps = [...times].slice(1).map((t, i) => t - times[i]!)
  const level = levelOf(v)
  const camera = v.camera ? cameraFrom(v.camera.matrix) : null
  return {
    name: v.view,
    width: v.widthPx,
    height: v.heightPx,
    tracks,
    times,
    interval: Math.min(median(steps), 1 / v.captureRate),
    camera,
    clock,
    level: camera ? exact(0) : levelUncertain(v.view, level, sources),
    levelBasis: camera ? 'level and scale from the camera matrix' : level.basis,
    readoutS: v.readoutS ?? 0,
    sigmaPx: v.sigmaPx ?? defaultSigmaPx,
    file: v,
  }
}
