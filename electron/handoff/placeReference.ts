import type { Frame } from 'node-av'
import { apply, compose, invert, type Affine } from '../../shared/geometry/affine.ts'
import type { Rect, Size } from '../../shared/picture/layout.ts'
import { fillRect, type Planes, type Yuv } from './planes.ts'
import type { Scratch } from './scratch.ts'

export interface ReferencePlacing {
  /** The clip's picture as filmed: mirroring and turning are in the transform. */
  readonly picture: Frame
  /** Size of image space, which the picture may be a smaller or a stretched copy of. */
  readonly imageSize: Size
  /** Image space to canvas; a similarity that may turn and mirror. */
  readonly transform: Affine
  /** The part of the canvas that it may cover; sides even. */
  readonly rect: Rect
  /** 0 leaves what is there, 1 covers it. */
  readonly alpha: number
  /** What stands around the picture, or null where it lies over another. */
  readonly ground: Yuv | null
}

/**
 * Lays a reference's picture onto the canvas: turned, mirrored, let through. FFmpeg's scaler knows no turning, so samples are
 * taken here, linearly between four; the decoder gives pictures no larger than twice what is shown. Some 6 ns a sample.
 */
export function placeReference(to: Planes, { picture, imageSize, transform, rect, alpha, ground }: ReferencePlacing, scratch: Scratch): void {
  if (ground) fillRect(to, rect, ground)
  if (alpha <= 0 || rect.width <= 0 || rect.height <= 0) return
  const from = scratch.copyOf(picture)
  // Canvas to picture, in edge places: sample i covers [i, i + 1).
  const back = invert(compose({ a: imageSize.width / from.size.width, b: 0, c: 0, d: imageSize.height / from.size.height, e: 0, f: 0 }, transform))
  if (!back) return
  const covered = bounds(from.size, invert(back)!, rect)
  for (let plane = 0; plane < 3; plane++) layPlane(to, from, plane, back, covered, alpha)
}

/** The box of the picture on the canvas, held inside the rectangle. */
function bounds({ width, height }: Size, map: Affine, rect: Rect): Rect {
  const corners = [[0, 0], [width, 0], [0, height], [width, height]].map((corner) => apply(map, corner as [number, number]))
  const xs = corners.map(([x]) => x)
  const ys = corners.map(([, y]) => y)
  const [left, top] = [Math.max(rect.x, 2 * Math.floor(Math.min(...xs) / 2)), Math.max(rect.y, 2 * Math.floor(Math.min(...ys) / 2))]
  const [right, bottom] = [Math.min(rect.x + rect.width, 2 * Math.ceil(Math.max(...xs) / 2)), Math.min(rect.y + rect.height, 2 * Math.ceil(Math.max(...ys) / 2))]
  return { x: left, y: top, width: Math.max(0, right - left), height: Math.max(0, bottom - top) }
}

/**
 * One plane. A luma sample's middle is half a sample from its edge; chroma stands over even luma columns and between rows
 * (left-sited, as H.264 takes it to be when it is told nothing), in both pictures.
 */
function layPlane(to: Planes, from: Planes, plane: number, back: Affine, { x, y, width, height }: Rect, alpha: number): void {
  const isLuma = plane === 0
  const step = isLuma ? 1 : 2
  const [offsetX, offsetY] = isLuma ? [0.5, 0.5] : [0.5, 1]
  const [target, source] = [to.data[plane]!, from.data[plane]!]
  const [targetStride, sourceStride] = [to.stride[plane]!, from.stride[plane]!]
  const lastColumn = (isLuma ? from.size.width : from.size.width >> 1) - 1
  const lastRow = (isLuma ? from.size.height : from.size.height >> 1) - 1
  // Steps and places in the source plane's own samples, whose middles are whole numbers.
  const [stepX, stepY] = [back.a, back.b]
  const weight = Math.round(alpha * 256)
  for (let row = 0; row < height / step; row++) {
    const [px, py] = [x + offsetX, y + row * step + offsetY]
    let sx = (back.a * px + back.c * py + back.e - offsetX) / step
    let sy = (back.b * px + back.d * py + back.f - offsetY) / step
    let at = (y / step + row) * targetStride + x / step
    for (let column = 0; column < width / step; column++, at++, sx += stepX, sy += stepY) {
      if (sx < -0.5 || sy < -0.5 || sx > lastColumn + 0.5 || sy > lastRow + 0.5) continue
      const cx = sx < 0 ? 0 : sx > lastColumn ? lastColumn : sx
      const cy = sy < 0 ? 0 : sy > lastRow ? lastRow : sy
      const left = cx | 0
      const top = cy | 0
      const fx = cx - left
      const fy = cy - top
      const near = top * sourceStride + left
      const right = left < lastColumn ? 1 : 0
      const below = top < lastRow ? sourceStride : 0
      const upper = source[near]! + (source[near + right]! - source[near]!) * fx
      const lower = source[near + below]! + (source[near + below + right]! - source[near + below]!) * fx
      const value = upper + (lower - upper) * fy
      target[at] = weight === 256 ? value + 0.5 : (target[at]! * (256 - weight) + value * weight) / 256 + 0.5
    }
  }
}
