import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { Finding } from '../../../shared/contract/finding.ts'
import { sizeOf, stageOf } from '../../../shared/plan/framing.ts'
import { frameAt } from '../../../shared/walkthrough/motion.ts'
import type { StageClip } from '../../../shared/walkthrough/stage.ts'
import { drawPicture, type ShownFrame } from '../../handoff/plan/drawPicture.ts'
import { getClip, hashOfClip, mediaIndexText } from '../../library/clips.ts'
import { derivedFolder, originalPath } from '../../library/mediaStore.ts'
import type { DeskContext } from '../context.ts'

type Parts = Pick<DeskContext, 'library' | 'engines'>

export function stageClipOf({ library: { db } }: Pick<DeskContext, 'library'>, id: string): (StageClip & { readonly hash: string }) | null {
  const clip = getClip(db, id)
  if (!clip) return null
  const { view, handedness, mirrored, width, height, frames, captureRate, playRate, hash } = clip
  return { id, view, handedness, mirrored, width, height, frames, captureRate, playRate, hash }
}

/** Says what a picture is drawn from, so that it is drawn anew when that changes. */
const keyOf = ({ picture }: Finding, otherHash: string | null): string => createHash('sha256').update(JSON.stringify([picture, otherHash])).digest('hex').slice(0, 12)

/** One picture at a time is drawn: it is work for the desk's own thread. */
let turn: Promise<unknown> = Promise.resolve()

/**
 * A finding's picture as the bytes of a JPEG. It is kept among what is made of the finding's clip, and so goes with it.
 * Throws where the clip is gone.
 */
export async function findingPicture(context: Parts, finding: Finding): Promise<Buffer> {
  const { layout } = context.library
  const clip = stageClipOf(context, finding.clipId)
  if (!clip) throw new DeskError('not-found', 'The clip of this finding is not in the library any more.', { where: finding.id })
  const { beside } = finding.picture
  // Where the other view has left the library since, the finding's own goes on alone.
  const other = beside?.shown ? stageClipOf(context, beside.clipId) : null
  const folder = derivedFolder(layout, clip.hash)
  const file = join(folder, `finding-${finding.id}-${keyOf(finding, other?.hash ?? null)}.jpg`)
  if (existsSync(file)) return readFileSync(file)
  const frameOf = async ({ hash, ...stageClip }: StageClip & { readonly hash: string }, tick: number): Promise<ShownFrame> => ({
    clip: stageClip,
    planes: await context.engines.media.frame(originalPath(layout, hash), JSON.parse(mediaIndexText(context.library.db, stageClip.id)!), frameAt(stageClip.frames, tick)),
  })
  const drawn = turn.then(async () => {
    if (existsSync(file)) return readFileSync(file)
    const frames = [await frameOf(clip, finding.picture.tick), ...(other && beside ? [await frameOf(other, beside.tick)] : [])]
    const size = sizeOf(other ? finding.picture : { ...finding.picture, beside: null })
    const bytes = await drawPicture(frames, stageOf(finding.picture, frames[0]!.clip, size, frames[1]?.clip), size)
    mkdirSync(folder, { recursive: true })
    dropFindingPicture(context, finding)
    writeFileSync(`${file}.part`, bytes, { mode: 0o600 })
    renameSync(`${file}.part`, file)
    return bytes
  })
  turn = drawn.catch(() => undefined)
  return drawn
}

/** Takes a finding's pictures away, when it goes or is drawn anew. */
export function dropFindingPicture({ library: { db, layout } }: Pick<DeskContext, 'library'>, { id, clipId }: Pick<Finding, 'id' | 'clipId'>): void {
  const hash = hashOfClip(db, clipId)
  const folder = hash === null ? null : derivedFolder(layout, hash)
  if (folder === null || !existsSync(folder)) return
  for (const name of readdirSync(folder)) if (name.startsWith(`finding-${id}-`)) rmSync(join(folder, name), { force: true })
}
