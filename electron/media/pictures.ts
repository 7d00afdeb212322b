import { AV_NOPTS_VALUE, AVSEEK_FLAG_BACKWARD, AVERROR_EAGAIN, AVERROR_INVALIDDATA, avGetCodecName, Codec, CodecContext, Frame, Packet, type Stream } from 'node-av'
import { isPause, must } from './ffmpeg.ts'
import { MediaError } from './mediaError.ts'
import { openMedia, type OpenMedia } from './openMedia.ts'

/** A file's pictures, decoded one after another in order of presentation. Hidden frames never come out. */
export interface Pictures extends AsyncDisposable {
  readonly media: OpenMedia
  readonly stream: Stream
  /** How many packets the decoder has refused so far. */
  readonly refused: number
  /**
   * The next picture, or null after the last. The caller owns it and must free it (`using`). Its `pts` is
   * the best-effort timestamp in the track's units.
   */
  next(): Promise<Frame | null>
  /**
   * Says of which frames (by presentation timestamp, in the track's units) nobody wants to see; those among them that no other
   * frame refers to are not decoded and do not come out. Null: all are wanted.
   */
  passOver: ((pts: bigint) => boolean) | null
  /** Starts again at the key frame whose decode time is `timestamp`, or at the last one before it. */
  seek(timestamp: number): Promise<void>
  close(): Promise<void>
}

export interface PicturesOptions {
  /** Decoder threads; by default as many as FFmpeg thinks right. */
  threads?: number
  /** The caller has a thread to itself and does the work in it: that spares each frame the way to another thread and back. */
  here?: boolean
  /** Gets each packet of the sound track as it is passed by; must be done with it when it resolves. */
  onSound?: (packet: Packet) => Promise<void>
}

/** Opens the video track's decoder. Throws a MediaError for an unreadable file, no video track or an unknown codec. */
export async function openPictures(path: string, options: PicturesOptions = {}): Promise<Pictures> {
  const media = await openMedia(path)
  try {
    if (!media.video) throw new MediaError(media.sound ? 'only-sound' : 'no-video', path)
    return await decodePictures(media, media.video, options)
  } catch (error) {
    await media.close()
    throw error
  }
}

/** As openPictures, on a file that is open already and not yet read from. Closing closes the file too. */
export async function decodePictures(media: OpenMedia, stream: Stream, options: PicturesOptions): Promise<Pictures> {
  const { format, path } = media
  const codec = Codec.findDecoder(stream.codecpar.codecId)
  const unknown = () => new MediaError('unknown-codec', path, avGetCodecName(stream.codecpar.codecId) ?? '')
  if (!codec || stream.codecpar.width <= 0 || stream.codecpar.height <= 0) throw unknown()
  const decoder = new CodecContext()
  decoder.allocContext3(codec)
  must(decoder.parametersToContext(stream.codecpar), 'describe the track to its decoder')
  decoder.pktTimebase = stream.timeBase
  decoder.threadCount = options.threads ?? 0
  if (await decoder.open2(codec) < 0) {
    decoder.freeContext()
    throw unknown()
  }
  const packet = new Packet()
  packet.alloc()
  const { here = false } = options
  let refused = 0
  let pending = false
  let drained = false
  let closed = false
  let passes = false
  const pass = (unwanted: boolean): void => {
    if (unwanted !== passes) decoder.setOption('skip_frame', unwanted ? 'noref' : 'default')
    passes = unwanted
  }

  const next = async (): Promise<Frame | null> => {
    const frame = new Frame()
    frame.alloc()
    try {
      for (;;) {
        const got = here ? decoder.receiveFrameSync(frame) : await decoder.receiveFrame(frame)
        if (got >= 0) {
          if (frame.pts === AV_NOPTS_VALUE) frame.pts = frame.bestEffortTimestamp
          return frame
        }
        if (!isPause(got) && got !== AVERROR_INVALIDDATA) must(got, 'decode')
        if (got !== AVERROR_EAGAIN && drained) break
        if (!pending) pending = await readOn()
        pass(pending && pictures.passOver?.(packet.pts) === true)
        const sent = here ? decoder.sendPacketSync(pending ? packet : null) : await decoder.sendPacket(pending ? packet : null)
        if (sent === AVERROR_EAGAIN) continue
        if (!pending) {
          drained = true
          continue
        }
        if (sent < 0) refused++
        packet.unref()
        pending = false
      }
    } catch (error) {
      frame.free()
      throw error
    }
    frame.free()
    return null
  }

  /** Reads up to the next packet of the video track; false at the end of the file. */
  const readOn = async (): Promise<boolean> => {
    for (;;) {
      if ((here ? format.readFrameSync(packet) : await format.readFrame(packet)) < 0) return false
      if (packet.streamIndex === stream.index) return true
      if (options.onSound && packet.streamIndex === media.sound?.index) await options.onSound(packet)
      packet.unref()
    }
  }

  const close = async () => {
    if (closed) return
    closed = true
    packet.free()
    decoder.freeContext()
    await media.close()
  }
  const pictures: Pictures = {
    media, stream, next, close,
    passOver: null,
    get refused() { return refused },
    async seek(timestamp) {
      must(await format.seekFrame(stream.index, BigInt(timestamp), AVSEEK_FLAG_BACKWARD), 'seek')
      decoder.flushBuffers()
      packet.unref()
      pending = false
      drained = false
    },
    [Symbol.asyncDispose]: close,
  }
  return pictures
}
