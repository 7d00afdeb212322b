import type { FaceInput } from '../../../shared/contract/faceInput.ts'
import { missFan } from '../../../shared/flight/missFan.ts'
import { wholePercents } from '../../../shared/flight/wholePercents.ts'
import type { Misses } from '../../../shared/markup/figure.ts'
import { saidKeyOf } from '../stale.ts'
import { missInputOf } from './faceState.ts'

/** Below this share of misses to one side, they all but go to the other. */
const oneSided = 0.15

const shareWords: Readonly<Record<FaceInput['shareOf'], string>> = {
  measured: 'the middle of what was measured', driver: 'common practice for a driver', irons: 'common practice for irons', own: 'the coach\u2019s own',
}

/** The fan as a mark carries it, with its sentence. Throws for numbers that cannot hold (`missFault` says why). */
export function missesOf(input: FaceInput, handedness: 'right' | 'left', count = 240): Misses {
  const fan = missFan(missInputOf(input), 1, count)
  const { pull, push } = fan
  const [toPull, toPush] = wholePercents([pull.share, push.share])
  const verdict = push.share < oneSided ? `Misses to the pull side: ${toPull} %` : pull.share < oneSided ? `Misses to the push side: ${toPush} %`
    : `Misses both ways: ${toPull} % pull side, ${toPush} % push side`
  return {
    from: saidKeyOf(input), distance: input.distance, unit: input.unit, starts: fan.shots.map(({ start }) => Math.round(start * 1000) / 1000), start: fan.start, startSpread: fan.startSpread, missSpread: fan.missSpread,
    pull, push, verdict, handedness,
    basis: `face ${input.face.value} \u00b1 ${input.face.sigma}, path ${input.path.value} \u00b1 ${input.path.sigma} degrees, k ${input.share.value.toFixed(2)} (${shareWords[input.shareOf]}), closure ${input.closureRate.value} \u00b1 ${input.closureRate.sigma} degrees a second (${input.closureBasis}), timing ${input.timingMs.value} \u00b1 ${input.timingMs.sigma} ms; straight flight, no wind, no curve`,
  }
}
