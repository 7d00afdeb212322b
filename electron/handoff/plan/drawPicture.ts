import { createCanvas, type Canvas } from '@napi-rs/canvas'
import { drawOverlay, paneViews } from '../../../shared/picture/drawInstant.ts'
import type { Size } from '../../../shared/picture/layout.ts'
import { paneBackground } from '../../../shared/picture/palette.ts'
import type { Stage, StageClip } from '../../../shared/walkthrough/stage.ts'
import { registerFonts } from '../fonts.ts'

/** One decoded frame as planes: I420 without padding, BT.709. */
export interface FramePlanes {
  readonly data: Uint8Array
  readonly width: number
  readonly height: number
  readonly range: 'limited' | 'full'
}

/** Planes as a canvas of the same size. Coefficients: ITU-R BT.709-6, items 3.2 to 3.4; chroma is taken from the nearest place. */
export function canvasOf({ data, width, height, range }: FramePlanes): Canvas {
  const canvas = createCanvas(width, height)
  const context = canvas.getContext('2d')
  const image = context.createImageData(width, height)
  const half = (width + 1) >> 1
  const u = width * height
  const v = u + half * ((height + 1) >> 1)
  const [black, lumaScale, chromaScale] = range === 'limited' ? [16, 255 / 219, 255 / 224] : [0, 1, 1]
  for (let y = 0, to = 0; y < height; y++)
    for (let x = 0; x < width; x++, to += 4) {
      const luma = ((data[y * width + x] ?? black) - black) * lumaScale
      const at = (y >> 1) * half + (x >> 1)
      const blue = ((data[u + at] ?? 128) - 128) * chromaScale
      const red = ((data[v + at] ?? 128) - 128) * chromaScale
      image.data[to] = luma + 1.5748 * red
      image.data[to + 1] = luma - 0.187324 * blue - 0.468124 * red
      image.data[to + 2] = luma + 1.8556 * blue
      image.data[to + 3] = 255
    }
  context.putImageData(image, 0, 0)
  return canvas
}

/** A clip and the frame of it that a stage shows. */
export interface ShownFrame {
  readonly clip: StageClip
  readonly planes: FramePlanes
}

/**
 * A stage of one clip or two, as a JPEG without any tags: the frames are laid where the picture's layout has them, and the
 * marks are drawn by the same code as on the screen and in the video.
 */
export function drawPicture(frames: readonly ShownFrame[], stage: Stage, size: Size): Promise<Buffer> {
  registerFonts()
  const canvas = createCanvas(size.width, size.height)
  const context = canvas.getContext('2d')
  context.fillStyle = paneBackground
  context.fillRect(0, 0, size.width, size.height)
  const overlay = { size, stage, clips: Object.fromEntries(frames.map(({ clip }) => [clip.id, clip])) }
  for (const { clipId, rect, place: { transform: { a, b, c, d, e, f } } } of paneViews(overlay)) {
    const { clip, planes } = frames.find((each) => each.clip.id === clipId)!
    context.save()
    context.beginPath()
    context.rect(rect.x, rect.y, rect.width, rect.height)
    context.clip()
    context.imageSmoothingEnabled = true
    context.imageSmoothingQuality = 'high'
    context.setTransform(a, b, c, d, e, f)
    context.drawImage(canvasOf(planes), 0, 0, clip.width, clip.height)
    context.restore()
  }
  context.setTransform(1, 0, 0, 1, 0, 0)
  drawOverlay(context, overlay)
  return canvas.encode('jpeg', 88)
}
