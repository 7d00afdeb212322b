import * as z from 'zod'
import { createArms } from './model.ts'
import { chestOf, fractions, fractionSigma, usualBody, usualHands, usualPose, usualPoseOfLeastCost, usualSwivelDeg, usualTop } from './standard.ts'
import { isArmsRefusal, type ArmsInput, type ArmsRefusal } from './types.ts'

/**
 * The arms file: a body and its pose at the top by a few numbers, or a whole input as the fit gives it. JSON, versioned.
 * { "format": "crossbearing-arms", "version": 1, "statureM": 1.8, "upperArmM": .33, "trunk": { "turnDeg": 90 }, "hands": [x, y, z], ... }
 * What is left out is usual. With `hands` there is no pose to go through: easy middles are generic.
 */
const finite = z.number({ error: (issue) => (issue.input === undefined ? 'is missing' : 'is not a finite number') })
const notNegative = finite.min(0, { error: 'must not be negative' })
const atMost = (most: number, unit: string) => finite.max(most, { error: `must be at most ${most} ${unit}` })
const within = (low: number, high: number) => finite.min(low, { error: `must be from ${low} to ${high} degrees` }).max(high, { error: `must be from ${low} to ${high} degrees` })
const vector = z.tuple([finite, finite, finite], { error: 'must be three numbers' })
const metres = finite.min(-10, { error: 'must be within 10 m' }).max(10, { error: 'must be within 10 m' })
const object = { error: 'must be an object' }

const hold = z.object({ alongM: finite, awayM: finite, roundDeg: finite }, object)
const arm = z.object({ upperArm: finite, forearm: finite }, object)
const whole = z.object(
  {
    body: z.object(
      {
        arms: z.object({ lead: arm, trail: arm }, object),
        grip: z.object({ lead: hold, trail: hold, apartM: finite, faceDeg: finite }, object),
        club: z.object({ lengthM: finite, buttToHandsM: finite, headLine: z.tuple([finite, finite], { error: 'must be two numbers' }).optional() }, object),
      },
      object,
    ),
    chest: z.object({ axes: z.object({ lead: vector, up: vector, front: vector }, object), leadShoulder: vector, trailShoulder: vector, trailHip: vector }, object),
    hands: vector,
    anchor: z.object({ filmed: z.boolean({ error: 'must be true or false' }), shaft: vector, side: vector, leadElbow: vector, trailElbow: vector }, object).nullable(),
    turning: vector.nullable(),
    lengthSigma: notNegative,
  },
  object,
)

const file = z.strictObject(
  {
    format: z.literal('crossbearing-arms', { error: 'must be "crossbearing-arms"' }),
    version: z.literal(1, { error: 'must be 1, the only version there is' }),
    statureM: finite.min(0.8, { error: 'must be at least 0.8 m' }).max(2.6, { error: 'must be at most 2.6 m' }).optional(),
    upperArmM: atMost(1, 'm').optional(),
    forearmM: atMost(1, 'm').optional(),
    clubLengthM: atMost(2, 'm').optional(),
    trunk: z.strictObject({ turnDeg: within(-180, 180).optional(), inclinationDeg: within(-90, 90).optional(), sideBendDeg: within(-90, 90).optional() }, object).optional(),
    hands: z.tuple([metres, metres, metres], { error: 'must be three numbers' }).optional(),
    swivelDeg: within(-180, 180).optional(),
    shaft: z.strictObject({ atLevelDeg: within(-180, 180).optional(), shortDeg: notNegative.max(85, { error: 'must be at most 85' }).optional(), slopeDeg: finite.gt(5, { error: 'must be more than 5' }).max(89, { error: 'must be at most 89' }).optional() }, object).optional(),
    input: whole.optional(),
  },
  { error: 'the file must be one JSON object' },
)

const refuse = (refused: ArmsRefusal['refused'], why: string): ArmsRefusal => ({ refused, why, nearest: null })

/** views[0].frames */
const fieldName = (path: readonly PropertyKey[]): string => path.reduce<string>((name, step) => (typeof step === 'number' ? `${name}[${step}]` : name ? `${name}.${String(step)}` : String(step)), '')

/** Checks a parsed JSON value and makes an input of it, or says in one sentence what is wrong. */
export function readArmsJson(json: unknown): ArmsInput | ArmsRefusal {
  const parsed = file.safeParse(json)
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!
    const message = issue.code === 'unrecognized_keys' ? `does not know ${issue.keys.map((key) => `"${key}"`).join(', ')}` : issue.message
    const field = fieldName(issue.path)
    return refuse('bad-input', field ? `${field}: ${message}.` : `${message[0]!.toUpperCase()}${message.slice(1)}.`)
  }
  const { statureM = 1.8, upperArmM, forearmM, clubLengthM, trunk, hands, swivelDeg, shaft, input } = parsed.data
  if (input) {
    const beside = Object.keys(parsed.data).filter((key) => key !== 'format' && key !== 'version' && key !== 'input')
    return beside.length > 0 ? refuse('contradiction', `input: is a whole body and pose, which leaves no room for ${beside.join(', ')}: leave out the one or the other.`) : checked(input)
  }
  if (hands && (shaft || swivelDeg !== undefined)) return refuse('contradiction', `hands: with them elbow and shaft are found, and ${[...(swivelDeg === undefined ? [] : ['swivelDeg']), ...(shaft ? ['shaft'] : [])].join(' and ')} would set them too: leave out the one or the other.`)
  for (const [name, value] of [['upperArmM', upperArmM], ['forearmM', forearmM], ['clubLengthM', clubLengthM]] as const)
    if (value !== undefined && !(value > 0)) return refuse('zero-length', `${name}: must be longer than nothing, not ${value} m.`)
  const usual = usualBody(statureM, clubLengthM)
  const arms = { upperArm: upperArmM ?? usual.arms.lead.upperArm, forearm: forearmM ?? usual.arms.lead.forearm }
  const body = { ...usual, arms: { lead: arms, trail: arms } }
  const angles = { turnDeg: trunk?.turnDeg ?? usualTop.turnDeg, inclinationDeg: trunk?.inclinationDeg ?? usualTop.inclinationDeg, sideBendDeg: trunk?.sideBendDeg ?? usualTop.sideBendDeg }
  const chest = chestOf(statureM, angles, [-0.09 * statureM, (fractions.hipHeight - 0.018) * statureM, 0.02 * statureM])
  if (hands) return checked({ body, chest, hands, anchor: null, turning: null, lengthSigma: fractionSigma })
  const of = { body, chest, hands: usualHands, swivelDeg: swivelDeg ?? usualSwivelDeg, slopeDeg: shaft?.slopeDeg ?? 50, atLevelDeg: shaft?.atLevelDeg ?? 0 }
  const pose = shaft?.shortDeg === undefined ? usualPoseOfLeastCost(of) : (usualPose(of, shaft.shortDeg)?.input ?? null)
  return pose ? checked(pose) : refuse('out-of-reach', 'No pose at the top closes with these numbers: the club would be out of reach of one arm or the other; try a shaft farther from level, or leave it out.')
}

/** An input whose chain closes, or why it does not. */
function checked(input: ArmsInput): ArmsInput | ArmsRefusal {
  const model = createArms(input)
  return isArmsRefusal(model) ? model : input
}
