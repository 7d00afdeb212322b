import { AV_NOPTS_VALUE, AV_PKT_FLAG_CORRUPT, AV_PKT_FLAG_DISCARD, Packet } from 'node-av'
import { isEnd } from './ffmpeg.ts'
import { MediaError, stopIfCancelled } from './mediaError.ts'
import { openMedia, type OpenMedia } from './openMedia.ts'
import { openPictures } from './pictures.ts'

/**
 * The frames of a clip as they are shown. `timescale`, `ticks` and `endTick` are the truth about time that the whole
 * program uses; the rest leads back into the file. Plain data: it may be stored and sent between processes.
 */
export interface MediaIndex {
  /** Ticks a second of file time. */
  timescale: number
  /** Presentation time of each shown frame, strictly rising, never below 0; what an edit list hides is not here. */
  ticks: number[]
  /** When the last frame ends. */
  endTick: number
  /** Numbers of the shown frames that are key frames. */
  keyFrames: number[]
  /** Where decoding can begin: seeking the video track to `timestamp` (its own units, decode time) yields every frame from `frame` on. */
  seekPoints: SeekPoint[]
  /** tick = (presentation timestamp in the track's units) * tickStep + tickOffset. */
  tickStep: number
  tickOffset: number
  /** Frames a second as the file plays: one over the median time between frames. */
  playRate: number
  /** False when the packets carried no usable times and the frames had to be decoded to index them. */
  fromPackets: boolean
}

export interface SeekPoint { frame: number, timestamp: number }

interface PacketTime { pts: number, dts: number, duration: number, key: boolean, hidden: boolean }

/** The number of the frame with presentation timestamp `pts`, or -1. */
export function frameOfTimestamp(index: MediaIndex, pts: bigint): number {
  const tick = Number(pts) * index.tickStep + index.tickOffset
  const at = firstAtOrAfter(index.ticks, tick)
  return index.ticks[at] === tick ? at : -1
}

/** The best place to begin decoding for frame `frame`. */
export function seekPointFor(index: MediaIndex, frame: number): SeekPoint {
  let low = 0
  let high = index.seekPoints.length
  while (high - low > 1) {
    const middle = (low + high) >> 1
    if (index.seekPoints[middle]!.frame <= frame) low = middle
    else high = middle
  }
  return index.seekPoints[low] ?? { frame: 0, timestamp: 0 }
}

/**
 * Indexes a file's video track, from its packets where they carry times (nothing is decoded), else by decoding.
 * Throws a MediaError: `no-video`, `only-sound`, `no-frames`, `truncated`, `damaged`, or whatever opening says.
 */
export async function indexFrames(path: string, signal?: AbortSignal): Promise<MediaIndex> {
  await using media = await openMedia(path)
  return await indexOpenMedia(media, signal)
}

/** As indexFrames, on a file already open, which is read to its end by this. */
export async function indexOpenMedia(media: OpenMedia, signal?: AbortSignal): Promise<MediaIndex> {
  const { path, video } = media
  if (!video) throw new MediaError(media.sound ? 'only-sound' : 'no-video', path)
  const packets = await readPacketTimes(media, signal)
  if (!packets.length) throw new MediaError('no-frames', path)
  // A track that promises more samples than the file yields was cut off behind its table.
  if (video.nbFrames > 0n && BigInt(packets.length) < video.nbFrames) throw new MediaError('truncated', path, `${packets.length} of ${video.nbFrames} frames`)
  const timed = packets.every((packet) => Number.isFinite(packet.pts))
  const times = timed ? packets : await readFrameTimes(path, signal)
  const end = video.duration === AV_NOPTS_VALUE ? null : Number(video.duration) + (video.startTime === AV_NOPTS_VALUE ? 0 : Number(video.startTime))
  return buildIndex(path, times, { num: video.timeBase.num, den: video.timeBase.den }, end, timed)
}

