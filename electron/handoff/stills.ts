import { createCanvas } from '@napi-rs/canvas'
import type { Frame } from 'node-av'
import type { Size } from '../../shared/picture/layout.ts'
import { paneViews, referenceViews } from '../../shared/picture/views.ts'
import { stateAt, type Log } from '../../shared/walkthrough/log.ts'
import { clipsShown } from '../../shared/walkthrough/stage.ts'
import { Composer } from './composer.ts'
import { openClips, probedClips, type HandoffClip } from './openClips.ts'
import { planesOf } from './planes.ts'

export interface StillRequest {
  readonly log: Log
  readonly clips: Readonly<Record<string, HandoffClip>>
  /** Milliseconds on the log's clock. */
  readonly at: number
  readonly size: Size
  readonly format: 'png' | 'jpeg'
}

/** One instant of a walkthrough, as the hand-off shows it, as the bytes of a picture file. Throws as openClips does. */
export async function renderStill({ log, clips, at, size, format }: StillRequest, signal?: AbortSignal): Promise<Buffer> {
  const stage = stateAt(log, at)
  const shown = Object.fromEntries(clipsShown(stage).flatMap((id) => (log.header.clips[id] ? [[id, log.header.clips[id]]] : [])))
  // Only this instant's clips are opened, at this instant's scale.
  await using open = openClips(await probedClips(shown, clips, signal))
  const overlay = { size, stage, clips: log.header.clips }
  open.fit(Object.fromEntries([...paneViews(overlay), ...referenceViews(overlay)].map(({ clipId, place }) => [clipId, Math.hypot(place.transform.c, place.transform.d)])))
  using composer = new Composer(size, open.frame)
  const canvas = createCanvas(size.width, size.height)
  const ctx = canvas.getContext('2d')
  const image = ctx.createImageData(size.width, size.height)
  toRgba(await composer.compose({ kind: 'stage', stage, clips: log.header.clips }), image.data)
  ctx.putImageData(image, 0, 0)
  return format === 'png' ? canvas.encode('png') : canvas.encode('jpeg', 90)
}

/** A BT.709 limited 4:2:0 frame as opaque RGBA. Chroma stands over even columns and between rows; it is spread linearly. */
export function toRgba(frame: Frame, rgba: Uint8ClampedArray): void {
  const { size: { width, height }, data: [luma, u, v], stride: [lumaStride, stride] } = planesOf(frame)
  const [lastColumn, lastRow] = [(width >> 1) - 1, (height >> 1) - 1]
  for (let y = 0, to = 0; y < height; y++) {
    const near = Math.min(y >> 1, lastRow) * stride
    const far = Math.min(Math.max((y >> 1) + (y % 2 === 0 ? -1 : 1), 0), lastRow) * stride
    for (let x = 0; x < width; x++, to += 4) {
      const left = Math.min(x >> 1, lastColumn)
      const right = Math.min(left + (x % 2), lastColumn)
      const spread = (plane: Buffer): number => (3 * (plane[near + left]! + plane[near + right]!) + plane[far + left]! + plane[far + right]!) / 8 - 128
      const Y = ((luma[y * lumaStride + x]! - 16) * 255) / 219
      const Pb = (spread(u) * 255) / 224
      const Pr = (spread(v) * 255) / 224
      rgba[to] = Y + 1.5748 * Pr
      rgba[to + 1] = Y - 0.187324 * Pb - 0.468124 * Pr
      rgba[to + 2] = Y + 1.8556 * Pb
      rgba[to + 3] = 255
    }
  }
}
