import { createReadStream, statSync } from 'node:fs'
import { Readable } from 'node:stream'

/** First and last byte, both included; 'whole' where nothing was asked; null where it cannot be answered (416). */
export type ByteRange = { readonly first: number; readonly last: number } | 'whole' | null

/** Reads a Range header (RFC 9110, 14.1.2). More than one range, or another unit, is answered with the whole. */
export function parseRange(header: string | null, size: number): ByteRange {
  const match = header === null ? null : /^bytes=(\d*)-(\d*)$/.exec(header.trim())
  if (!match || (match[1] === '' && match[2] === '')) return 'whole'
  if (match[1] === '') {
    const length = Math.min(size, Number(match[2]))
    return length === 0 ? null : { first: size - length, last: size - 1 }
  }
  const first = Number(match[1])
  const last = match[2] === '' ? size - 1 : Math.min(size - 1, Number(match[2]))
  if (match[2] !== '' && Number(match[2]) < first) return 'whole'
  return first >= size ? null : { first, last }
}

export interface BytesOf {
  readonly path: string
  readonly type: string
  /** Never changes under the same name, so that a browser need not ask again; null for what may change. */
  readonly tag: string | null
  /** Bytes that come before those of the file. */
  readonly before?: Uint8Array
}

/** The file as an answer to GET or HEAD, by range where asked. Throws ENOENT where it is not there. */
export function fileResponse(
  { path, type, tag, before = new Uint8Array() }: BytesOf,
  request: { method: string; headers: Headers },
): Response {
  const size = before.length + statSync(path).size
  const headers = new Headers({
    'content-type': type,
    'accept-ranges': 'bytes',
    'cache-control': tag === null ? 'no-store' : 'private, max-age=31536000, immutable',
    'x-content-type-options': 'nosniff',
  })
  const etag = tag === null ? null : `"${tag}"`
  if (etag) headers.set('etag', etag)
  if (
    etag &&
    request.headers
      .get('if-none-match')
      ?.split(',')
      .some((given) => given.trim().replace(/^W\//, '') === etag)
  )
    return new Response(null, { status: 304, headers })
  const condition = request.headers.get('if-range')
  const range = condition !== null && condition !== etag ? 'whole' : parseRange(request.headers.get('range'), size)
  if (range === null) {
    headers.set('content-range', `bytes */${size}`)
    return new Response(null, { status: 416, headers })
  }
  const { first, last } = range === 'whole' ? { first: 0, last: size - 1 } : range
  headers.set('content-length', String(size === 0 ? 0 : last - first + 1))
  if (range !== 'whole') headers.set('content-range', `bytes ${first}-${last}/${size}`)
  const status = range === 'whole' ? 200 : 206
  if (request.method === 'HEAD' || size === 0) return new Response(null, { status, headers })
  return new Response(streamOf(path, before, first, last), { status, headers })
}

function streamOf(path: string, before: Uint8Array, first: number, last: number): ReadableStream<Uint8Array> {
  const pieces = async function* (): AsyncGenerator<Uint8Array> {
    if (first < before.length) yield before.subarray(first, Math.min(before.length, last + 1))
    if (last < before.length) return
    const file = createReadStream(path, { start: Math.max(0, first - before.length), end: last - before.length, highWaterMark: 1 << 18 })
    try {
      for await (const piece of file) yield piece as Buffer
    } finally {
      file.destroy()
    }
  }
  return Readable.toWeb(Readable.from(pieces(), { objectMode: false, highWaterMark: 1 << 18 })) as ReadableStream<Uint8Array>
}
