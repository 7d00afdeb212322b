import { access, constants, stat } from 'node:fs/promises'
import { AV_DISPOSITION_ATTACHED_PIC, AVMEDIA_TYPE_AUDIO, AVMEDIA_TYPE_VIDEO, Dictionary, FormatContext, type Stream } from 'node-av'
import { asMediaError, MediaError } from './mediaError.ts'
import { readMp4Shape } from './mp4Boxes.ts'
import './ffmpeg.ts'

/** Containers that hold video, or sound we can tell the coach about. No playlists, pictures or text art; none that can name another file. */
const formats = 'mov,matroska,avi,mpegts,mpeg,asf,flv,ogg,mxf,dv,ivf,wav,mp3,aac,flac,caf,aiff,amr'

/** An opened file with its tracks known. Close it with `await using` or close(); closing twice does no harm. */
export interface OpenMedia extends AsyncDisposable {
  path: string
  format: FormatContext
  /** The track to show, or null. Cover art is not a video track. */
  video: Stream | null
  sound: Stream | null
  close(): Promise<void>
}

/** Opens a media file for reading. Throws a MediaError that says in one sentence why it cannot. */
export async function openMedia(path: string): Promise<OpenMedia> {
  try {
    const facts = await stat(path)
    if (!facts.isFile()) throw new MediaError('not-a-file', path)
    await access(path, constants.R_OK)
    if (facts.size === 0) throw new MediaError('empty', path)
  } catch (error) {
    throw asMediaError(error, path)
  }
  const format = new FormatContext()
  using options = Dictionary.fromObject({ format_whitelist: formats, protocol_whitelist: 'file' })
  const opened = await format.openInput(`file:${path}`, null, options)
  if (opened < 0) {
    await format.closeInput()
    throw await whyUnreadable(path, opened)
  }
  try {
    const found = await format.findStreamInfo()
    if (found < 0) throw await whyUnreadable(path, found)
    const shape = await readMp4Shape(path)
    if (shape.isMp4 && shape.cutOff) throw new MediaError('truncated', path)
    const videos = format.streams.filter((stream) => stream.codecpar.codecType === AVMEDIA_TYPE_VIDEO && !stream.hasDisposition(AV_DISPOSITION_ATTACHED_PIC))
    const sounds = format.streams.filter((stream) => stream.codecpar.codecType === AVMEDIA_TYPE_AUDIO && stream.codecpar.channels > 0)
    const pick = (streams: Stream[], type: typeof AVMEDIA_TYPE_VIDEO) => {
      const best = format.findBestStream(type)
      return streams.find((stream) => stream.index === best) ?? streams[0] ?? null
    }
    let closed = false
    const close = async () => {
      if (!closed) await format.closeInput()
      closed = true
    }
    return { path, format, video: pick(videos, AVMEDIA_TYPE_VIDEO), sound: pick(sounds, AVMEDIA_TYPE_AUDIO), close, [Symbol.asyncDispose]: close }
  } catch (error) {
    await format.closeInput()
    throw asMediaError(error, path)
  }
}

/** FFmpeg says "invalid data" to everything; the outermost boxes of the file tell the cases apart. */
async function whyUnreadable(path: string, code: number): Promise<MediaError> {
  const shape = await readMp4Shape(path).catch(() => null)
  if (!shape?.isMp4) return new MediaError('not-a-video', path, `code ${code}`)
  return new MediaError(shape.hasMovie && !shape.cutOff ? 'damaged-index' : 'truncated', path, `code ${code}`)
}
