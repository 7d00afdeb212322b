import { ballDiameter, combineScales, scaleFromBall, scaleFromClub, scaleFromStature, scaleFromTwoPoints, usualClubLengths, type Scale } from '../camera/scale.ts'
import type { PointName, PointsFile, ScaleSource } from '../contract/pointsFile.ts'
import { bodyPlane, usualDepth } from './bodyDepth.ts'
import { placeAt } from './track.ts'
import { usualFocal, type SwingView } from './viewOf.ts'

/** A scale and what of known length gave it. */
export interface FoundScale extends Scale {
  readonly source: ScaleSource
}

/** How the shaft leans at address seen down the line, and how far that varies, radians: common practice, no source. */
const usualLie = (55 * Math.PI) / 180
const usualLieSigma = (4.5 * Math.PI) / 180
/** How high a phone stands, metres, and how far that varies: common practice, no source. */
const cameraHeight = 1.1
const cameraHeightSigma = 0.2
/** How far, relatively, the player may stand off the depth that a scale was taken at down the line: common practice, no source. */
const ballOffPlane = 0.06
/** Heights over stature of what a stature's scale is taken between (see scale.ts), and the sole under the ankle, metres. */
const shares = { head: 0.855, crown: 0.905, ankle: 0.039 }
const soleM = 0.01

/** A place of a face-on picture: its height above the ground and how near the ball's line it stands, metres. */
interface Stood {
  readonly y: number
  readonly z: number
}

/**
 * How much of the body's plane, metres, a face-on camera sees covered by the rise from a low place to a high one: what
 * stands nearer covers more, and more still below and above the camera's own height.
 */
function coveredRise(low: Stood, high: Stood, distance: number, height: number): number {
  const plane = distance - bodyPlane('face-on')
  return plane * ((height - low.y) / (distance - low.z) - (height - high.y) / (distance - high.z))
}

/** The same rise over what it would cover on the plane, with the relative error of that by the camera's height and by depth. */
function covering(low: Stood, high: Stood, distance: number, depthSigma: number): { readonly share: number; readonly sigma: number } {
  const at = (height: number, deeper: number): number =>
    coveredRise({ ...low, z: low.z + deeper }, { ...high, z: high.z + deeper }, distance, height) / (high.y - low.y)
  const share = at(cameraHeight, 0)
  return {
    share,
    sigma: Math.hypot(at(cameraHeight + cameraHeightSigma, 0) - share, at(cameraHeight, depthSigma) - share) / share,
  }
}

/** A scale put right for where its length stands, by the distance that it gives itself. */
function putRight(scale: Scale, focal: number, covers: (distance: number) => { readonly share: number; readonly sigma: number }): Scale {
  let k = scale.metresPerPx
  let by = covers(4.2)
  for (let i = 0; i < 3; i++) {
    by = covers(Math.max(1.6, focal * k + bodyPlane('face-on')))
    k = scale.metresPerPx * by.share
  }
  return { ...scale, metresPerPx: k, sigma: k * Math.hypot(scale.sigma / scale.metresPerPx, by.sigma) }
}

/** Metres a pixel at the player's plane from each thing of known size that was seen at address, those left out too. */
export function scalesAtAddress(view: SwingView, file: PointsFile, address: number): FoundScale[] {
  const found: FoundScale[] = []
  const faceOn = view.name === 'face-on'
  const focal = usualFocal(view)
  const at = (name: PointName) => {
    const track = view.tracks.get(name)
    return track ? placeAt(track, address) : null
  }
  const apart = (a: readonly [number, number], b: readonly [number, number]) => Math.hypot(a[0] - b[0], a[1] - b[1])
  const known = view.file.knownLength
  if (known) found.push({ source: 'known', ...scaleFromTwoPoints(known.lengthM, apart(...known.ends), view.sigmaPx) })
  const ball = view.file.ballDiameterPx
  if (ball) {
    const scale = scaleFromBall(ball, view.sigmaPx / 2, faceOn ? 0 : ballOffPlane)
    const { at: z, sigma } = usualDepth('face-on', 'ball')
    const low = ballDiameter / 2
    found.push({ source: 'ball', ...(faceOn ? putRight(scale, focal, (d) => covering({ y: low, z }, { y: low + 1e-3, z }, d, sigma)) : scale) })
  }
  const lengthM = file.club?.lengthM ?? (file.club?.kind ? usualClubLengths[file.club.kind.toLowerCase()] : undefined)
  const butt = at('butt')
  const tip = at('clubhead') ? 'clubhead' : 'shaftEnd'
  const end = at(tip)
  if (lengthM && butt && end) {
    const scale = scaleFromClub(lengthM, apart(butt, end), view.sigmaPx, view.name, usualLie, usualLieSigma, tip)
    const { at: z, sigma } = usualDepth('face-on', 'clubhead')
    const top: Stood = { y: 0.02 + lengthM * Math.sin(usualLie), z: z - lengthM * Math.cos(usualLie) }
    found.push({ source: 'club', ...(faceOn ? putRight(scale, focal, (d) => covering({ y: 0.02, z }, top, d, sigma)) : scale) })
  }
  const ankles = ['leadAnkle', 'trailAnkle'].map((name) => at(name as PointName)).filter((p) => p !== null)
  const top = at('crown') ? 'crown' : 'head'
  const high = at(top)
  if (file.statureM && high && ankles.length) {
    const low = ankles.reduce((sum, p) => sum + p[1], 0) / ankles.length
    const { statureM } = file
    if (low > high[1]) {
      const scale = scaleFromStature(statureM, low - high[1], view.sigmaPx, top)
      const foot: Stood = { y: shares.ankle * statureM + soleM, z: usualDepth('face-on', 'leadAnkle').at }
      const headTop: Stood = { y: shares[top] * statureM, z: usualDepth('face-on', top).at }
      found.push({ source: 'stature', ...(faceOn ? putRight(scale, focal, (d) => covering(foot, headTop, d, 0.05)) : scale) })
    }
  }
  return found
}

/** Metres a pixel at the player, from whatever of known size was seen at address and is not left out; null for nothing. */
export const scaleAtAddress = (view: SwingView, file: PointsFile, address: number): Scale | null =>
  combineScales(scalesAtAddress(view, file, address).filter(({ source }) => !view.file.scaleWithout?.includes(source)))
