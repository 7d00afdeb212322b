import { combineScales, scaleFromBall, scaleFromClub, scaleFromStature, scaleFromTwoPoints, usualClubLengths, type Scale } from '../camera/scale.ts'
import { levelFromHorizon, levelFromPlumb, levelUnmarked, type Level } from '../camera/level.ts'
import { cameraFrom, type Camera } from '../camera/projection.ts'
import { defaultSigmaPx, pointNames, type PointName, type PointsFile, type PointsView, type ViewName } from '../contract/pointsFile.ts'
import { median } from '../signal/quantile.ts'
import { exact, measured, type Sources, type Uncertain } from '../signal/uncertain.ts'
import { placeAt, type Track } from './track.ts'

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
  const parts: Record<BodyPart, Track[]> = { upper: [], lower: [] }
  for (const [name, { t, x, y, sigma }] of placed) {
    if (t.length === 0) continue
    const part = partOf(name)
    const track: Track = {
      times: Float64Array.from(t), x: Float64Array.from(x), y: Float64Array.from(y), sigma: Float64Array.from(sigma),
      source: sources.block(2 * t.length), ...(part && { company: parts[part] }),
    }
    if (part) parts[part].push(track)
    tracks.set(name, track)
  }
  return tracks
}

/** Usual focal length of a phone's main lens held upright, pixels: .83 of the picture's long side (common practice, no source). */
export const usualFocal = (v: { width: number; height: number }): number => 0.83 * Math.max(v.width, v.height)

function levelOf(v: PointsView, tracks: ReadonlyMap<PointName, Track>): Level {
  const sigma = v.sigmaPx ?? defaultSigmaPx
  const { plumb, horizon } = v.guides ?? {}
  if (plumb) {
    const body = tracks.get('spineBase') ?? tracks.get('leadHip') ?? tracks.get('hands')
    const player = body ? body.x[0]! : v.widthPx / 2
    const offset = Math.abs((plumb[0][0] + plumb[1][0]) / 2 - player)
    return levelFromPlumb(plumb[0], plumb[1], sigma, offset, usualFocal({ width: v.widthPx, height: v.heightPx }))
  }
  return horizon ? levelFromHorizon(horizon[0], horizon[1], sigma) : levelUnmarked
}

export function buildView(v: PointsView, clock: Uncertain, sources: Sources): SwingView {
  const tracks = buildTracks(v, sources)
  const times = Float64Array.from(v.frames, (f) => f.t)
  const steps = [...times].slice(1).map((t, i) => t - times[i]!)
  const level = levelOf(v, tracks)
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
    level: camera ? exact(0) : measured(level.roll, level.sigma, sources.of(`level ${v.view}`)),
    levelBasis: camera ? 'level and scale from the camera matrix' : level.basis,
    readoutS: v.readoutS ?? 0,
    sigmaPx: v.sigmaPx ?? defaultSigmaPx,
    file: v,
  }
}

/** How the shaft leans at address seen down the line, and how far that varies, radians: common practice, no source. */
const usualLie = (55 * Math.PI) / 180
const usualLieSigma = (4 * Math.PI) / 180
/** How far, relatively, the player may stand off the depth that a scale was taken at: common practice, no source. */
const ballOffPlane = 0.06

/** Metres a pixel at the player, from whatever of known size was seen at address; null for nothing. */
export function scaleAtAddress(view: SwingView, file: PointsFile, address: number): Scale | null {
  const found: Scale[] = []
  const at = (name: PointName) => {
    const track = view.tracks.get(name)
    return track ? placeAt(track, address) : null
  }
  const apart = (a: readonly [number, number], b: readonly [number, number]) => Math.hypot(a[0] - b[0], a[1] - b[1])
  const known = view.file.knownLength
  if (known) found.push(scaleFromTwoPoints(known.lengthM, apart(...known.ends), view.sigmaPx))
  const ball = view.file.ballDiameterPx
  // Face-on the ball lies nearer the camera than the player: .7 m of some 4 m.
  if (ball) {
    const scale = scaleFromBall(ball, view.sigmaPx / 2, ballOffPlane)
    const k = view.name === 'face-on' ? 4 / (4 - 0.65) : 1
    found.push({ ...scale, metresPerPx: scale.metresPerPx * k, sigma: scale.sigma * k })
  }
  const lengthM = file.club?.lengthM ?? (file.club?.kind ? usualClubLengths[file.club.kind.toLowerCase()] : undefined)
  const butt = at('butt')
  const end = at('clubhead') ?? at('shaftEnd')
  if (lengthM && butt && end) {
    const scale = scaleFromClub(lengthM, apart(butt, end), view.sigmaPx, view.name, usualLie, usualLieSigma)
    // Midway along the club is .5 m before the player's middle, face-on.
    const k = view.name === 'face-on' ? 4 / (4 - 0.45) : 1
    found.push({ ...scale, metresPerPx: scale.metresPerPx * k, sigma: Math.hypot(scale.sigma * k, view.name === 'face-on' ? 0.02 * scale.metresPerPx : 0) })
  }
  const ankles = ['leadAnkle', 'trailAnkle'].map((name) => at(name as PointName)).filter((p) => p !== null)
  const top = at('crown') ? 'crown' : 'head'
  const high = at(top)
  if (file.statureM && high && ankles.length) {
    const low = ankles.reduce((sum, p) => sum + p[1], 0) / ankles.length
    if (low > high[1]) found.push(scaleFromStature(file.statureM, low - high[1], view.sigmaPx, top))
  }
  return combineScales(found)
}
