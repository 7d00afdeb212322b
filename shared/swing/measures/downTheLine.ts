import { aboveLevel, millimetres, minus, near, planar, type Measure, type Plain } from '../definition.ts'
import { missing } from '../reading.ts'

const plane = 'vertical, across the target line, as the down-the-line camera sees it, levelled'
const views = ['down-the-line'] as const
const degrees = 180 / Math.PI

/** Degrees of a leaning line from upright, positive toward the ball. */
const lean = (base: Plain, top: Plain): number => Math.atan2(top[0] - base[0], top[1] - base[1]) * degrees
/** Degrees by which a line, whichever way along it, falls toward the ball: within (-45, 135]. */
const pitch = (from: Plain, to: Plain): number => near(-aboveLevel(from, to), 45, 180)

/** Lines that meet under this angle have no meeting point worth naming, degrees. */
const grazing = 15

/** Where the line through a and b is met by the line through p and q, in lengths of ab from a. */
export function meetingShare(a: Plain, b: Plain, p: Plain, q: Plain): { share: number; angle: number } {
  const arm = minus(b, a)
  const line = minus(q, p)
  const cross = arm[0] * line[1] - arm[1] * line[0]
  const from = minus(p, a)
  const angle = Math.asin(Math.min(1, Math.abs(cross) / (Math.hypot(...arm) * Math.hypot(...line)))) * degrees
  return { share: (from[0] * line[1] - from[1] * line[0]) / cross, angle }
}

/** Signed distance of p from the line a to b, positive on the right of it as one looks from a to b. */
const besideLine = (p: Plain, a: Plain, b: Plain): number => {
  const d = minus(b, a)
  const f = minus(p, a)
  return (d[1] * f[0] - d[0] * f[1]) / Math.hypot(...d)
}

