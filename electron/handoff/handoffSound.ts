import { Packet } from 'node-av'
import { encodeHere, openAac } from '../media/encoders.ts'
import type { PacketRun, StoredPacket } from './packetFile.ts'
import { levelledSound, type SpeechLevel } from './speech.ts'

/** AAC-LC at 128 kbit/s in two channels: speech needs less, and every phone plays it from both sides. */
export const soundBitRate = 128_000

/** A sound at its level, encoded. Twenty minutes are some 19 MB. */
export async function encodeSound(path: string, level: SpeechLevel, signal?: AbortSignal): Promise<PacketRun> {
  const encoder = await openAac({ channels: 2, bitRate: soundBitRate })
  using packet = new Packet()
  packet.alloc()
  const packets: StoredPacket[] = []
  const take = (made: Packet): void => void packets.push({ pts: Number(made.pts), duration: Number(made.duration), key: true, data: made.data! })
  try {
    for await (const frame of levelledSound(path, level, signal)) {
      using own = frame
      encodeHere(encoder, own, packet, take)
    }
    encodeHere(encoder, null, packet, take)
    return { extradata: Buffer.from(encoder.extraData ?? []), packets }
  } finally {
    encoder.freeContext()
  }
}
