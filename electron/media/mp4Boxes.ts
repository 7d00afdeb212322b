import { open } from 'node:fs/promises'

/** What the outermost boxes of an ISO media file (MP4, MOV) say about its wholeness. */
export interface Mp4Shape {
  /** Begins like an ISO media file. */
  isMp4: boolean
  /** Has the `moov` box, without which nothing can be found in it. */
  hasMovie: boolean
  /** A box claims more bytes than the file has. */
  cutOff: boolean
}

const outermost = new Set(['ftyp', 'moov', 'mdat', 'free', 'skip', 'wide', 'uuid', 'meta', 'moof', 'sidx', 'mfra', 'styp', 'pnot', 'udta', 'emsg', 'prft'])

/**
 * Walks the outermost boxes (ISO/IEC 14496-12, 4.2: 32-bit size and type; size 1 means a 64-bit size follows, size 0
 * means "to the end of the file"). Reads a few bytes a box, however large the file is.
 */
export async function readMp4Shape(path: string): Promise<Mp4Shape> {
  const shape: Mp4Shape = { isMp4: false, hasMovie: false, cutOff: false }
  await using file = await open(path, 'r')
  const { size } = await file.stat()
  const head = Buffer.alloc(16)
  for (let at = 0, count = 0; at + 8 <= size && count < 4096; count++) {
    const { bytesRead } = await file.read(head, 0, 16, at)
    if (bytesRead < 8) break
    const type = head.toString('latin1', 4, 8)
    if (!outermost.has(type)) {
      // Junk behind a good file does no harm; junk at the start means that it is something else.
      break
    }
    let length = head.readUInt32BE(0)
    if (length === 1 && bytesRead === 16) length = Number(head.readBigUInt64BE(8))
    else if (length === 0) length = size - at
    if (length < 8) break
    shape.isMp4 = true
    if (at + length > size) shape.cutOff = true
    else if (type === 'moov') shape.hasMovie = true
    at += length
  }
  return shape
}
