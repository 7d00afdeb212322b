import type { PositionName } from '../../contract/pointsFile.ts'
import { aboveLevel, fromHanging, millimetres, minus, near, planar, turnedClockwise, type Measure } from '../definition.ts'

const plane = 'vertical, along the target line, as the face-on camera sees it, levelled'
const all: readonly PositionName[] = [
  'address', 'takeaway', 'shaft-level-back', 'lead-arm-level-back', 'top', 'lead-arm-level-down', 'shaft-level-down', 'impact', 'shaft-level-through', 'finish',
]
const back: readonly PositionName[] = ['address', 'takeaway', 'shaft-level-back', 'lead-arm-level-back', 'top', 'lead-arm-level-down', 'shaft-level-down']
const moved: readonly PositionName[] = ['lead-arm-level-back', 'top', 'lead-arm-level-down', 'impact']
const views = ['face-on'] as const

export const faceOnMeasures: readonly Measure[] = [
  planar({
    id: 'shoulder-centre-drift', views, at: moved, unit: 'mm', plane, purpose: 'size',
    sign: 'positive toward the target',
    definition: 'How far the point midway between the shoulders has gone sideways from its place at address.',
    formula: 'u(midway between shoulders, here) - u(the same, address)',
    inputs: [['midShoulders', 'here'], ['midShoulders', 'address']],
    value: ([here, there]) => millimetres(here![0] - there![0]),
  }),
  planar({
    id: 'shoulder-centre-rise', views, at: moved, unit: 'mm', plane, purpose: 'size',
    sign: 'positive up',
    definition: 'How far the point midway between the shoulders has risen from its place at address.',
    formula: 'v(midway between shoulders, here) - v(the same, address)',
    inputs: [['midShoulders', 'here'], ['midShoulders', 'address']],
    value: ([here, there]) => millimetres(here![1] - there![1]),
  }),
  planar({
    id: 'lead-shoulder-drop', views, at: ['lead-arm-level-back', 'top'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive down',
    definition: 'How far the lead shoulder has sunk from its place at address.',
    formula: 'v(lead shoulder, address) - v(lead shoulder, here)',
    inputs: [['leadShoulder', 'here'], ['leadShoulder', 'address']],
    value: ([here, there]) => millimetres(there![1] - here![1]),
  }),
  planar({
    id: 'lead-shoulder-path', views, at: ['lead-arm-level-back', 'top'], unit: 'deg', plane, purpose: 'shape',
    sign: '0 straight away from the target, positive downward',
    definition: 'The direction in which the lead shoulder has gone from its place at address.',
    formula: 'atan2(-dv, -du) of lead shoulder, here minus address',
    inputs: [['leadShoulder', 'here'], ['leadShoulder', 'address']],
    value: ([here, there]) => aboveLevel(here!, there!),
  }),
  planar({
    id: 'shoulder-line-tilt', views, at: ['address', 'top', 'impact'], unit: 'deg', plane, purpose: 'shape',
    sign: 'positive with the lead shoulder higher',
    definition: 'The slope of the line from trail to lead shoulder as it looks.',
    formula: 'atan2(dv, du) from trail to lead shoulder',
    inputs: [['trailShoulder', 'here'], ['leadShoulder', 'here']],
    value: ([trail, lead]) => aboveLevel(trail!, lead!),
  }),
  planar({
    id: 'hip-line-tilt', views, at: ['address', 'top', 'impact'], unit: 'deg', plane, purpose: 'shape',
    sign: 'positive with the lead hip higher',
    definition: 'The slope of the line from trail to lead hip as it looks.',
    formula: 'atan2(dv, du) from trail to lead hip',
    inputs: [['trailHip', 'here'], ['leadHip', 'here']],
    value: ([trail, lead]) => aboveLevel(trail!, lead!),
  }),
  planar({
    id: 'hip-shift', views, at: ['top', 'lead-arm-level-down', 'impact'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive toward the target',
    definition: 'How far the point midway between the hips has gone sideways from its place at address.',
    formula: 'u(midway between hips, here) - u(the same, address)',
    inputs: [['midHips', 'here'], ['midHips', 'address']],
    value: ([here, there]) => millimetres(here![0] - there![0]),
  }),
  planar({
    id: 'lead-arm-to-vertical', views, at: ['address', 'shaft-level-back', 'lead-arm-level-back', 'top', 'lead-arm-level-down', 'shaft-level-down', 'impact'],
    unit: 'deg', plane, purpose: 'shape',
    sign: '0 hanging straight down, 90 level, positive away from the target',
    definition: 'The angle of the lead arm, shoulder to wrist, from straight down.',
    formula: 'atan2(-du, -dv) from lead shoulder to lead wrist',
    inputs: [['leadShoulder', 'here'], ['leadWrist', 'here']],
    value: ([shoulder, wrist]) => near(fromHanging(shoulder!, wrist!), 90),
  }),
  planar({
    id: 'shaft-to-vertical', views, at: all, unit: 'deg', plane, purpose: 'shape',
    sign: '0 hanging straight down, positive away from the target; counted on past 180, and backward from impact on',
    definition: 'The angle of the shaft, butt to head, from straight down.',
    formula: 'atan2(-du, -dv) from butt (or hands) to clubhead',
    inputs: [['shaftTail', 'here'], ['shaftTip', 'here']],
    value: ([tail, tip], at) => near(fromHanging(tail!, tip!), back.includes(at) ? 130 : -130),
  }),
  planar({
    id: 'lead-elbow-bend', views, at: ['address', 'top', 'lead-arm-level-down', 'impact'], unit: 'deg', plane, purpose: 'shape',
    sign: '0 straight, positive with the forearm turned on clockwise in the picture (the way of the backswing)',
    definition: 'By how much the lead forearm is turned from the line of the upper arm, as it looks.',
    formula: 'signed angle from (lead elbow - lead shoulder) to (lead wrist - lead elbow)',
    inputs: [['leadShoulder', 'here'], ['leadElbow', 'here'], ['leadWrist', 'here']],
    value: ([shoulder, elbow, wrist]) => turnedClockwise(minus(elbow!, shoulder!), minus(wrist!, elbow!)),
  }),
  planar({
    id: 'stance-width', views, at: ['address'], unit: 'mm', plane, purpose: 'size',
    sign: 'positive with the lead foot nearer the target',
    definition: 'The distance between the ankles along the target line.',
    formula: 'u(lead ankle) - u(trail ankle)',
    inputs: [['leadAnkle', 'here'], ['trailAnkle', 'here']],
    value: ([lead, trail]) => millimetres(lead![0] - trail![0]),
  }),
  planar({
    id: 'ball-in-stance', views, at: ['address'], unit: 'share', plane, purpose: 'shape',
    sign: '0 at the trail ankle, 1 at the lead ankle',
    definition: 'Where the ball looks to lie between the ankles; it is nearer the camera, so a camera to one side shifts it.',
    formula: '(u(ball) - u(trail ankle)) / (u(lead ankle) - u(trail ankle))',
    inputs: [['ball', 'here'], ['trailAnkle', 'here'], ['leadAnkle', 'here']],
    value: ([ball, trail, lead]) => (ball![0] - trail![0]) / (lead![0] - trail![0]),
  }),
  planar({
    id: 'lead-wrist-angle', views: ['face-on', 'down-the-line'], at: ['lead-arm-level-back', 'top', 'lead-arm-level-down'], unit: 'deg',
    plane: 'the picture of the view, levelled', purpose: 'shape',
    sign: '0 in line, positive with the shaft turned on clockwise in the picture',
    definition: 'By how much the shaft is turned from the line of the lead forearm, as it looks.',
    formula: 'signed angle from (lead wrist - lead elbow) to (clubhead - butt)',
    inputs: [['leadElbow', 'here'], ['leadWrist', 'here'], ['shaftTail', 'here'], ['shaftTip', 'here']],
    value: ([elbow, wrist, tail, tip]) => near(turnedClockwise(minus(wrist!, elbow!), minus(tip!, tail!)), 90),
  }),
]
