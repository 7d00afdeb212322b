import { AudioBufferSink, Input, MP4, UrlSource } from 'mediabunny'

/** A clip's sound as one channel. */
export interface ClipSound {
  readonly samples: Float32Array
  readonly rate: number
  /** Seconds from the first frame of the picture to the first sample; negative where the sound begins before it. */
  readonly startS: number
}

/**
 * Reads the sound of a review copy, null where it has none. Channels are added up: a blow is heard by whichever
 * microphone stands nearer.
 * @param progress called with the share that is read, 0 to 1
 * @throws where the file cannot be read or its sound cannot be decoded
 */
export async function readSound(url: string, signal: AbortSignal, progress: (share: number) => void = () => undefined): Promise<ClipSound | null> {
  const input = new Input({ source: new UrlSource(url), formats: [MP4] })
  try {
    const [track, picture] = await Promise.all([input.getPrimaryAudioTrack(), input.getPrimaryVideoTrack()])
    if (!track) return null
    const [firstFrame, end] = [picture ? await picture.getFirstTimestamp() : 0, await track.computeDuration()]
    const pieces: { readonly at: number; readonly samples: Float32Array }[] = []
    let rate = 0
    for await (const { buffer, timestamp } of new AudioBufferSink(track).buffers()) {
      signal.throwIfAborted()
      rate = buffer.sampleRate
      const sum = new Float32Array(buffer.length)
      for (let channel = 0; channel < buffer.numberOfChannels; channel++) {
        const own = buffer.getChannelData(channel)
        for (let i = 0; i < sum.length; i++) sum[i] = sum[i]! + own[i]! / buffer.numberOfChannels
      }
      pieces.push({ at: timestamp, samples: sum })
      progress(Math.min(1, timestamp / end))
    }
    const [first] = pieces
    if (!first || rate === 0) return null
    progress(1)
    // By their times: where some are missing there is silence.
    const placeOf = (at: number): number => Math.round((at - first.at) * rate)
    const last = pieces.at(-1)!
    const samples = new Float32Array(placeOf(last.at) + last.samples.length)
    for (const piece of pieces) samples.set(piece.samples, Math.max(0, placeOf(piece.at)))
    return { samples, rate, startS: first.at - firstFrame }
  } finally {
    input.dispose()
  }
}
