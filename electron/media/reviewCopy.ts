import { stat, unlink } from 'node:fs/promises'
import { AV_FRAME_FLAG_CORRUPT, type Frame } from 'node-av'
import { displayFilter } from './displayFilter.ts'
import { Envelope } from './envelope.ts'
import { pictureChain, type FilterChain } from './filterChain.ts'
import { openFileWriter } from './fileWriter.ts'
import { indexFrames, type MediaIndex } from './frameIndex.ts'
import { asMediaError, MediaError, stopIfCancelled } from './mediaError.ts'
import { evenSizeWithin } from './orientation.ts'
import { decodePictures } from './pictures.ts'
import { openMedia } from './openMedia.ts'
import type { MediaDescription } from './probe.ts'
import { openSoundDecoder, samplesOf, soundRate } from './soundDecoder.ts'
import { addSoundTrack } from './soundTrack.ts'
import { StillTaker, type Stills } from './stills.ts'
import { addVideoTrack } from './videoTrack.ts'

export const reviewLongSide = 1280
/**
 * Every frame is a key frame. Measured with tests/speed/takein.ts on grainy 1080p: a frame takes 52 KB against 17 in
 * groups of 8, but a random seek decodes one frame in place of 4.5 (median 1.8 against 5.7 ms, p95 9 against 21), a step back
 * costs what a step forward does, and encoding is no slower. Clips are seconds long; a step back is felt each time.
 */
export const reviewGroup = 1
const crf = 22

export interface ReviewCopyRequest {
  path: string
  description: MediaDescription
  index: MediaIndex
  /** Where to write; a temporary path that the caller renames once this has resolved. Whatever stands there is replaced. */
  out: string
  onProgress?: (progress: TakeInProgress) => void
  signal?: AbortSignal
  /** For measuring only. */
  group?: number
}

export interface TakeInProgress { framesDone: number, framesTotal: number }

export interface ReviewCopy {
  /** Pixels of the copy; image space is the description's `display`. */
  width: number
  height: number
  bytes: number
  stills: Stills
  /** Peaks of all channels together, one each 10 ms of file time from tick 0 on, or null without sound. */
  envelope: Float32Array<ArrayBuffer> | null
  /** There is a sound track, but in a form that cannot be read: the copy is silent. */
  soundLost: boolean
}

/**
 * Makes the review copy with its stills and sound envelope in one decoding pass: H.264 and AAC in MP4, exactly one frame
 * for each frame of the index at the very same tick, upright, square, BT.709. The written file is read back and
 * compared before this resolves. On failure or cancel nothing is left at `out`.
 * Throws a MediaError; `damaged` when the file does not yield each frame whole.
 */
export async function makeReviewCopy(request: ReviewCopyRequest): Promise<ReviewCopy> {
  const { path, out, index } = request
  try {
    const made = await encode(request)
    stopIfCancelled(request.signal, path)
    const written = await indexFrames(out)
    if (!sameFrames(written, index)) throw new MediaError('failed', path, 'the review copy does not hold the same frames as the clip')
    return { ...made, bytes: (await stat(out)).size }
  } catch (error) {
    await unlink(out).catch(() => {})
    throw asMediaError(error, path)
  }
}

/** Whether two indexes have the same frames at the same ticks. */
export function sameFrames(a: Pick<MediaIndex, 'timescale' | 'ticks' | 'endTick'>, b: Pick<MediaIndex, 'timescale' | 'ticks' | 'endTick'>): boolean {
  return a.timescale === b.timescale && a.endTick === b.endTick && a.ticks.length === b.ticks.length && a.ticks.every((tick, i) => tick === b.ticks[i])
}

