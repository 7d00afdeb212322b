import { open, type FileHandle } from 'node:fs/promises'

/** A heading that a player can jump to. */
export interface Chapter {
  readonly title: string
  readonly atMs: number
}

/** A box of an ISO media file (ISO/IEC 14496-12, 4.2) inside a buffer: from its size field to its end. */
interface Box {
  readonly type: string
  readonly start: number
  readonly body: number
  readonly end: number
}

function* boxesIn(bytes: Buffer, from: number, to: number): Generator<Box> {
  for (let start = from; start + 8 <= to;) {
    const size = bytes.readUInt32BE(start)
    const wide = size === 1
    const end = start + (wide ? Number(bytes.readBigUInt64BE(start + 8)) : size)
    if (end <= start || end > to) throw new Error('a box of the finished file does not fit into the one around it')
    yield { type: bytes.toString('latin1', start + 4, start + 8), start, body: start + (wide ? 16 : 8), end }
    start = end
  }
}

function inside(bytes: Buffer, box: Box, ...path: string[]): Box | null {
  let at: Box | null = box
  for (const type of path) at = at && ([...boxesIn(bytes, at.body, at.end)].find((each) => each.type === type) ?? null)
  return at
}

function box(type: string, ...parts: readonly Uint8Array[]): Buffer {
  const body = Buffer.concat(parts)
  const head = Buffer.alloc(8)
  head.writeUInt32BE(body.length + 8)
  head.write(type, 4, 'latin1')
  return Buffer.concat([head, body])
}

/** At most 255 bytes of UTF-8, no letter cut in two. */
function shortText(text: string): Buffer {
  let bytes = Buffer.from(text, 'utf8')
  for (let length = text.length; bytes.length > 255; length--) bytes = Buffer.from(text.slice(0, length), 'utf8')
  return bytes
}

/** The list of chapters that most players other than Apple's read: `chpl`, times in tenths of a microsecond. */
function chapterList(chapters: readonly Chapter[]): Buffer {
  const head = Buffer.from([1, 0, 0, 0, 0, 0, 0, 0, Math.min(255, chapters.length)])
  const entries = chapters.slice(0, 255).map(({ title, atMs }) => {
    const text = shortText(title)
    const entry = Buffer.alloc(9)
    entry.writeBigUInt64BE(BigInt(Math.round(atMs * 10_000)))
    entry[8] = text.length
    return Buffer.concat([entry, text])
  })
  return box('chpl', head, ...entries)
}

/** The movie box again with other contents; chunk offsets are moved by as much as the box, now in front of the data, takes. */
function rebuilt(movie: Buffer, chapters: readonly Chapter[], chapterTrack: number | null): Buffer {
  const [whole] = boxesIn(movie, 0, movie.length)
  if (!whole) throw new Error('the finished file has no index')
  const parts: Buffer[] = []
  let tracks = 0
  for (const part of boxesIn(movie, whole.body, whole.end)) {
    const bytes = Buffer.from(movie.subarray(part.start, part.end))
    if (part.type === 'trak') {
      const index = tracks++
      const [track] = boxesIn(bytes, 0, bytes.length)
      if (chapterTrack !== null && index === 0) {
        const reference = Buffer.alloc(4)
        reference.writeUInt32BE(chapterTrack + 1)
        parts.push(box('trak', bytes.subarray(track!.body), box('tref', box('chap', reference))))
        continue
      }
      if (index === chapterTrack) {
        asChapters(bytes, track!)
        parts.push(withTable(bytes, track!, 'mdia', 'minf', 'stbl'))
        continue
      }
    }
    if (part.type !== 'udta' || chapters.length === 0) parts.push(bytes)
    else parts.push(box('udta', bytes.subarray(8), chapterList(chapters)))
  }
  if (chapters.length > 0 && !inside(movie, whole, 'udta')) parts.push(box('udta', chapterList(chapters)))
  return box('moov', ...parts)
}

/** Text of a track of chapters is no caption: the track is switched off and says `text`, as players want it. */
function asChapters(bytes: Buffer, track: Box): void {
  const header = inside(bytes, track, 'tkhd')!
  bytes[header.body + 3]! &= ~1
  const handler = inside(bytes, track, 'mdia', 'hdlr')!
  bytes.write('text', handler.body + 8, 'latin1')
  const description = inside(bytes, track, 'mdia', 'minf', 'stbl', 'stsd')!
  bytes.write('text', description.body + 12, 'latin1')
}

/** The box again with the table of samples at the end of the path without empty ones: the muxer puts one behind each text. */
function withTable(bytes: Buffer, at: Box, ...path: string[]): Buffer {
  const [next, ...rest] = path
  const parts = [...boxesIn(bytes, at.body, at.end)].map((part) => (part.type === next ? withTable(bytes, part, ...rest) : bytes.subarray(part.start, part.end)))
  if (next !== undefined) return box(at.type, ...parts)
  return box(at.type, ...parts.filter((part) => part.toString('latin1', 4, 8) === 'stsd'), ...titleTables(bytes, at))
}

