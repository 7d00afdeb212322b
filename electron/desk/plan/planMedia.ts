import { DeskError } from '../../../shared/contract/errors.ts'
import { pagePolicy } from '../../../shared/plan/html.ts'
import { getFinding } from '../../library/findings.ts'
import { getPack } from '../../library/plans.ts'
import { getWalkthrough } from '../../library/walkthroughs.ts'
import { fileResponse } from '../byteRange.ts'
import type { DeskContext } from '../context.ts'
import { htmlOf, pdfOf, planWithPictures } from './documents.ts'
import { findingPicture } from './findingPictures.ts'
import { barredBy } from './mayGo.ts'
import { existsSync } from 'node:fs'

const route = /^(finding|plan|plan-preview|pack)\/([A-Za-z0-9-]{1,64})\.(jpg|html|pdf|zip)$/

const bytesResponse = (bytes: Uint8Array, type: string, isHead: boolean, more: Readonly<Record<string, string>> = {}): Response =>
  new Response(isHead ? null : (bytes as Uint8Array<ArrayBuffer>), {
    headers: { 'content-type': type, 'content-length': String(bytes.length), 'cache-control': 'no-store', 'x-content-type-options': 'nosniff', ...more },
  })

/** The plan in the room: a page that may show only what is in it, in a frame of our own window and nowhere else. */
const framed = { 'content-security-policy': `${pagePolicy}; frame-ancestors 'self'; sandbox`, 'x-frame-options': 'SAMEORIGIN' }

/** What findings and plans are served as; null where a path is none of theirs. Throws where it is, and cannot be made. */
export async function planMedia(context: DeskContext, path: string, request: { method: string; headers: Headers }): Promise<Response | null> {
  const [, kind, id, ending] = route.exec(path) ?? []
  if (!kind || !id) return null
  const { db } = context.library
  const isHead = request.method === 'HEAD'
  const missing = (): DeskError => new DeskError('not-found', 'There is nothing of that name.', { where: path })
  if (kind === 'finding' && ending === 'jpg') {
    const finding = getFinding(db, id)
    if (!finding) throw missing()
    return bytesResponse(await findingPicture(context, finding), 'image/jpeg', isHead)
  }
  if (kind === 'pack' && ending === 'zip') {
    const pack = getPack(db, id)
    if (!pack || pack.kind !== 'zip' || !existsSync(pack.path)) throw missing()
    return fileResponse({ path: pack.path, type: 'application/zip', tag: pack.id }, request)
  }
  if ((kind !== 'plan' && kind !== 'plan-preview') || (ending !== 'html' && ending !== 'pdf') || !getWalkthrough(db, id)) throw missing()
  const isPreview = kind === 'plan-preview'
  const barred = isPreview ? null : barredBy(context, id)
  if (barred) return new Response(barred.message, { status: 403, headers: { 'content-type': 'text/plain; charset=utf-8', 'cache-control': 'no-store', 'x-content-type-options': 'nosniff' } })
  const parts = await planWithPictures(context, id)
  if (ending === 'pdf') return bytesResponse(await pdfOf(parts), 'application/pdf', isHead)
  return bytesResponse(Buffer.from(htmlOf(parts)), 'text/html; charset=utf-8', isHead, isPreview ? framed : {})
}
