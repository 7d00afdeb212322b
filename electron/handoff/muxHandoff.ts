import { AV_CODEC_ID_MOV_TEXT, AV_PKT_FLAG_KEY, AVMEDIA_TYPE_SUBTITLE, Dictionary, Packet, Rational, type Stream } from 'node-av'
import type { Size } from '../../shared/picture/layout.ts'
import { openFileWriter, type FileWriter } from '../media/fileWriter.ts'
import { must } from '../media/ffmpeg.ts'
import { openAac } from '../media/encoders.ts'
import { soundRate } from '../media/soundDecoder.ts'
import { openHandoffEncoder } from './handoffVideo.ts'
import { finishMp4, type Chapter } from './mp4Chapters.ts'
import type { PacketRun, StoredPacket } from './packetFile.ts'
import type { Segment } from './lessonFrames.ts'

/** A caption and when it shows, milliseconds. */
export interface Caption {
  readonly fromMs: number
  readonly toMs: number
  readonly text: string
}

export interface MuxRequest {
  readonly size: Size
  readonly fps: number
  readonly title: string
  readonly segments: readonly Segment[]
  readonly read: (segment: number) => Promise<PacketRun>
  readonly sound: PacketRun
  readonly soundBitRate: number
  readonly chapters: readonly Chapter[]
  readonly captions: readonly Caption[]
  readonly lengthMs: number
  /** Written on the way and taken away again. */
  readonly scratch: string
  readonly out: string
}

/** x264 puts off no picture by more than this: B-frames that others refer to, one level of them. */
const delay = 2

/** How text looks (3GPP TS 26.245, 5.16): white on nothing, at the bottom, one typeface of the player's own. */
const textLook = Buffer.from([
  0, 0, 0, 0, 1, 0xff, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 18, 255, 255, 255, 255,
  0, 0, 0, 18, ...Buffer.from('ftab'), 0, 1, 0, 1, 5, ...Buffer.from('Serif'),
])

/** Puts together what the encoders made: the picture's segments one after another, sound, captions, chapters. */
export async function muxHandoff(request: MuxRequest): Promise<void> {
  const { size, fps, title, segments, sound, captions, scratch, out } = request
  const chapters = fromTheBeginning(request.chapters)
  {
    await using output = openFileWriter(scratch, 'mp4')
    // Bit-exact writing leaves out the names and dates of tools.
    output.format.setOption('fflags', '+bitexact')
    const picture = output.format.newStream()
    const encoder = await openHandoffEncoder({ ...size, fps, threads: 1 })
    must(encoder.parametersFromContext(picture.codecpar), 'describe the picture')
    const described = Buffer.from(encoder.extraData ?? [])
    encoder.freeContext()
    picture.timeBase = new Rational(1, fps)
    picture.avgFrameRate = new Rational(fps, 1)
    const speech = output.format.newStream()
    const aac = await openAac({ channels: 2, bitRate: request.soundBitRate })
    must(aac.parametersFromContext(speech.codecpar), 'describe the sound')
    aac.freeContext()
    speech.timeBase = new Rational(1, soundRate)
    const subtitles = captions.length > 0 ? addText(output) : null
    const headings = chapters.length > 0 ? addText(output) : null
    if (title !== '') output.format.metadata = Dictionary.fromObject({ title })
    await output.start({ video_track_timescale: fps * 1000, movie_timescale: 48_000 })

    const put = packetPutter(output)
    let soundAt = 0
    const soundUpTo = async (seconds: number): Promise<void> => {
      for (let packet = sound.packets[soundAt]; packet && packet.pts / soundRate < seconds; packet = sound.packets[++soundAt]) await put(speech, soundRate, packet, packet.pts)
    }
    for (const text of texts(captions)) if (subtitles) await put(subtitles, 1000, text, text.pts)
    for (const text of headingTexts(chapters, request.lengthMs)) if (headings) await put(headings, 1000, text, text.pts)
    let order = 0
    for (const [i, { first }] of segments.entries()) {
      const run = await request.read(i)
      if (!run.extradata.equals(described)) throw new Error('a part of the picture was made with other settings')
      for (const packet of run.packets) {
        await soundUpTo(order / fps + 0.5)
        await put(picture, fps, { ...packet, pts: first + packet.pts }, order++ - delay)
      }
    }
    await soundUpTo(Infinity)
    await output.finish()
  }
  await finishMp4(scratch, out, chapters, chapters.length > 0 ? 2 + (captions.length > 0 ? 1 : 0) : null)
}

/** Players want a chapter from the first instant on. */
function fromTheBeginning(chapters: readonly Chapter[]): Chapter[] {
  const [first, ...others] = chapters
  if (!first) return []
  return first.atMs < 1000 ? [{ ...first, atMs: 0 }, ...others] : [{ title: 'Beginning', atMs: 0 }, ...chapters]
}

type Put = (stream: Stream, unit: number, packet: StoredPacket, dts: number) => Promise<void>

function packetPutter(output: FileWriter): Put {
  return async (stream, unit, { pts, duration, key, data }, dts) => {
    using packet = new Packet()
    packet.alloc()
    packet.data = data
    packet.streamIndex = stream.index
    packet.pts = BigInt(pts)
    packet.dts = BigInt(dts)
    packet.duration = BigInt(duration)
    if (key) packet.flags = AV_PKT_FLAG_KEY
    packet.rescaleTs({ num: 1, den: unit }, stream.timeBase)
    await output.write(packet)
  }
}

function addText(output: FileWriter): Stream {
  const stream = output.format.newStream()
  stream.codecpar.codecType = AVMEDIA_TYPE_SUBTITLE
  stream.codecpar.codecId = AV_CODEC_ID_MOV_TEXT
  stream.codecpar.extradata = textLook
  stream.timeBase = new Rational(1, 1000)
  return stream
}

/** A text sample: two bytes of length, then UTF-8. */
function textData(text: string): Buffer {
  const bytes = Buffer.from(text, 'utf8')
  const head = Buffer.alloc(2)
  head.writeUInt16BE(bytes.length)
  return Buffer.concat([head, bytes])
}

function* texts(captions: readonly Caption[]): Generator<StoredPacket> {
  for (const { fromMs, toMs, text } of captions) yield { pts: Math.round(fromMs), duration: Math.max(1, Math.round(toMs) - Math.round(fromMs)), key: true, data: textData(text) }
}

/** Chapters leave no gap: each lasts until the next. */
function* headingTexts(chapters: readonly Chapter[], lengthMs: number): Generator<StoredPacket> {
  // That titles are UTF-8 is said in a box of its own behind each.
  const utf8 = Buffer.from([0, 0, 0, 12, ...Buffer.from('encd'), 0, 0, 1, 0])
  for (const [i, { title, atMs }] of chapters.entries()) {
    const duration = Math.max(1, Math.round(chapters[i + 1]?.atMs ?? lengthMs) - Math.round(atMs))
    yield { pts: Math.round(atMs), duration, key: true, data: Buffer.concat([textData(title), utf8]) }
  }
}
