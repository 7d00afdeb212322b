/** What makes one swing differ from another. Angles in degrees and lengths in metres, signs as in the trade: see each field. */
export interface SwingSpec {
  readonly statureM: number
  readonly handedness: 'right' | 'left'
  readonly club: { readonly kind: string; readonly lengthM: number; readonly lieDeg: number }
  /** Shaft azimuth at the top: positive across the line, negative laid off; both hands alike. */
  readonly shaftAzimuthTopDeg: number
  /** Angle left to level in the plane of motion at the top: positive short, negative past. */
  readonly shortOfLevelDeg: number
  /** Slope of the club's plane at the top against the ground. */
  readonly topPlaneSlopeDeg: number
  /** Trail elbow at the top: 0 hanging down, positive turned out behind. */
  readonly trailElbowSwivelDeg: number
  /** Head at the top, away from the target. */
  readonly headSwayM: number
  /** Forward inclination at impact minus that at address: negative is lost. */
  readonly inclinationChangeDeg: number
  readonly inclinationDeg: number
  readonly shoulderTurnDeg: number
  /** At the top: where the hands are from the lead shoulder in the thorax's axes, how far the lead arm is stretched, how the club is turned
   *  about its shaft and the lead elbow about its arm. */
  readonly topArms: { readonly acrossDeg: number; readonly raisedDeg: number; readonly stretch: number; readonly rollDeg: number; readonly leadElbowDeg: number }
  readonly pelvisTurnDeg: number
  readonly backswingS: number
  readonly downswingS: number
  /** How fast the shaft turns at impact. */
  readonly impactShaftRateDegS: number
}

/** The seven-iron of the kit: 37 in and 62.5 degrees (common practice, no source). */
export const sevenIron = { kind: '7-iron', lengthM: 0.94, lieDeg: 62.5 } as const

const plain = {
  club: sevenIron,
  inclinationDeg: 36,
  topPlaneSlopeDeg: 52,
  shoulderTurnDeg: 92,
  pelvisTurnDeg: 44,
  backswingS: 0.8,
  downswingS: 0.267,
  impactShaftRateDegS: 2050,
} as const

/** On the line at the top, level, elbow hanging, steady head: the one to hold others against. */
export const referenceSwing: SwingSpec = {
  ...plain,
  topArms: { acrossDeg: 172, raisedDeg: 14, stretch: 0.923, rollDeg: 85, leadElbowDeg: 102 },
  statureM: 1.83,
  handedness: 'right',
  shaftAzimuthTopDeg: 0,
  shortOfLevelDeg: 0,
  trailElbowSwivelDeg: 6,
  headSwayM: 0.006,
  inclinationChangeDeg: -1,
  backswingS: 0.79,
  downswingS: 0.262,
  impactShaftRateDegS: 2150,
}

/** Trail elbow turned out behind, the shaft clearly across the line, and the inclination partly lost on the way down. */
export const acrossSwing: SwingSpec = {
  ...plain,
  topArms: { acrossDeg: 178, raisedDeg: 25, stretch: 0.920, rollDeg: 110, leadElbowDeg: 96 },
  statureM: 1.78,
  handedness: 'right',
  shaftAzimuthTopDeg: 18,
  shortOfLevelDeg: 4,
  trailElbowSwivelDeg: 58,
  headSwayM: 0.035,
  inclinationChangeDeg: -7,
  topPlaneSlopeDeg: 55,
  backswingS: 0.86,
  downswingS: 0.285,
  impactShaftRateDegS: 1960,
}

/** A left-hander on the line whose swing stops short of level: what laid off it looks is all from that. */
export const shortSwing: SwingSpec = {
  ...plain,
  topArms: { acrossDeg: 168, raisedDeg: 10, stretch: 0.936, rollDeg: 95, leadElbowDeg: 114 },
  statureM: 1.69,
  handedness: 'left',
  shortOfLevelDeg: 30,
  topPlaneSlopeDeg: 50,
  // -atan(tan 30 cos 50): a shaft in an unturned plane of slope 50, 30 short.
  shaftAzimuthTopDeg: -20.361,
  trailElbowSwivelDeg: 14,
  headSwayM: 0.018,
  inclinationChangeDeg: -3,
  inclinationDeg: 37,
  shoulderTurnDeg: 84,
  pelvisTurnDeg: 46,
  backswingS: 0.76,
  downswingS: 0.27,
  impactShaftRateDegS: 1900,
}

/** The same left-hander's next swing, as much like the last as a next swing is. */
export const shortSwingAgain: SwingSpec = {
  ...shortSwing,
  shortOfLevelDeg: 27,
  shaftAzimuthTopDeg: -16.5,
  trailElbowSwivelDeg: 17,
  headSwayM: 0.022,
  inclinationChangeDeg: -4,
  shoulderTurnDeg: 86,
  backswingS: 0.785,
  downswingS: 0.269,
  impactShaftRateDegS: 1930,
}
