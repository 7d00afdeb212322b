import { writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { envelopeStepSeconds } from '../media/envelope.ts'
import type { Probed } from '../media/probe.ts'
import type { ReviewCopy } from '../media/reviewCopy.ts'
import type { TakenIn } from './engines.ts'

/** Writes what belongs beside a review copy, under the names that the media paths serve. */
export async function writeClipFiles(folder: string, { stills, envelope }: Pick<ReviewCopy, 'stills' | 'envelope'>): Promise<void> {
  const { jpeg, frames, frameWidth, frameHeight } = stills.filmstrip
  await writeFile(join(folder, 'poster.jpg'), stills.poster)
  await writeFile(join(folder, 'strip.jpg'), jpeg)
  await writeFile(join(folder, 'strip.json'), JSON.stringify({ frames, width: frameWidth, height: frameHeight }))
  if (envelope)
    await writeFile(
      join(folder, 'envelope.json'),
      JSON.stringify({
        perSecond: Math.round(1 / envelopeStepSeconds),
        peaks: Array.from(envelope, (peak) => Math.round(peak * 1000) / 1000),
      }),
    )
}

/** What the library keeps of a clip. The index and the description together lead from a frame back into the file. */
export function takenIn({ description, index }: Probed, review: Pick<ReviewCopy, 'width' | 'height' | 'soundLost'>): TakenIn<Probed> {
  const { display, captureRate } = description
  return {
    index: { description, index },
    facts: {
      width: display.width,
      height: display.height,
      frames: { timescale: index.timescale, ticks: index.ticks, endTick: index.endTick },
      captureRate: captureRate.rate,
      captureRateBasis: captureRate.basis,
      playRate: index.playRate,
      hasSound: description.sound !== null && !review.soundLost,
      hdr: description.colour.hdr,
      codec: description.codec,
      reviewWidth: review.width,
      reviewHeight: review.height,
      filmedAt: description.filmedAt,
    },
  }
}
