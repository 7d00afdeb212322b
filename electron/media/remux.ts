import { stat, unlink } from 'node:fs/promises'
import { AV_DISPOSITION_DEFAULT, AVFMT_FLAG_BITEXACT, avGetCodecName, Packet, Rational, type Stream } from 'node-av'
import { isEnd, must } from './ffmpeg.ts'
import { openFileWriter } from './fileWriter.ts'
import { indexFrames, type MediaIndex } from './frameIndex.ts'
import { asMediaError, MediaError, stopIfCancelled } from './mediaError.ts'
import { openMedia } from './openMedia.ts'

export interface RemuxRequest {
  path: string
  /** File to write, without its ending, which depends on what is in it. */
  out: string
  onProgress?: (progress: { framesDone: number, framesTotal: number }) => void
  signal?: AbortSignal
}
export interface Remuxed {
  /** The written file. */
  path: string
  ending: 'mp4' | 'mkv'
  bytes: number
  /** Its frames: those of the first, in their own counting; what an edit list hid may show before or after them. */
  index: MediaIndex
}

/** What MP4 holds by its own rules; all else goes into Matroska. */
const inMp4 = /^(h264|hevc|mpeg4|av1|aac|mp3|alac|ac3)$/

/**
 * Writes a clip's picture and sound to a new file as they are, without decoding, and nothing else: no tags of place, phone,
 * program or date, no tracks of measurements or cover art. How it is turned and its colours belong to the picture and stay.
 * The written file is read back. Throws a MediaError; nothing is left at `out` then.
 */
export async function remux(request: RemuxRequest): Promise<Remuxed> {
  const { path, signal } = request
  let written: string | null = null
  try {
    await using media = await openMedia(path)
    const { format, video, sound } = media
    if (!video) throw new MediaError(sound ? 'only-sound' : 'no-video', path)
    const codecs = codecsOf([video, ...(sound ? [sound] : [])])
    const ending = codecs.every((codec) => inMp4.test(codec)) ? 'mp4' : 'mkv'
    written = `${request.out}.${ending}`
    const framesTotal = Math.max(1, Number(video.nbFrames))
    await using output = openFileWriter(written, ending === 'mp4' ? 'mp4' : 'matroska')
    // No writer's name and no date of writing: the same clip gives the same file again.
    output.format.setFlags(AVFMT_FLAG_BITEXACT)
    const streams = new Map<number, Stream>()
    for (const stream of [video, ...(sound ? [sound] : [])]) {
      const copy = output.format.newStream()
      must(stream.codecpar.copy(copy.codecpar), 'describe a track')
      // The letters that name a codec differ between containers; the writer knows its own.
      if (ending === 'mkv' || !/^(avc1|hvc1|hev1|av01|mp4a)$/.test(stream.codecpar.codecTagString ?? '')) copy.codecpar.codecTag = 0
      copy.timeBase = new Rational(stream.timeBase.num, stream.timeBase.den)
      copy.sampleAspectRatio = stream.sampleAspectRatio
      copy.avgFrameRate = stream.avgFrameRate
      copy.disposition = AV_DISPOSITION_DEFAULT
      streams.set(stream.index, copy)
    }
    await output.start(ending === 'mp4'
      ? { movflags: '+faststart', movie_timescale: video.timeBase.den, video_track_timescale: video.timeBase.den }
      : {})
    using packet = new Packet()
    packet.alloc()
    let framesDone = 0
    for (let count = 0; ; count++) {
      const code = count % 64 === 0 ? await format.readFrame(packet) : format.readFrameSync(packet)
      if (code < 0) {
        if (!isEnd(code)) throw new MediaError('damaged', path, 'where its frames should be read')
        break
      }
      stopIfCancelled(signal, path)
      const from = packet.streamIndex
      const copy = streams.get(from)
      if (!copy) {
        packet.unref()
        continue
      }
      const source = from === video.index ? video : sound!
      if (from === video.index) request.onProgress?.({ framesDone: Math.min(++framesDone, framesTotal), framesTotal: Math.max(framesDone, framesTotal) })
      packet.streamIndex = copy.index
      packet.pos = -1n
      packet.rescaleTs(source.timeBase, copy.timeBase)
      await output.write(packet)
    }
    await output.finish()
    return { path: written, ending, bytes: (await stat(written)).size, index: await indexFrames(written, signal) }
  } catch (error) {
    if (written) await unlink(written).catch(() => {})
    throw asMediaError(error, path)
  }
}

const codecsOf = (streams: readonly Stream[]): string[] => streams.map((stream) => avGetCodecName(stream.codecpar.codecId) ?? 'unknown')
