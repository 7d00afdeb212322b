import { AV_PIX_FMT_YUV420P, AVCHROMA_LOC_LEFT, AVCOL_PRI_BT709, AVCOL_RANGE_MPEG, AVCOL_SPC_BT709, AVCOL_TRC_BT709, Frame } from 'node-av'
import type { Rect, Size } from '../../shared/picture/layout.ts'
import { must } from '../media/ffmpeg.ts'

/** The three planes of an 8-bit 4:2:0 picture: luma, then the two chroma planes at half the width and height. */
export interface Planes {
  readonly size: Size
  readonly data: readonly [Buffer, Buffer, Buffer]
  readonly stride: readonly [number, number, number]
}

export interface Yuv {
  readonly y: number
  readonly u: number
  readonly v: number
}

/** Red, green and blue of 0 to 255 as BT.709 in limited range (ITU-R BT.709-6, items 3.2 to 3.5), not rounded. */
export function toYuv(red: number, green: number, blue: number): Yuv {
  const luma = 0.2126 * red + 0.7152 * green + 0.0722 * blue
  return {
    y: 16 + (luma * 219) / 255,
    u: 128 + ((blue - luma) / 1.8556) * (224 / 255),
    v: 128 + ((red - luma) / 1.5748) * (224 / 255),
  }
}

/** `#RRGGBB` as whole numbers of BT.709, limited. */
export function yuvOfHex(colour: string): Yuv {
  const [red, green, blue] = [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16)) as [number, number, number]
  const { y, u, v } = toYuv(red, green, blue)
  return { y: Math.round(y), u: Math.round(u), v: Math.round(v) }
}

/** A new 4:2:0 frame with the tags that a hand-off carries. Its pixels are undefined. */
export function newPicture({ width, height }: Size): Frame {
  const frame = new Frame()
  frame.alloc()
  frame.format = AV_PIX_FMT_YUV420P
  frame.width = width
  frame.height = height
  must(frame.getBuffer(64), 'make room for a picture')
  frame.colorRange = AVCOL_RANGE_MPEG
  frame.colorPrimaries = AVCOL_PRI_BT709
  frame.colorTrc = AVCOL_TRC_BT709
  frame.colorSpace = AVCOL_SPC_BT709
  frame.chromaLocation = AVCHROMA_LOC_LEFT
  return frame
}

/** A frame's own memory, not a copy: good for as long as the frame is. */
export function planesOf(frame: Frame): Planes {
  const data = frame.data
  if (frame.format !== AV_PIX_FMT_YUV420P || !data?.[2]) throw new Error('the picture is not 8-bit 4:2:0')
  const [y, u, v] = frame.linesize
  return { size: { width: frame.width, height: frame.height }, data: [data[0]!, data[1]!, data[2]], stride: [y!, u!, v!] }
}

/** Fills a rectangle whose sides are even. */
export function fillRect(to: Planes, rect: Rect, colour: Yuv): void {
  const values = [colour.y, colour.u, colour.v]
  for (let plane = 0; plane < 3; plane++) {
    const shift = plane === 0 ? 0 : 1
    const [left, right] = [rect.x >> shift, (rect.x + rect.width) >> shift]
    for (let y = rect.y >> shift; y < (rect.y + rect.height) >> shift; y++) {
      to.data[plane]!.fill(values[plane]!, y * to.stride[plane]! + left, y * to.stride[plane]! + right)
    }
  }
}
