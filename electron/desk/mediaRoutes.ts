import { join } from 'node:path'
import { existsSync, statSync } from 'node:fs'
import { frameCountOf, hashOfClip, mediaIndexText } from '../library/clips.ts'
import { getHandoff } from '../library/handoffs.ts'
import { derivedFolder, originalPath } from '../library/mediaStore.ts'
import { getWalkthrough } from '../library/walkthroughs.ts'
import { fileResponse } from './byteRange.ts'
import type { DeskContext } from './context.ts'
import { faultOf } from './faultOf.ts'
import { lessonSoundResponse } from './lessonSound.ts'
import { planMedia } from './plan/planMedia.ts'
import { soundPath } from './recordings.ts'
import { wavHeader } from '../media/wav.ts'

export interface MediaRequest {
  readonly method: string
  readonly headers: Headers
  readonly signal?: AbortSignal | undefined
}

const plain = (status: number, text: string): Response =>
  new Response(text, {
    status,
    headers: { 'content-type': 'text/plain; charset=utf-8', 'cache-control': 'no-store', 'x-content-type-options': 'nosniff' },
  })
const notFound = (): Response => plain(404, 'There is nothing of that name.')

/** Files of a clip by the first part of the path and the name's ending. */
const clipFiles: Readonly<Record<string, { file: string; type: string }>> = {
  'review.mp4': { file: 'review.mp4', type: 'video/mp4' },
  'poster.jpg': { file: 'poster.jpg', type: 'image/jpeg' },
  'strip.jpg': { file: 'strip.jpg', type: 'image/jpeg' },
  'strip.json': { file: 'strip.json', type: 'application/json' },
  'envelope.json': { file: 'envelope.json', type: 'application/json' },
}
const route = /^(review|poster|strip|envelope|walkthrough|handoff)\/([A-Za-z0-9-]{1,64})\.(mp4|jpg|json|wav)$/
const cleanedRoute = /^cleaned\/([A-Za-z0-9-]{1,64})\/([a-z0-9-]{1,40})\.wav$/
const lessonRoute = /^lesson\/([A-Za-z0-9-]{1,64})\/(\d{1,9})(-recorded)?\.wav$/
const frameRoute = /^frame\/([A-Za-z0-9-]{1,64})\/(\d{1,9})$/

/**
 * What the contract's MediaPath table serves. A path is only ever matched against those few forms, and what lies on disk is
 * found by a row's id: there is no way from a path to any other file.
 */
export async function serveMedia(context: DeskContext, path: string, request: MediaRequest): Promise<Response> {
  if (request.method !== 'GET' && request.method !== 'HEAD') return new Response(null, { status: 405, headers: { allow: 'GET, HEAD' } })
  const { db, layout } = context.library
  try {
    const frame = frameRoute.exec(path)
    if (frame) return await serveFrame(context, frame[1]!, Number(frame[2]), request)
    const edited = lessonRoute.exec(path)
    if (edited) return lessonSoundResponse(context, edited[1]!, Number(edited[2]), edited[3] !== undefined, request) ?? notFound()
    const cleaned = cleanedRoute.exec(path)
    if (cleaned) {
      const file = getWalkthrough(db, cleaned[1]!) ? context.cleaning.pathOf(cleaned[1]!, cleaned[2]!) : null
      return file === null ? notFound() : fileResponse({ path: file, type: 'audio/wav', tag: `${cleaned[1]}-${cleaned[2]}-${statSync(file).size}` }, request)
    }
    const planned = await planMedia(context, path, request)
    if (planned) return planned
    const [, kind, id, ending] = route.exec(path) ?? []
    if (!kind || !id) return notFound()
    const clipFile = clipFiles[`${kind}.${ending}`]
    if (clipFile) {
      const hash = hashOfClip(db, id)
      const file = hash === null ? null : join(derivedFolder(layout, hash), clipFile.file)
      if (file === null || !existsSync(file)) return notFound()
      // What is made of an original can be made again, better: its time is part of the tag.
      return fileResponse({ path: file, type: clipFile.type, tag: `${hash!}-${kind}-${Math.floor(statSync(file).mtimeMs)}` }, request)
    }
    if (kind === 'walkthrough' && ending === 'wav') {
      const walkthrough = getWalkthrough(db, id)
      const file = soundPath(context.library, id)
      if (!walkthrough || !existsSync(file)) return notFound()
      const { size } = statSync(file)
      const tag = walkthrough.state === 'recording' ? null : `${id}-${size}`
      return fileResponse({ path: file, type: 'audio/wav', tag, before: wavHeader(walkthrough.sampleRate, 1, size) }, request)
    }
    if (kind === 'handoff' && ending === 'mp4') {
      const handoff = getHandoff(db, id)
      if (!handoff?.path || !existsSync(handoff.path)) return notFound()
      return fileResponse({ path: handoff.path, type: 'video/mp4', tag: `${id}-${handoff.bytes}` }, request)
    }
    return notFound()
  } catch (error) {
    const { fault } = faultOf(error, context.log)
    if (fault.kind === 'cancelled') return plain(499, fault.message)
    return fault.kind === 'not-found' ? notFound() : plain(500, fault.message)
  }
}

async function serveFrame(context: DeskContext, clipId: string, frame: number, request: MediaRequest): Promise<Response> {
  const { db, layout } = context.library
  const hash = hashOfClip(db, clipId)
  const index = mediaIndexText(db, clipId)
  if (hash === null || index === null) return notFound()
  if (frame >= frameCountOf(db, clipId)) return notFound()
  const picture = await context.engines.media.frame(
    originalPath(layout, hash),
    JSON.parse(index),
    frame,
    request.signal ? { signal: request.signal } : {},
  )
  const headers = {
    'content-type': 'application/octet-stream',
    'content-length': String(picture.data.length),
    'x-width': String(picture.width),
    'x-height': String(picture.height),
    'x-range': picture.range,
    'cache-control': 'private, max-age=31536000, immutable',
    etag: `"${hash}-${frame}"`,
    'x-content-type-options': 'nosniff',
  }
  return new Response(request.method === 'HEAD' ? null : (picture.data as Uint8Array<ArrayBuffer>), { headers })
}
