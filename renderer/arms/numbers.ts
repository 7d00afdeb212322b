import { elbowMove, elbowRadius } from '../../shared/arms/elbowMove.ts'
import { sketchSigmaDeg } from '../../shared/arms/spread.ts'
import type { ArmsPose, ForwardResult, JointName, Known, Readings } from '../../shared/arms/types.ts'
import { numberWords } from '../../shared/picture/plate.ts'
import type { ArmsState } from './armsState.ts'
import type { JointKey, PoseSigmas } from './poseErrors.ts'

/** The numbers of a pose, each with its error and what it rests on; what has no error yet is not shown. */

export interface NumberRow {
  readonly id: keyof Readings
  readonly name: string
  readonly unit: '\u00b0' | ' cm'
  /** What its sign means, for those who look it up. */
  readonly meaning: string
  /** Whether a sketch has it: what it stands in is set, its shaft is known to tens of degrees, the rest not at all. */
  readonly ofSketch: boolean
}

export const numberRows: readonly NumberRow[] = [
  { id: 'elbowOutCm', name: 'Elbow behind body', unit: ' cm', meaning: 'behind the plane through both shoulders and the trail hip; negative in front of it', ofSketch: true },
  { id: 'swivelDeg', name: 'Elbow on its arc', unit: '\u00b0', meaning: 'about the line from trail shoulder to wrist: 0 hanging straight down from it, positive out behind', ofSketch: true },
  { id: 'azimuthDeg', name: 'Shaft where it stops', unit: '\u00b0', meaning: 'seen from above: 0 along the target line, positive across it, negative laid off', ofSketch: true },
  { id: 'azimuthAtLevelDeg', name: 'Shaft carried to level', unit: '\u00b0', meaning: 'the same once it is carried on to level in the plane that it moves in', ofSketch: true },
  { id: 'shortOfLevelDeg', name: 'Short of level', unit: '\u00b0', meaning: 'left to level in the plane of motion; negative past it', ofSketch: false },
  { id: 'elevationDeg', name: 'Shaft above level', unit: '\u00b0', meaning: 'of butt to head in the world', ofSketch: false },
  { id: 'faceToForearmDeg', name: 'Face to lead forearm', unit: '\u00b0', meaning: 'seen along the shaft: 0 where the toe lies along the forearm, positive open', ofSketch: false },
]

const shaftReadings: ReadonlySet<keyof Readings> = new Set(['azimuthDeg', 'azimuthAtLevelDeg'])

/** One standard deviation of a reading as it is now; null where none can be given yet. */
export function nowSigma({ loaded, errors }: Pick<ArmsState, 'loaded' | 'errors'>, id: keyof Readings, sampled: PoseSigmas | null): number | null {
  const fit = loaded?.fit
  if (!fit) return shaftReadings.has(id) ? sketchSigmaDeg : null
  if (id in fit.sigma) return fit.sigma[id as keyof typeof fit.sigma]
  return errors && sampled ? sampled.readings[id] : null
}

/** One standard deviation of a reading with the elbow moved. The elbow's own place is chosen: it is as well known as the body it hangs on. */
export function wantedSigma(state: Pick<ArmsState, 'loaded' | 'errors'>, pose: ForwardResult, id: keyof Readings, sampled: PoseSigmas | null): number | null {
  if (!shaftReadings.has(id)) return state.loaded?.fit ? (id === 'elbowOutCm' || id === 'swivelDeg' ? nowSigma(state, id, null) : sampled?.readings[id] ?? null) : null
  const own = nowSigma(state, id, sampled)
  const moved = pose.change.azimuthSigmaDeg
  if (own === null || moved === null) return Math.abs(pose.change.swivelDeg) < 0.05 ? own : null
  return Math.hypot(own, moved)
}

/** The shaft's azimuth of a pose with its error, for the figure. */
export function azimuthOf(state: Pick<ArmsState, 'loaded' | 'errors'>, pose: ForwardResult): Known | null {
  const sigma = wantedSigma(state, pose, 'azimuthDeg', null)
  return sigma === null ? null : { value: pose.readings.azimuthDeg, sigma }
}

