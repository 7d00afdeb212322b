import type { Frame } from 'node-av'
import { addEncodedTrack, openAac } from './encoders.ts'
import type { FileWriter } from './fileWriter.ts'
import { soundRate } from './soundDecoder.ts'

/** An AAC track of a file being written, 48 kHz. */
export interface SoundTrack extends Disposable {
  /** Encodes a frame of 1024 planar float samples, `pts` in samples (null: that was all). The frame stays the caller's. */
  write(frame: Frame | null): Promise<void>
}

/** Adds the track to `output`, which must not be started yet. */
export async function addSoundTrack(output: FileWriter, { channels, bitRate = channels === 1 ? 96_000 : 160_000 }: { channels: 1 | 2, bitRate?: number }): Promise<SoundTrack> {
  return addEncodedTrack(output, await openAac({ channels, bitRate }), soundRate)
}
