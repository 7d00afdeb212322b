import { poseOf } from './pose.ts'
import type { ArmsModel } from './model.ts'
import { sigmaOfChange, type Spread } from './spread.ts'
import type { ArmsRefusal, ForwardResult } from './types.ts'

const toRad = Math.PI / 180

export const kindWords = {
  anchored: 'through the filmed pose; what is predicted is the change from it, chest and hands held',
  sketch: 'a sketch: no filmed pose, so the direction itself may be tens of degrees off; chest and hands held',
} as const

const endWords = { limit: 'a joint would be far past its limit there', fold: 'the shaft would have to jump there', reach: 'a hand comes out of its arm’s reach there', round: 'the elbow would stand over the arm there' } as const

/**
 * The pose of least cost with the trail elbow at a swivel.
 * @param swivelDeg 0 hanging straight down from the line shoulder to wrist, positive out behind
 * @param spread for the error of the change
 */
export function forward(model: ArmsModel, swivelDeg: number, spread: Spread | null = null): ForwardResult | ArmsRefusal {
  if (!Number.isFinite(swivelDeg)) return { refused: 'bad-input', why: 'The elbow’s swivel is not a finite number.', nearest: null }
  const { branch } = model
  const found = branch.at(swivelDeg === model.swivelDeg ? branch.now.swivel : swivelDeg * toRad)
  if ('reason' in found) {
    const nearest = found.swivel / toRad
    return {
      refused: 'off-the-branch', why: `The elbow cannot go to ${swivelDeg.toFixed(1)} degrees from where it is: ${endWords[found.reason]}.`,
      nearest: { swivelDeg: nearest, words: `the elbow at ${nearest.toFixed(1)} degrees` },
    }
  }
  const pose = poseOf(model.input, model.chain, found.posture, model.ease, model.turning)
  const now = nowOf(model)
  if (!pose || !now) return { refused: 'out-of-reach', why: 'The chain does not close there.', nearest: null }
  const { readings } = pose
  const wrap = (d: number): number => d - 360 * Math.round(d / 360)
  return {
    ...pose, kind: model.kind, reachable: found.within, cost: branch.cost(found.posture), basis: kindWords[model.kind],
    change: {
      swivelDeg: readings.swivelDeg - now.readings.swivelDeg, elbowOutCm: readings.elbowOutCm - now.readings.elbowOutCm,
      azimuthDeg: wrap(readings.azimuthDeg - now.readings.azimuthDeg),
      azimuthAtLevelDeg: readings.azimuthAtLevelDeg === null || now.readings.azimuthAtLevelDeg === null ? null : wrap(readings.azimuthAtLevelDeg - now.readings.azimuthAtLevelDeg),
      azimuthSigmaDeg: spread ? sigmaOfChange(spread, readings.swivelDeg - now.readings.swivelDeg) : null,
    },
  }
}

const nows = new WeakMap<ArmsModel, ReturnType<typeof poseOf>>()
function nowOf(model: ArmsModel): ReturnType<typeof poseOf> {
  let now = nows.get(model)
  if (now === undefined) nows.set(model, (now = poseOf(model.input, model.chain, model.branch.now.posture, model.ease, model.turning)))
  return now
}