async function encode(request: ReviewCopyRequest): Promise<Omit<ReviewCopy, 'bytes'>> {
  const { path, description, index, out, signal } = request
  const { ticks } = index
  const size = evenSizeWithin(description.display, reviewLongSide)
  await using output = openFileWriter(out, 'mp4')
  const lastsFrom = new Map(ticks.map((tick, i) => [tick, (ticks[i + 1] ?? index.endTick) - tick]))
  using video = await addVideoTrack(output, {
    ...size, timescale: index.timescale, rate: index.playRate, group: request.group ?? reviewGroup, crf, preset: 'ultrafast', tune: 'fastdecode',
    lasts: (tick) => lastsFrom.get(tick) ?? 0,
  })
  await using media = await openMedia(path)
  const stream = media.video
  if (!stream) throw new MediaError('no-video', path)
  using sound = media.sound && await openSoundDecoder(media.sound)
  using soundTrack = sound && await addSoundTrack(output, { channels: sound.channels })
  const envelope = sound && new Envelope(soundRate)
  const soundShift = BigInt(Math.round(index.tickOffset / index.timescale * soundRate))
  const takeSound = async (frame: Frame) => {
    using samples = frame
    samples.pts += soundShift
    for (let channel = 0; channel < sound!.channels; channel++) envelope!.add(samplesOf(samples, channel), Number(samples.pts))
    await soundTrack!.write(samples)
  }
  await using pictures = await decodePictures(media, stream, sound ? { onSound: (packet) => sound.push(packet, takeSound) } : {})
  using stills = new StillTaker(size, ticks.length)

  // The movie's own timescale takes the track's, else an edit list rounds to its milliseconds.
  await output.start({ movflags: '+faststart', video_track_timescale: index.timescale, movie_timescale: index.timescale })
  let chain: FilterChain | null = null
  let chainShape = ''
  let done = 0
  // Three stages at once, a frame apart: decoding the next, scaling this one, encoding the last.
  let encoding: Promise<void> = Promise.resolve()
  let coming = pictures.next()
  try {
    for (;;) {
      using frame = await coming
      if (!frame) break
      coming = pictures.next()
      coming.catch(() => {})
      stopIfCancelled(signal, path)
      const tick = Number(frame.pts) * index.tickStep + index.tickOffset
      const wanted = ticks[done]
      // Earlier than the next frame of the index: a second frame of one time, or a lead-in that is not shown.
      if (wanted === undefined || tick < wanted) continue
      if (tick > wanted || frame.decodeErrorFlags !== 0 || frame.hasFlags(AV_FRAME_FLAG_CORRUPT)) throw damagedAt(path, index, done)
      frame.pts = BigInt(tick)
      const shape = `${frame.width}x${frame.height} ${frame.format} ${frame.colorSpace} ${frame.colorRange}`
      if (shape !== chainShape) chain?.close()
      if (shape !== chainShape) chain = await pictureChain(displayFilter(description, size), {
        width: frame.width, height: frame.height, format: frame.format, timeBase: { num: 1, den: index.timescale },
        colorSpace: frame.colorSpace, colorRange: frame.colorRange,
      }, description.colour.hdr ? 2 : 1)
      chainShape = shape
      await chain!.push(frame, async (review) => {
        await encoding
        const number = done++
        encoding = writeFrame(review, number)
        encoding.catch(() => {})
      })
    }
  } finally {
    await encoding.catch(() => {})
    await coming.then((frame) => frame?.[Symbol.dispose](), () => {})
    chain?.close()
  }
  await encoding
  if (done !== ticks.length) throw damagedAt(path, index, done)
  await video.write(null)
  if (sound && soundTrack) {
    await sound.push(null, takeSound)
    await soundTrack.write(null)
  }
  await output.finish()

  async function writeFrame(review: Frame, number: number): Promise<void> {
    using own = review
    await stills.take(own, number)
    await video.write(own)
    request.onProgress?.({ framesDone: number + 1, framesTotal: ticks.length })
  }
  return { ...size, stills: stills.finish(), envelope: envelope?.peaks() ?? null, soundLost: media.sound !== null && sound === null }
}

function damagedAt(path: string, index: MediaIndex, frame: number): MediaError {
  const seconds = ((index.ticks[frame] ?? index.endTick) - index.ticks[0]!) / index.timescale
  return new MediaError('damaged', path, `from ${seconds.toFixed(2)} s on (frame ${frame + 1} of ${index.ticks.length} cannot be decoded)`)
}
