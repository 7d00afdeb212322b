import { EncodedPacketSink, Input, MP4, UrlSource, type EncodedPacket } from 'mediabunny'
import { PlaybackError } from './protocol.ts'

/** What the decoder needs of a file: packets by number. */
export interface PacketReader {
  /** One entry a packet: whether it can be decoded alone. */
  readonly isKey: readonly boolean[]
  readonly config: VideoDecoderConfig
  readonly width: number
  readonly height: number
  /** The compressed bytes of packet i. Throws a PlaybackError where the file ends early or cannot be fetched. */
  read(index: number): Promise<Uint8Array>
  dispose(): void
}

/** A file on this machine answers or does not; three tries tell a hiccup from a loss. */
const tries = 3

/** Bytes of the file kept in memory by the reader. */
const fileCache = 48 * 1024 * 1024

/**
 * Opens a review copy and reads its list of packets, none of their data.
 * @param frames how many packets there must be
 * @throws PlaybackError `cannot-read`, `not-decodable` or `index-mismatch`
 */
export async function openPackets(url: string, frames: number): Promise<PacketReader> {
  let lastError: unknown = null
  const source = new UrlSource(url, {
    maxCacheSize: fileCache,
    getRetryDelay: (before, error) => {
      lastError = error
      return before < tries ? 0.05 * 2 ** before : null
    },
    handleUnhandledError: (error) => { lastError = error },
  })
  const input = new Input({ source, formats: [MP4] })
  const unreadable = (error: unknown) => new PlaybackError({
    kind: 'cannot-read', frame: null,
    message: `The review copy of this clip cannot be read (${reason(error ?? lastError)}). Have it made again from the clip's menu.`,
  })
  try {
    const track = await input.getPrimaryVideoTrack().catch((error: unknown) => { throw unreadable(error) })
    if (!track) throw new PlaybackError({ kind: 'cannot-read', frame: null, message: 'The review copy of this clip holds no picture. Have it made again from the clip\'s menu.' })
    const config = await track.getDecoderConfig()
    if (!config) throw new PlaybackError({ kind: 'not-decodable', frame: null, message: 'The review copy of this clip is of an unknown kind. Have it made again from the clip\'s menu.' })
    const sink = new EncodedPacketSink(track)
    const packets: EncodedPacket[] = []
    for (let packet = await sink.getFirstPacket({ metadataOnly: true }); packet; packet = await sink.getNextPacket(packet, { metadataOnly: true })) {
      packets.push(packet)
    }
    checkPackets(packets, frames)
    return {
      isKey: packets.map((packet) => packet.type === 'key'),
      config,
      width: await track.getDisplayWidth(),
      height: await track.getDisplayHeight(),
      async read(index) {
        // By its place after the packet before it: a search by time would depend on rounding.
        const packet = await (index === 0 ? sink.getFirstPacket() : sink.getNextPacket(packets[index - 1]!)).catch((error: unknown) => { throw unreadable(error) })
        if (!packet || packet.sequenceNumber !== packets[index]?.sequenceNumber) throw unreadable(`it ends before frame ${index}`)
        return packet.data
      },
      dispose: () => input.dispose(),
    }
  } catch (error) {
    input.dispose()
    throw error instanceof PlaybackError ? error : unreadable(error)
  }
}

/** One packet an entry, shown in the order they stand in, beginning with one that can be decoded alone. */
export function checkPackets(packets: readonly { timestamp: number, type: 'key' | 'delta' }[], frames: number): void {
  const wrong = packets.length !== frames ? `it holds ${packets.length} frames where the clip has ${frames}`
    : packets[0]?.type !== 'key' ? 'its first frame does not stand alone'
      : packets.some((packet, i) => i > 0 && packet.timestamp <= packets[i - 1]!.timestamp) ? 'its frames are not stored in the order they are shown' : null
  if (wrong) throw new PlaybackError({ kind: 'index-mismatch', frame: null, message: `The review copy does not match its clip: ${wrong}. Have it made again from the clip's menu.` })
}

function reason(error: unknown): string {
  return error instanceof Error ? error.message.replace(/[.\s]+$/, '') : String(error ?? 'no answer')
}
