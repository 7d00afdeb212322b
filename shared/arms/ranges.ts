import type { JointName, Side } from './types.ts'

/**
 * How far joints go, degrees. AAOS ranges (check values of the project, second-hand): shoulder flexion and abduction 180,
 * extension 60, internal rotation 70, external 90; elbow 0 to 150; pronation and supination 80; wrist flexion 80,
 * extension 70; radial 20, ulnar 30. Across the chest 135 from the side (AAOS horizontal flexion; from memory).
 */
export const ranges = {
  rotation: [-90, 70],
  elbowFlexion: [0, 150],
  pronation: [-80, 80],
  wristFlexion: [-70, 80],
  ulnarDeviation: [-20, 30],
} as const satisfies Partial<Record<JointName, readonly [number, number]>>

export const acrossChestDeg = 135
const raisedDeg = 180
const extensionDeg = 60

/** Within so many degrees of a limit a joint starts to resist, and is said to touch it. */
export const margins: Readonly<Record<keyof typeof ranges | 'planeOfElevation' | 'elevation', number>> = {
  rotation: 10, elbowFlexion: 5, pronation: 10, wristFlexion: 10, ulnarDeviation: 5, planeOfElevation: 10, elevation: 10,
}

const toRad = Math.PI / 180

/** How high the upper arm goes in a plane of elevation, radians: 60 degrees straight behind, 180 from the side forward. */
export function highestElevation(plane: number): number {
  const s = Math.max(0, Math.min(1, plane / (Math.PI / 2) + 1))
  return toRad * (extensionDeg + (raisedDeg - extensionDeg) * s * s * (3 - 2 * s))
}

const words: Readonly<Record<JointName, readonly [low: string, high: string]>> = {
  planeOfElevation: ['upper arm drawn back', 'upper arm across the chest'],
  elevation: ['upper arm lowered', 'upper arm raised'],
  axialRotation: ['shoulder turned out', 'shoulder turned in'],
  rotation: ['shoulder turned out', 'shoulder turned in'],
  elbowFlexion: ['elbow straightened', 'elbow bent'],
  pronation: ['forearm turned palm up', 'forearm turned palm down'],
  wristFlexion: ['wrist bent back', 'wrist bent toward the palm'],
  ulnarDeviation: ['wrist cocked toward the thumb', 'wrist dropped toward the little finger'],
}

/** 'trail wrist bent back to 68 of 70 degrees' */
export function touchWords(side: Side, joint: JointName, end: 'low' | 'high', value: number, limit: number): string {
  const [a, b] = words[joint]
  return `${side} ${end === 'low' ? a : b} to ${Math.abs(value).toFixed(0)} of ${Math.abs(limit).toFixed(0)} degrees`
}