/** Sample tables (ISO/IEC 14496-12, 8.6.1 and 8.7) of the samples that hold a title, each a chunk of its own. */
function titleTables(bytes: Buffer, table: Box): Buffer[] {
  const of = (type: string): Box => inside(bytes, table, type)!
  const [times, sizes, chunks] = [of('stts'), of('stsz'), of('stsc')]
  const [narrow, wide] = [inside(bytes, table, 'stco'), inside(bytes, table, 'co64')]
  const word = (at: number): number => bytes.readUInt32BE(at)
  const offsetOf = (chunk: number): number => (narrow ? word(narrow.body + 8 + 4 * chunk) : Number(bytes.readBigUInt64BE(wide!.body + 8 + 8 * chunk)))
  const perChunk = (chunk: number): number => {
    let count = 0
    for (let i = 0; i < word(chunks.body + 4); i++) if (word(chunks.body + 8 + 12 * i) <= chunk + 1) count = word(chunks.body + 12 + 12 * i)
    return count
  }
  const lasting: number[] = []
  for (let i = 0; i < word(times.body + 4); i++) for (let n = 0; n < word(times.body + 8 + 8 * i); n++) lasting.push(word(times.body + 12 + 8 * i))
  const kept: { lasts: number; size: number; offset: number }[] = []
  const chunkCount = word((narrow ?? wide!).body + 4)
  for (let chunk = 0, sample = 0; chunk < chunkCount; chunk++) {
    let offset = offsetOf(chunk)
    for (let i = 0; i < perChunk(chunk); i++, sample++) {
      const size = word(sizes.body + 4) || word(sizes.body + 12 + 4 * sample)
      if (size > 2) kept.push({ lasts: lasting[sample]!, size, offset })
      // An empty one's time belongs to the title before it.
      else if (kept.length > 0) kept[kept.length - 1]!.lasts += lasting[sample]!
      offset += size
    }
  }
  const words = (...values: readonly number[]): Buffer => {
    const out = Buffer.alloc(values.length * 4)
    values.forEach((value, i) => out.writeUInt32BE(value, i * 4))
    return out
  }
  return [
    box('stts', words(0, kept.length, ...kept.flatMap(({ lasts }) => [1, lasts]))),
    box('stsc', words(0, 1, 1, 1, 1)),
    box('stsz', words(0, 0, kept.length, ...kept.map(({ size }) => size))),
    box('stco', words(0, kept.length, ...kept.map(({ offset }) => offset))),
  ]
}

function moveChunks(movie: Buffer, by: number): void {
  const [whole] = boxesIn(movie, 0, movie.length)
  for (const track of boxesIn(movie, whole!.body, whole!.end)) {
    if (track.type !== 'trak') continue
    const table = inside(movie, track, 'mdia', 'minf', 'stbl')!
    for (const { type, body } of boxesIn(movie, table.body, table.end)) {
      if (type !== 'stco' && type !== 'co64') continue
      const count = movie.readUInt32BE(body + 4)
      for (let i = 0, at = body + 8; i < count; i++, at += type === 'stco' ? 4 : 8) {
        if (type === 'stco') movie.writeUInt32BE(movie.readUInt32BE(at) + by, at)
        else movie.writeBigUInt64BE(movie.readBigUInt64BE(at) + BigInt(by), at)
      }
    }
  }
}

/** The outermost boxes of a file. */
async function outermost(file: FileHandle): Promise<Box[]> {
  const { size } = await file.stat()
  const boxes: Box[] = []
  const head = Buffer.alloc(16)
  for (let start = 0; start + 8 <= size;) {
    await file.read(head, 0, 16, start)
    const length = head.readUInt32BE(0)
    const end = length === 0 ? size : start + (length === 1 ? Number(head.readBigUInt64BE(8)) : length)
    boxes.push({ type: head.toString('latin1', 4, 8), start, body: start + 8, end })
    start = end
  }
  return boxes
}

/**
 * Copies a finished MP4 so that it can begin to play before it is whole: the index in front of the data. On the way it gets
 * its chapters, as a list and as a track that the picture's track refers to; players that know neither lose nothing.
 * @param chapterTrack number of the text track that holds the chapters' titles, from 0; null where there are none
 */
export async function finishMp4(from: string, to: string, chapters: readonly Chapter[], chapterTrack: number | null): Promise<void> {
  await using source = await open(from, 'r')
  await using target = await open(to, 'w')
  const boxes = await outermost(source)
  const [first, movieBox] = [boxes[0], boxes.find(({ type }) => type === 'moov')]
  if (first?.type !== 'ftyp' || !movieBox) throw new Error('the finished file has no index')
  const movie = Buffer.alloc(movieBox.end - movieBox.start)
  await source.read(movie, 0, movie.length, movieBox.start)
  const next = rebuilt(movie, chapters, chapterTrack)
  moveChunks(next, next.length)
  const piece = Buffer.alloc(4 << 20)
  const copy = async (start: number, end: number): Promise<void> => {
    for (let at = start; at < end;) {
      const { bytesRead } = await source.read(piece, 0, Math.min(piece.length, end - at), at)
      if (bytesRead === 0) throw new Error('the finished file became shorter')
      await target.write(piece, 0, bytesRead)
      at += bytesRead
    }
  }
  await copy(0, first.end)
  await target.write(next)
  // The index was last: what stood before it keeps its order.
  await copy(first.end, movieBox.start)
  await target.datasync()
}