/** A reading in words; the place of a sketch's elbow is whatever the hand has set, and says so. */
export function rowWords(row: NumberRow, value: number | null, sigma: number | null, isSketch: boolean): string {
  if (value === null) return '\u2013'
  if (sigma !== null) return numberWords({ value, sigma }, row.unit)
  return isSketch && isSet(row.id) ? `${signed(value, 1)}${row.unit} set` : '\u2013'
}
const isSet = (id: keyof Readings): boolean => id === 'elbowOutCm' || id === 'swivelDeg'

/** How far the reading has changed, for the last column. What the hand has set has no error of its own. */
export function changeWords(row: NumberRow, now: ArmsPose, pose: ForwardResult): string {
  const [a, b] = [now.readings[row.id], pose.readings[row.id]]
  if (a === null || b === null || Math.abs(pose.change.swivelDeg) < 0.05) return ''
  if (isSet(row.id)) return `${signed(b - a, 1)}${row.unit} set`
  if (!shaftReadings.has(row.id)) return ''
  const sigma = pose.change.azimuthSigmaDeg
  const change = row.id === 'azimuthDeg' ? pose.change.azimuthDeg : pose.change.azimuthAtLevelDeg
  return sigma === null || change === null ? '' : numberWords({ value: change, sigma }, row.unit)
}

export const signed = (value: number, decimals: number): string => {
  const text = Math.abs(value).toFixed(decimals)
  return `${Number(text) === 0 ? '' : value < 0 ? '\u2212' : '+'}${text}`
}

/** '5.7 cm in, 3.1 cm down': how far the elbow stands from where it is now. */
export const elbowWords = (now: ArmsPose, pose: ForwardResult): string => (Math.abs(pose.change.swivelDeg) < 0.05 ? 'where it is' : elbowMove(now, pose).words)

/** Between which places of the arc the wished elbow lies, by the shaft's error and the model's own. */
export function intervalWords([low, high]: readonly [number | null, number | null], now: ForwardResult): string {
  const place = (swivel: number): string => `${signed((elbowRadius(now) * 100 * (swivel - now.readings.swivelDeg) * Math.PI) / 180, 1)} cm`
  if (low === null && high === null) return 'By the errors of shaft and model it could be anywhere on its arc.'
  const from = low === null ? 'beyond how far in it goes' : place(low)
  const to = high === null ? 'beyond how far out it goes' : place(high)
  return `By the errors of shaft and model, from ${from} to ${to} along its arc (in \u2212, out +; 68 of 100).`
}

/** What a change of azimuth means for where it comes to: 'less across', 'more laid off'. */
export const turnWords = (changeDeg: number, toDeg: number): string =>
  changeDeg < 0 ? (toDeg < 0 ? 'more laid off' : 'less across') : toDeg > 0 ? 'further across' : 'less laid off'

/** The move and what it does in one sentence; empty where nothing is moved. */
export function effectWords(now: ArmsPose, pose: ForwardResult): string {
  const { swivelDeg, azimuthDeg, azimuthSigmaDeg } = pose.change
  if (Math.abs(swivelDeg) < 0.05 || azimuthSigmaDeg === null) return ''
  return `elbow ${elbowWords(now, pose)}: shaft ${numberWords({ value: Math.abs(azimuthDeg), sigma: azimuthSigmaDeg }, '\u00b0', false)} ${turnWords(azimuthDeg, pose.readings.azimuthDeg)}`
}

export const jointNames: Readonly<Record<JointName, string>> = {
  planeOfElevation: 'upper arm across', elevation: 'upper arm raised', axialRotation: 'upper arm turned (ISB)', rotation: 'upper arm turned in',
  elbowFlexion: 'elbow bent', pronation: 'forearm turned in', wristFlexion: 'wrist bent to the palm', ulnarDeviation: 'wrist to the little finger',
}
/** Of the shown joints; the ISB's third angle is left to the file, since `rotation` says the same where it is defined. */
export const shownJoints: readonly JointName[] = ['planeOfElevation', 'elevation', 'rotation', 'elbowFlexion', 'pronation', 'wristFlexion', 'ulnarDeviation']
export const jointKey = (side: 'lead' | 'trail', joint: JointName): JointKey => `${side} ${joint}`
