import { open, readFile, rename, rm } from 'node:fs/promises'
import { crc32 } from 'node:zlib'

/** One encoded packet; times are in the encoder's own ticks. */
export interface StoredPacket {
  readonly pts: number
  readonly duration: number
  readonly key: boolean
  readonly data: Buffer
}

/** What an encoder made of one stretch, in the order of decoding. */
export interface PacketRun {
  /** The track's description for the container: parameter sets, or AAC's configuration. */
  readonly extradata: Buffer
  readonly packets: readonly StoredPacket[]
}

/**
 * On disk: the letters below, the length of a JSON head (32 bits, little-endian), the head, all packets' bytes one after
 * another. The head is `{ crc, extradata, packets: [pts, duration, key, bytes][] }`; the checksum is over the packets' bytes.
 */
const letters = Buffer.from('crossbearing-packets-1\n', 'latin1')

/** Writes a run; under its name it is there whole or not at all. */
export async function writePackets(path: string, { extradata, packets }: PacketRun): Promise<void> {
  const crc = packets.reduce((sum, { data }) => crc32(data, sum), 0)
  const head = Buffer.from(JSON.stringify({ crc, extradata: extradata.toString('base64'), packets: packets.map(({ pts, duration, key, data }) => [pts, duration, key ? 1 : 0, data.length]) }))
  const length = Buffer.alloc(4)
  length.writeUInt32LE(head.length)
  const half = `${path}.part`
  try {
    await using file = await open(half, 'w')
    await file.writev([letters, length, head, ...packets.map(({ data }) => data)])
    await file.datasync()
  } catch (error) {
    await rm(half, { force: true })
    throw error
  }
  await rename(half, path)
}

/** Reads a run; null where there is none, or not the whole of it. */
export async function readPackets(path: string): Promise<PacketRun | null> {
  let bytes: Buffer
  try {
    bytes = await readFile(path)
  } catch {
    return null
  }
  const start = letters.length + 4
  if (bytes.length < start || !bytes.subarray(0, letters.length).equals(letters)) return null
  const body = start + bytes.readUInt32LE(letters.length)
  try {
    const head = JSON.parse(bytes.toString('utf8', start, body)) as { crc: number; extradata: string; packets: [number, number, number, number][] }
    let at = body
    let crc = 0
    const packets = head.packets.map(([pts, duration, key, size]): StoredPacket => {
      const data = bytes.subarray(at, (at += size))
      crc = crc32(data, crc)
      return { pts, duration, key: key === 1, data }
    })
    return at === bytes.length && crc === head.crc ? { extradata: Buffer.from(head.extradata, 'base64'), packets } : null
  } catch {
    return null
  }
}
