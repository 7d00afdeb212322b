import type { Frame } from 'node-av'
import type { Affine } from '../../shared/geometry/affine.ts'
import type { Rect, Size } from '../../shared/picture/layout.ts'
import { must } from '../media/ffmpeg.ts'
import { fineStep, wholeStep, type AxisMap, type FineStep, type WholeStep } from './axis.ts'
import { fillRect, type Planes, type Yuv } from './planes.ts'
import type { Scalers } from './scalers.ts'
import type { Scratch, ScratchPicture } from './scratch.ts'
import type { Windows } from './windows.ts'

/** Edges nearer than this to where they belong, in canvas pixels, are near enough: half of the smallest step that shows. */
const nearEnough = 0.26

export interface Placing {
  /** The clip's picture, turned left for right already where the pane is mirrored. */
  readonly picture: Frame
  /** Size of image space, which the picture may be a smaller or a stretched copy of. */
  readonly imageSize: Size
  /** Image space to canvas, as paneTransform gives it. */
  readonly transform: Affine
  readonly rect: Rect
  /** For the bars beside the picture, or null where they are there already. */
  readonly background: Yuv | null
}

const aligned = (value: number): number => (value + 127) & ~63

/**
 * Draws a clip's picture into its pane of the canvas, bars where it does not reach.
 * @param windows of the canvas; without them everything is copied row by row
 */
export function placePane(to: Planes, placing: Placing, scalers: Scalers, scratch: Scratch, windows: Windows | null = null): void {
  const { picture, imageSize, transform, rect } = placing
  const { width, height } = picture
  const mirrored = transform.a < 0
  const offset = mirrored ? transform.e + transform.a * imageSize.width : transform.e
  const x: AxisMap = { scale: (Math.abs(transform.a) * imageSize.width) / width, offset, length: width, from: rect.x, to: rect.x + rect.width }
  const y: AxisMap = { scale: (transform.d * imageSize.height) / height, offset: transform.f, length: height, from: rect.y, to: rect.y + rect.height }
  const wide = wholeStep(x, nearEnough)
  const high = wholeStep(y, nearEnough)
  if (!wide || !high) return placing.background ? fillRect(to, rect, placing.background) : undefined
  if (wide.error <= nearEnough && high.error <= nearEnough) return placeWhole(to, windows, placing, wide, high, mirrored, scalers, scratch)
  placeFine(to, placing, x, y, mirrored, scalers, scratch)
}

/** All three planes at once, on even samples. */
function placeWhole(to: Planes, windows: Windows | null, { picture, rect, background }: Placing, x: WholeStep, y: WholeStep, mirrored: boolean, scalers: Scalers, scratch: Scratch): void {
  // Chroma stands over even luma columns; of a picture turned left for right, over odd ones.
  const scaler = scalers.get({
    sourceWidth: x.taken, sourceHeight: y.taken, width: x.made, height: y.made, fourFourFour: false, h: [mirrored ? 256 : 0, 0], v: [128, 128],
  })
  const scaled = scratch.picture({ width: x.made, height: y.made })
  const { frame, planes } = scaled
  if (x.start === 0 && y.start === 0 && x.taken === picture.width && y.taken === picture.height) {
    must(scaler.scaleFrameSync(frame, picture), 'scale a picture')
  } else {
    const { data, stride } = scratch.copyOf(picture)
    const sources = data.map((plane, i) => plane.subarray(i === 0 ? y.start * stride[0] + x.start : (y.start / 2) * stride[i]! + x.start / 2))
    must(scaler.scaleSync(sources, [...stride], 0, y.taken, [...planes.data], [...planes.stride]), 'scale a picture')
  }
  if (background) clearBars(to, rect, x, y, background)
  if (windows && copyWhole(windows, scaled, x, y, rect)) return
  for (let plane = 0; plane < 3; plane++) {
    const half = plane === 0 ? 1 : 2
    copyInto(to, plane, planes.data[plane]!, planes.stride[plane]!, { at: x.at / half, made: x.made / half }, { at: y.at / half, made: y.made / half }, rect)
  }
}

/** Copies all planes of what lies in the pane in one go. False where the windows that it takes are not there. */
function copyWhole(windows: Windows, scaled: ScratchPicture, x: WholeStep, y: WholeStep, rect: Rect): boolean {
  const [left, top] = [Math.max(rect.x, x.at), Math.max(rect.y, y.at)]
  const width = Math.min(rect.x + rect.width, x.at + x.made) - left
  const height = Math.min(rect.y + rect.height, y.at + y.made) - top
  if (width <= 0 || height <= 0) return true
  const into = windows.get({ x: left, y: top, width, height })
  const whole = width === x.made && height === y.made
  const from = whole ? scaled.frame : scaled.windows.get({ x: left - x.at, y: top - y.at, width, height })
  if (!into || !from) return false
  must(into.copy(from), 'copy a picture')
  return true
}

