import { offerWords, rateOffers } from '../../../shared/swing/clockRate.ts'
import type { MeasuredClip } from '../../../shared/swing/assemble.ts'
import type { TieCheck } from '../../../shared/swing/tieCheck.ts'
import { Button } from '../../ui/Button.tsx'
import { useClip } from '../../ui/useRecords.ts'
import { viewWords } from '../../ui/words.ts'
import { useMeasuringParts } from './measuringContext.tsx'

/** The frame rate by which the clocks of two tied clips would run alike, with the press that says so. */
export function RateOffers({ check, clips }: { readonly check: TieCheck; readonly clips: readonly [MeasuredClip, MeasuredClip] }) {
  const { filmed } = useMeasuringParts()
  const [one, two] = [useClip(clips[0].id), useClip(clips[1].id)]
  if (!one || !two) return null
  return rateOffers(check, [one, two]).map((offer) => {
    const { id, view, captureRate } = clips[offer.clip]
    return (
      <p key={id} className="calibration-tie">
        <span>{viewWords[view]}: {offerWords(offer, captureRate).replace('+-', '\u00b1')}</span>
        <Button look="plain" onClick={() => filmed.atRate(id, offer.captureRate, offer.clip === 0 ? one : two)}>Filmed at {offer.captureRate}</Button>
      </p>
    )
  })
}
