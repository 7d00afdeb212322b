import type { Setting } from './camera.ts'
import type { OutfitName } from './figure/outfit.ts'
import { swingOf, type Swing } from './motion.ts'
import { acrossSwing, referenceSwing, shortSwing, shortSwingAgain, type SwingSpec } from './swingSpec.ts'

/** Someone of the kit; every name is invented. */
export interface DemoStudent {
  readonly id: string
  readonly name: string
  readonly role: 'student' | 'reference'
  readonly handedness: 'right' | 'left'
  readonly statureM: number
  readonly club: { readonly kind: string; readonly lengthM: number }
  readonly outfit: OutfitName
  readonly about: string
  /** What came with the clips, in the student's own words; empty for a reference. */
  readonly question: string
  readonly feel: string
}

const person = (id: string, name: string, role: DemoStudent['role'], spec: SwingSpec, outfit: OutfitName, about: string, question = '', feel = ''): DemoStudent => ({
  id,
  name,
  role,
  handedness: spec.handedness,
  statureM: spec.statureM,
  club: { kind: spec.club.kind, lengthM: spec.club.lengthM },
  outfit,
  about,
  question,
  feel,
})
export const demoStudents: readonly DemoStudent[] = [
  person(
    'rowan',
    'Rowan',
    'student',
    acrossSwing,
    'student',
    'Trail elbow turned out behind at the top, the shaft across the line; starts to the push side, sudden hooks.',
    'Most start right of the flag, and when I try to hold one back it hooks. Is it my grip?',
    'At the top it feels long and wide, and then as if the club has to be thrown out to the ball.',
  ),
  person(
    'maren',
    'Maren',
    'student',
    shortSwing,
    'leftHander',
    'Left-handed; the swing stops short of level, so the shaft looks laid off at the top.',
    'A friend says that my club points left at the top. Should I roll my wrists to put it on line?',
    'I feel that I turn all the way back; on the video it looks as if I had hardly begun.',
  ),
  person(
    'linden',
    'Linden',
    'reference',
    referenceSwing,
    'reference',
    'A swing to hold others against: on the line at the top, head still.',
  ),
]

/** One clip to be filmed. `startS` is the swing's time at the first frame, seconds from the takeaway. */
export interface Shot {
  readonly id: string
  readonly fileName: string
  readonly student: string
  readonly swing: string
  readonly pair: string
  readonly spec: SwingSpec
  readonly outfit: OutfitName
  readonly setting: Setting
  readonly captureRate: number
  readonly playRate: number
  readonly startS: number
  readonly frames: number
}

export interface PlanOptions {
  readonly seconds?: number
}

const shutterS = 1 / 1000
export const shutter = shutterS

/**
 * The six clips. Rowan: one swing, two phones whose clocks start at different moments; the one down the line stands .35 m toward the ball's
 * side of the hands. Maren: two swings filmed one after the other by one phone. Linden: one swing, the one down the line in slow motion.
 */
export function demoShots(options: PlanOptions = {}): Shot[] {
  const made = new Map<SwingSpec, Swing>()
  const swingFor = (spec: SwingSpec): Swing => {
    const found = made.get(spec) ?? swingOf(spec)
    made.set(spec, found)
    return found
  }
  const shot = (
    who: string,
    what: string,
    swing: string,
    spec: SwingSpec,
    view: Setting['view'],
    off: { side: number; height: number; distance: number; yaw: number; pitch: number; roll: number; focal: number },
    startS: number,
    rates: { capture: number; play: number } = { capture: 60, play: 60 },
  ): Shot => {
    const person = demoStudents.find((one) => one.id === who)!
    const hands = swingFor(spec).poseAt(0).club.hands
    const place: [number, number, number] =
      view === 'face-on' ? [off.side, off.height, off.distance] : [-off.distance, off.height, hands[2] + off.side]
    const seconds = options.seconds ?? 2.6
    // A short clip keeps the part that matters: it ends soon after impact.
    const from = seconds >= 2.4 ? startS : spec.backswingS + spec.downswingS - seconds * 0.78 + (startS + 0.5) * 0.2
    return {
      id: `${who}-${what}`,
      fileName: `${who}-${what}.mp4`,
      student: who,
      swing,
      pair: `${who}-pair`,
      spec,
      outfit: person.outfit,
      setting: {
        view,
        place,
        yawDeg: off.yaw,
        pitchDeg: off.pitch,
        rollDeg: off.roll,
        focalPx: off.focal,
        mirrored: spec.handedness === 'left',
      },
      captureRate: rates.capture,
      playRate: rates.play,
      startS: from,
      frames: Math.round(seconds * rates.capture),
    }
  }
  return [
    shot(
      'linden',
      'down-the-line-slow-motion',
      'linden-1',
      referenceSwing,
      'down-the-line',
      { side: 0.015, height: 0.95, distance: 4.2, yaw: 1, pitch: -0.4, roll: 0.2, focal: 1540 },
      -0.46,
      { capture: 120, play: 30 },
    ),
    shot(
      'rowan',
      'face-on',
      'rowan-1',
      acrossSwing,
      'face-on',
      { side: 0.06, height: 0.94, distance: 3.9, yaw: -0.8, pitch: -0.5, roll: 0.4, focal: 1560 },
      -0.5237,
    ),
    shot(
      'rowan',
      'down-the-line',
      'rowan-1',
      acrossSwing,
      'down-the-line',
      { side: 0.35, height: 1.02, distance: 4.2, yaw: -2.6, pitch: -1.1, roll: -0.5, focal: 1580 },
      -0.37,
    ),
    shot(
      'maren',
      'face-on',
      'maren-1',
      shortSwing,
      'face-on',
      { side: -0.03, height: 0.9, distance: 3.85, yaw: 0.5, pitch: 0.3, roll: -0.3, focal: 1570 },
      -0.48,
    ),
    shot(
      'maren',
      'down-the-line',
      'maren-2',
      shortSwingAgain,
      'down-the-line',
      { side: -0.06, height: 0.92, distance: 4.3, yaw: 1.4, pitch: -0.3, roll: 0.5, focal: 1570 },
      -0.51,
    ),
    shot(
      'linden',
      'face-on',
      'linden-1',
      referenceSwing,
      'face-on',
      { side: 0.02, height: 0.95, distance: 3.95, yaw: 0.2, pitch: -0.2, roll: -0.2, focal: 1540 },
      -0.55,
    ),
  ]
}