export const downTheLineMeasures: readonly Measure[] = [
  planar({
    id: 'inclination', views, at: ['address', 'top', 'lead-arm-level-down', 'impact'], unit: 'deg', plane, purpose: 'shape',
    sign: '0 upright, positive bent toward the ball',
    definition: 'How far the line from the base to the top of the spine leans from upright; midway between hips and between shoulders stand in.',
    formula: 'atan2(du, dv) from spine base to spine top',
    inputs: [['spineBase', 'here'], ['spineTop', 'here']],
    value: ([base, top]) => lean(base!, top!),
  }),
  planar({
    id: 'inclination-change', views, at: ['top', 'lead-arm-level-down', 'impact'], unit: 'deg', plane, purpose: 'shape',
    sign: 'positive bent more than at address, negative stood up',
    definition: 'The inclination here less that at address.',
    formula: 'inclination(here) - inclination(address)',
    inputs: [['spineBase', 'here'], ['spineTop', 'here'], ['spineBase', 'address'], ['spineTop', 'address']],
    value: ([base, top, base0, top0]) => near(lean(base!, top!) - lean(base0!, top0!), 0),
  }),
  planar({
    id: 'shaft-pitch', views,
    at: ['address', 'takeaway', 'shaft-level-back', 'lead-arm-level-back', 'top', 'lead-arm-level-down', 'shaft-level-down', 'impact', 'shaft-level-through', 'finish'],
    unit: 'deg', plane, purpose: 'shape',
    sign: '0 level, 90 upright, positive falling toward the ball; within -45 to 135, whichever way the club points along the line',
    definition: 'How steep the line of the shaft looks.',
    formula: '-atan2(dv, du) of the shaft, modulo 180',
    inputs: [['shaftTail', 'here'], ['shaftTip', 'here']],
    value: ([tail, tip]) => pitch(tail!, tip!),
  }),
  planar({
    id: 'shaft-to-shaft-line', views, at: ['lead-arm-level-back', 'lead-arm-level-down', 'shaft-level-down', 'impact'], unit: 'deg', plane, purpose: 'shape',
    sign: 'positive steeper than at address',
    definition: 'The steepness of the shaft less that of the shaft at address (the shaft line).',
    formula: 'shaft pitch(here) - shaft pitch(address)',
    inputs: [['shaftTail', 'here'], ['shaftTip', 'here'], ['shaftTail', 'address'], ['shaftTip', 'address']],
    value: ([tail, tip, tail0, tip0]) => near(pitch(tail!, tip!) - pitch(tail0!, tip0!), 0, 180),
  }),
  planar({
    id: 'shaft-to-elbow-line', views, at: ['lead-arm-level-back', 'lead-arm-level-down', 'shaft-level-down', 'impact'], unit: 'deg', plane, purpose: 'shape',
    sign: 'positive steeper than the elbow line',
    definition: 'The steepness of the shaft less that of the line from the clubhead to the trail elbow at address (the elbow line).',
    formula: 'shaft pitch(here) - pitch of the line from trail elbow to clubhead(address)',
    inputs: [['shaftTail', 'here'], ['shaftTip', 'here'], ['trailElbow', 'address'], ['shaftTip', 'address']],
    value: ([tail, tip, elbow, tip0]) => near(pitch(tail!, tip!) - pitch(elbow!, tip0!), 0, 180),
  }),
  planar({
    id: 'shaft-crossing-trail-arm', views, at: ['lead-arm-level-down'], unit: 'share', plane, purpose: 'shape',
    sign: '0 at the shoulder, 1 at the elbow, unbounded beyond',
    definition:
      'Where the line of the shaft crosses the line of the trail upper arm, both extended: a look, for the two are not equally far from the camera. A camera .3 m to one side moves it by some .07. Absent where the lines meet under 15 degrees.',
    formula: 'the share of trail shoulder to trail elbow at which the line through butt and clubhead meets it',
    inputs: [['trailShoulder', 'here'], ['trailElbow', 'here'], ['shaftTail', 'here'], ['shaftTip', 'here']],
    value: ([shoulder, elbow, tail, tip]) => {
      const { share, angle } = meetingShare(shoulder!, elbow!, tail!, tip!)
      return angle < grazing ? missing(`the shaft and the trail upper arm meet at ${angle.toFixed(0)} degrees in the picture, under ${grazing}`) : share
    },
  }),
  planar({
    id: 'hand-depth', views, at: ['lead-arm-level-back', 'top', 'lead-arm-level-down', 'impact'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive toward the ball',
    definition: 'How far the hands are from their place at address, across the target line.',
    formula: 'u(hands, here) - u(hands, address)',
    inputs: [['hands', 'here'], ['hands', 'address']],
    value: ([here, there]) => millimetres(here![0] - there![0]),
  }),
  planar({
    id: 'hand-height', views, at: ['lead-arm-level-back', 'top', 'lead-arm-level-down', 'impact'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive up',
    definition: 'How far the hands are above their place at address.',
    formula: 'v(hands, here) - v(hands, address)',
    inputs: [['hands', 'here'], ['hands', 'address']],
    value: ([here, there]) => millimetres(here![1] - there![1]),
  }),
  planar({
    id: 'trail-elbow-out', views, at: ['top', 'lead-arm-level-down'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive away from the ball',
    definition: 'How far the trail elbow stands out behind the trail shoulder.',
    formula: 'u(trail shoulder) - u(trail elbow)',
    inputs: [['trailShoulder', 'here'], ['trailElbow', 'here']],
    value: ([shoulder, elbow]) => millimetres(shoulder![0] - elbow![0]),
  }),
  planar({
    id: 'trail-elbow-below-shoulder', views, at: ['top', 'lead-arm-level-down'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive below',
    definition: 'How far the trail elbow is below the level of the point midway between the shoulders.',
    formula: 'v(midway between shoulders) - v(trail elbow)',
    inputs: [['midShoulders', 'here'], ['trailElbow', 'here']],
    value: ([shoulders, elbow]) => millimetres(shoulders![1] - elbow![1]),
  }),
  planar({
    id: 'arm-to-chest-gap', views, at: ['address', 'top', 'lead-arm-level-down'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive on the ball\'s side of the spine',
    definition: 'How far the lead elbow stands off the line of the spine, square to it: it grows as the arm leaves the chest.',
    formula: 'distance of the lead elbow from the line through spine base and spine top',
    inputs: [['leadElbow', 'here'], ['spineBase', 'here'], ['spineTop', 'here']],
    value: ([elbow, base, top]) => millimetres(besideLine(elbow!, base!, top!)),
  }),
  planar({
    id: 'pelvis-depth-change', views, at: ['top', 'lead-arm-level-down', 'impact'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive toward the ball',
    definition: 'How far the point midway between the hips has gone toward the ball from its place at address.',
    formula: 'u(midway between hips, here) - u(the same, address)',
    inputs: [['midHips', 'here'], ['midHips', 'address']],
    value: ([here, there]) => millimetres(here![0] - there![0]),
  }),
]