/** Puts packet times in order. Exported for tests. `end` is where the track says it ends, in its own units, or null. */
export function buildIndex(path: string, packets: readonly PacketTime[], timeBase: { num: number, den: number }, end: number | null, fromPackets: boolean): MediaIndex {
  // What comes before the first key frame, in order of decoding or of presentation, leans on pictures that are not in the
  // file (a clip trimmed at an open group), and no decoder gives it out.
  const firstKey = packets.findIndex((packet) => packet.key)
  const start = packets[firstKey]
  const whole = start ? packets.slice(firstKey).filter((packet) => packet.pts >= start.pts) : packets
  const shown = whole.filter((packet) => !packet.hidden).toSorted((a, b) => a.pts - b.pts)
  // Of two frames with one time the second is never on screen: the first stands for both.
  const distinct = shown.filter((packet, i) => i === 0 || packet.pts !== shown[i - 1]!.pts)
  const last = distinct.at(-1)
  if (!last) throw new MediaError('no-frames', path)
  const step = timeBase.num
  const offset = Math.max(0, -distinct[0]!.pts * step)
  const ticks = distinct.map((packet) => packet.pts * step + offset)
  const gaps = ticks.slice(1).map((tick, i) => tick - ticks[i]!).toSorted((a, b) => a - b)
  const median = gaps.length ? (gaps[(gaps.length - 1) >> 1]! + gaps[gaps.length >> 1]!) / 2 : 0
  // In a coarse timescale (WebM counts milliseconds) the median is a rounded one; the mean of its nearest neighbours is not.
  const near = gaps.filter((gap) => Math.abs(gap - median) <= step)
  const usualGap = near.length > gaps.length / 2 ? near.reduce((sum, gap) => sum + gap, 0) / near.length : median
  // The track's own end knows about edit lists; a packet's duration belongs to decode order and is second best.
  const usual = last.duration * step || median || timeBase.den / 30
  const told = end === null ? 0 : end * step + offset - ticks.at(-1)!
  const lasts = told > 0 && told <= 2 * Math.max(usual, median) ? told : usual
  const keys = whole.filter((packet) => packet.key)
  const seekPoints: SeekPoint[] = []
  for (const key of keys) {
    const frame = firstAtOrAfter(ticks, key.pts * step + offset)
    if (frame >= ticks.length) continue
    // The latest of several that lead to one frame needs the least decoding.
    if (seekPoints.at(-1)?.frame === frame) seekPoints.pop()
    seekPoints.push({ frame, timestamp: key.dts })
  }
  seekPoints.sort((a, b) => a.frame - b.frame)
  if (seekPoints[0]?.frame !== 0) seekPoints.unshift({ frame: 0, timestamp: packets[0]!.dts })
  return {
    timescale: timeBase.den,
    ticks,
    endTick: ticks.at(-1)! + Math.max(1, Math.round(lasts)),
    keyFrames: distinct.flatMap((packet, frame) => packet.key ? [frame] : []),
    seekPoints,
    tickStep: step,
    tickOffset: offset,
    playRate: usualGap > 0 ? timeBase.den / usualGap : timeBase.den / Math.max(1, usual),
    fromPackets,
  }
}

function firstAtOrAfter(ticks: readonly number[], tick: number): number {
  let low = 0
  let high = ticks.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (ticks[middle]! < tick) low = middle + 1
    else high = middle
  }
  return low
}

async function readPacketTimes(media: OpenMedia, signal?: AbortSignal): Promise<PacketTime[]> {
  const { format, video, path } = media
  using packet = new Packet()
  packet.alloc()
  const times: PacketTime[] = []
  for (let count = 0; ; count++) {
    // Mostly sync for speed; a turn of the event loop now and then lets a cancel come through.
    const code = count % 64 === 0 ? await format.readFrame(packet) : format.readFrameSync(packet)
    if (code < 0) {
      if (!isEnd(code)) throw new MediaError('damaged', path, 'where its frames should be read')
      return times
    }
    stopIfCancelled(signal, path)
    if (packet.streamIndex === video!.index) {
      if (packet.hasFlags(AV_PKT_FLAG_CORRUPT)) throw new MediaError('truncated', path, `at frame ${times.length}`)
      const number = (value: bigint) => value === AV_NOPTS_VALUE ? Number.NaN : Number(value)
      const pts = number(packet.pts)
      const dts = number(packet.dts)
      times.push({ pts, dts: Number.isNaN(dts) ? pts : dts, duration: Number(packet.duration), key: packet.isKeyframe, hidden: packet.hasFlags(AV_PKT_FLAG_DISCARD) })
    }
    packet.unref()
  }
}

/** The slow way, for containers that give packets no presentation times. Decode time stands in for seeking. */
async function readFrameTimes(path: string, signal?: AbortSignal): Promise<PacketTime[]> {
  await using pictures = await openPictures(path)
  const times: PacketTime[] = []
  for (;;) {
    stopIfCancelled(signal, path)
    using frame = await pictures.next()
    if (!frame) return times
    const pts = Number(frame.bestEffortTimestamp)
    times.push({ pts, dts: frame.pktDts === AV_NOPTS_VALUE ? pts : Number(frame.pktDts), duration: Number(frame.duration), key: frame.keyFrame === 1, hidden: false })
  }
}
