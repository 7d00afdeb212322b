import { AV_PKT_DATA_DISPLAYMATRIX, AVMEDIA_TYPE_DATA, avGetCodecName, Codec } from 'node-av'
import { guessCaptureRate, type CaptureRate } from './captureRate.ts'
import { colourOf, type Colour } from './colour.ts'
import { indexOpenMedia, type MediaIndex } from './frameIndex.ts'
import { asMediaError, MediaError } from './mediaError.ts'
import { openMedia, type OpenMedia } from './openMedia.ts'
import { displaySize, orientationOf, type Orientation, type PictureSize } from './orientation.ts'

/** What a file is, without its frames. Plain data. */
export interface MediaDescription {
  /** Container names as FFmpeg gives them, such as `mov,mp4,m4a,3gp,3g2,mj2`. */
  container: string
  codec: string
  /** The decoder's pixel size before rotation and aspect. */
  stored: PictureSize
  /** Image space: after rotation, square pixels (the rule stands at displaySize). */
  display: PictureSize
  /** Width over height of a stored sample; 1:1 where the file says nothing. */
  sampleAspect: { num: number, den: number }
  orientation: Orientation
  colour: Colour
  sound: { codec: string, sampleRate: number, channels: number } | null
  /** When the phone says it was filmed, milliseconds since 1970, or null. */
  filmedAt: number | null
  /** The file says where it was filmed. The place itself is never read out. */
  hasLocation: boolean
  captureRate: CaptureRate
  /** Frames a second as the file plays: one over the median time between frames. */
  playRate: number
  /** From the first shown frame to the end of the last, seconds of file time. */
  seconds: number
}

export interface Probed { description: MediaDescription, index: MediaIndex }

/** Describes and indexes a file. Reads it once through, decodes nothing (see frameIndex.ts for the exception). Throws a MediaError. */
export async function probe(path: string, signal?: AbortSignal): Promise<Probed> {
  try {
    await using media = await openMedia(path)
    return await probeOpenMedia(media, signal)
  } catch (error) {
    throw asMediaError(error, path)
  }
}

async function probeOpenMedia(media: OpenMedia, signal?: AbortSignal): Promise<Probed> {
  const { path, format, video, sound } = media
  if (!video) throw new MediaError(sound ? 'only-sound' : 'no-video', path)
  const parameters = video.codecpar
  const codec = avGetCodecName(parameters.codecId) ?? 'unknown'
  if (!Codec.findDecoder(parameters.codecId)) throw new MediaError('unknown-codec', path, codec === 'none' ? parameters.codecTagString ?? '' : codec)
  const index = await indexOpenMedia(media, signal)
  if (parameters.width <= 0 || parameters.height <= 0) throw new MediaError('unknown-codec', path, codec)
  const tags = { ...video.metadata?.getAll(), ...format.metadata?.getAll() }
  const allTags = [...Object.keys(tags), ...format.streams.flatMap((stream) => Object.keys(stream.metadata?.getAll() ?? {}))]
  const aspect = [video.sampleAspectRatio, parameters.sampleAspectRatio].find((ratio) => ratio.num > 0 && ratio.den > 0) ?? { num: 1, den: 1 }
  const orientation = orientationOf(parameters.getCodedSideData(AV_PKT_DATA_DISPLAYMATRIX))
  const stored = { width: parameters.width, height: parameters.height }
  return {
    index,
    description: {
      container: format.iformat?.name ?? '',
      codec,
      stored,
      display: displaySize(stored, aspect, orientation),
      sampleAspect: { num: aspect.num, den: aspect.den },
      orientation,
      colour: colourOf(parameters),
      sound: sound && { codec: avGetCodecName(sound.codecpar.codecId) ?? 'unknown', sampleRate: sound.codecpar.sampleRate, channels: sound.codecpar.channels },
      filmedAt: filmedAtOf(tags),
      hasLocation: allTags.some((name) => /location|iso6709|gps|^xyz|^loci/i.test(name))
        || format.streams.some((stream) => stream.codecpar.codecType === AVMEDIA_TYPE_DATA && /gps|location/i.test(stream.metadata?.get('handler_name') ?? '')),
      captureRate: guessCaptureRate(tags, index.playRate),
      playRate: index.playRate,
      seconds: (index.endTick - index.ticks[0]!) / index.timescale,
    },
  }
}

/** Apple's own date carries the phone's time zone and survives an edit; the container's is next. A clock that was never set (1904, 1970) tells nothing. */
function filmedAtOf(tags: Readonly<Record<string, string>>): number | null {
  for (const name of ['com.apple.quicktime.creationdate', 'creation_time']) {
    const at = Date.parse(tags[name] ?? '')
    if (at > Date.UTC(1990, 0)) return at
  }
  return null
}
