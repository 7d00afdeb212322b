import type { SwingTimes } from './clubMotion.ts'
import type { SwingSpec } from './swingSpec.ts'

/** What the arms do with the club at an instant. */
export interface ArmKey {
  readonly t: number
  /** From the lead shoulder to the hands, in the thorax's axes, degrees: 0 out to the lead side and 90 forward; over the shoulders' level;
   *  and how far the lead arm is stretched, 1 straight. Null where the ball says where the hands are. */
  readonly hands: readonly [across: number, raised: number, stretch: number] | null
  /** Of the club about its own shaft, degrees. */
  readonly roll: number
  /** Which way each elbow points round its arm, degrees; the trail one's at the top is the specification's. */
  readonly leadElbow: number
  readonly trailElbow: number | null
}

/**
 * The instants between which the arms move smoothly. The club is held in both hands as one piece, so that its turn about its shaft and
 * the place of the hands say where both wrists are. The numbers were sought so that wrists, forearms and shoulders keep about to the ranges
 * that the AAOS gives, through all of the four swings.
 */
export function armKeys({ topArms: { acrossDeg, raisedDeg, stretch, rollDeg, leadElbowDeg } }: SwingSpec, { top, impact, finish }: SwingTimes): ArmKey[] {
  const down = impact - top
  return [
    { t: 0, hands: null, roll: 0, leadElbow: 57, trailElbow: -47 },
    { t: 0.4 * top, hands: [138, -51, 0.982], roll: 15, leadElbow: 59, trailElbow: 18 },
    { t: 0.72 * top, hands: [161, -15, 0.976], roll: 30, leadElbow: 101, trailElbow: 74 },
    { t: top, hands: [acrossDeg, raisedDeg, stretch], roll: rollDeg, leadElbow: leadElbowDeg, trailElbow: null },
    { t: top + 0.42 * down, hands: [177, -6, 0.955], roll: 87, leadElbow: 121, trailElbow: 48 },
    { t: top + 0.75 * down, hands: [153, -33, 0.968], roll: 21, leadElbow: 104, trailElbow: 78 },
    { t: impact, hands: null, roll: 0, leadElbow: 49, trailElbow: 65 },
    { t: impact + 0.07, hands: [108, -58, 0.955], roll: -59, leadElbow: -45, trailElbow: 16 },
    { t: impact + 0.2, hands: [81, 3, 0.900], roll: -173, leadElbow: -74, trailElbow: -76 },
    { t: finish, hands: [137, 78, 0.500], roll: -129, leadElbow: 36, trailElbow: -40 },
  ]
}
