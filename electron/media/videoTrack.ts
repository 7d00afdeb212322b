import { AV_CODEC_FLAG_FRAME_DURATION, type Frame } from 'node-av'
import { addEncodedTrack, openH264 } from './encoders.ts'
import type { FileWriter } from './fileWriter.ts'

export interface VideoTrackOptions {
  width: number
  height: number
  /** Ticks a second; frames' `pts` are ticks. */
  timescale: number
  /** Frames a second, only to choose the H.264 level. */
  rate: number
  /** From one key frame to the next; 1 makes every frame a key frame. */
  group: number
  crf: number
  preset: string
  tune?: string
  /** Ticks that the frame at `pts` lasts. */
  lasts(pts: number): number
}

/** An H.264 track of a file being written: 8-bit 4:2:0, BT.709, limited range, no B-frames, no scene cuts. */
export interface VideoTrack extends Disposable {
  /** Encodes a frame (null: that was all) and writes what comes out. The frame stays the caller's. */
  write(frame: Frame | null): Promise<void>
}

/** Adds the track to `output`, which must not be started yet. */
export async function addVideoTrack(output: FileWriter, { lasts, tune, ...options }: VideoTrackOptions): Promise<VideoTrack> {
  const { group, timescale } = options
  const encoder = await openH264({
    ...options,
    bFrames: 0,
    flags: [AV_CODEC_FLAG_FRAME_DURATION],
    options: tune ? { tune } : {},
    x264: `scenecut=0:keyint=${group}:min-keyint=${group}`,
  })
  return addEncodedTrack(output, encoder, timescale, (packet) => (packet.duration = BigInt(lasts(Number(packet.pts)))))
}
