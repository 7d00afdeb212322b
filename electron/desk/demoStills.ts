import { createCanvas } from '@napi-rs/canvas'
import type { OriginalFrame } from './engines.ts'

/** I420, BT.709, limited range, to a JPEG. Coefficients: ITU-R BT.709-6, items 3.2 to 3.4. */
export function jpegOf({ data, width, height }: Pick<OriginalFrame, 'data' | 'width' | 'height'>): Buffer {
  const canvas = createCanvas(width, height)
  const context = canvas.getContext('2d')
  const image = context.createImageData(width, height)
  const half = (width + 1) >> 1
  const u = width * height
  const v = u + half * ((height + 1) >> 1)
  for (let y = 0, to = 0; y < height; y++)
    for (let x = 0; x < width; x++, to += 4) {
      const luma = (data[y * width + x]! - 16) * (255 / 219)
      const at = (y >> 1) * half + (x >> 1)
      const blue = (data[u + at]! - 128) * (255 / 224)
      const red = (data[v + at]! - 128) * (255 / 224)
      image.data[to] = luma + 1.5748 * red
      image.data[to + 1] = luma - 0.1873 * blue - 0.4681 * red
      image.data[to + 2] = luma + 1.8556 * blue
      image.data[to + 3] = 255
    }
  context.putImageData(image, 0, 0)
  return canvas.toBuffer('image/jpeg', 88)
}