/**
 * Luma and chroma apart, each with the fraction of a sample that whole pixels leave. FFmpeg's scaler shifts by fractions
 * only what it takes for chroma, so the planes go through as the chroma of a 4:4:4 picture: exact to a hundredth of a
 * pixel at two and a half times the cost.
 */
function placeFine(to: Planes, { picture, rect, background }: Placing, x: AxisMap, y: AxisMap, mirrored: boolean, scalers: Scalers, scratch: Scratch): void {
  const { size, data, stride: strides } = scratch.copyOf(picture)
  const lumaX = fineStep(x)
  const lumaY = fineStep(y)
  // Chroma sample k stands over luma's edge place 2k + 0.5 across (2k + 1.5 once turned) and 2k + 1 down.
  const chromaX = fineStep({
    scale: x.scale, offset: (x.offset + 0.5 + (mirrored ? 0.5 : -0.5) * x.scale) / 2, length: size.width >> 1, from: x.from / 2, to: x.to / 2,
  })
  const chromaY = fineStep({ scale: y.scale, offset: y.offset / 2, length: size.height >> 1, from: y.from / 2, to: y.to / 2 })
  if (background) fillRect(to, rect, background)
  if (!lumaX || !lumaY || !chromaX || !chromaY) return
  const scale = (first: number, second: number, across: FineStep, down: FineStep): [Buffer, Buffer, number] => {
    const scaler = scalers.get({
      sourceWidth: across.taken, sourceHeight: down.taken, width: across.made, height: down.made, fourFourFour: true,
      h: [across.position, 0], v: [down.position, 0],
    })
    const stride = aligned(across.made)
    const bytes = stride * (down.made + 2)
    const made = [scratch.get(0, bytes), scratch.get(1, bytes), scratch.get(2, bytes)] as const
    const source = (plane: number): Buffer => data[plane]!.subarray(down.start * strides[plane]! + across.start)
    const from = [strides[first]!, strides[first]!, strides[second]!]
    must(scaler.scaleSync([source(first), source(first), source(second)], from, 0, down.taken, [...made], [stride, stride, stride]), 'scale a picture')
    return [made[1], made[2], stride]
  }
  const [luma, , lumaStride] = scale(0, 0, lumaX, lumaY)
  copyInto(to, 0, luma, lumaStride, lumaX, lumaY, rect)
  const [u, v, stride] = scale(1, 2, chromaX, chromaY)
  copyInto(to, 1, u, stride, chromaX, chromaY, rect)
  copyInto(to, 2, v, stride, chromaX, chromaY, rect)
}

type Run = Pick<WholeStep, 'at' | 'made'>

/** Fills what the picture leaves of its pane. */
function clearBars(to: Planes, rect: Rect, x: Run, y: Run, colour: Yuv): void {
  const left = Math.max(0, x.at - rect.x)
  const right = Math.max(0, rect.x + rect.width - x.at - x.made)
  const top = Math.max(0, y.at - rect.y)
  const bottom = Math.max(0, rect.y + rect.height - y.at - y.made)
  if (left > 0) fillRect(to, { ...rect, width: left }, colour)
  if (right > 0) fillRect(to, { ...rect, x: rect.x + rect.width - right, width: right }, colour)
  if (top > 0) fillRect(to, { ...rect, height: top }, colour)
  if (bottom > 0) fillRect(to, { ...rect, y: rect.y + rect.height - bottom, height: bottom }, colour)
}

/** Copies the part of a scaled plane that lies in the pane. Sizes in the plane's samples. */
function copyInto(to: Planes, plane: number, from: Buffer, stride: number, x: Run, y: Run, rect: Rect): void {
  const half = plane === 0 ? 1 : 2
  const [left, right, top, bottom] = [rect.x / half, (rect.x + rect.width) / half, rect.y / half, (rect.y + rect.height) / half]
  const [x0, x1] = [Math.max(left, x.at), Math.min(right, x.at + x.made)]
  const [y0, y1] = [Math.max(top, y.at), Math.min(bottom, y.at + y.made)]
  const data = to.data[plane]!
  const toStride = to.stride[plane]!
  if (x1 <= x0) return
  for (let row = y0; row < y1; row++) {
    const source = (row - y.at) * stride - x.at
    const target = row * toStride
    from.copy(data, target + x0, source + x0, source + x1)
  }
}
