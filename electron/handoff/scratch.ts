import { AV_PIX_FMT_YUV420P, type Frame } from 'node-av'
import type { Size } from '../../shared/picture/layout.ts'
import { must } from '../media/ffmpeg.ts'
import { newPicture, planesOf, type Planes } from './planes.ts'
import { Windows } from './windows.ts'

export interface ScratchPicture {
  readonly frame: Frame
  readonly planes: Planes
  readonly windows: Windows
}

/** A picture with its planes taken hold of once: each `frame.data` makes the garbage collector believe in megabytes more. */
export function scratchPicture(size: Size): ScratchPicture {
  const frame = newPicture(size)
  const planes = planesOf(frame)
  // What lies between the rows is never shown, but scalers and encoders read on into it.
  for (const plane of planes.data) plane.fill(0)
  return { frame, planes, windows: new Windows(frame, size) }
}

export function freePicture({ frame, windows }: ScratchPicture): void {
  windows[Symbol.dispose]()
  frame.free()
}

/** Room for pictures on their way, kept between frames: fresh memory costs more than scaling into it. */
export class Scratch implements Disposable {
  readonly #buffers: Buffer[] = []
  #scaled: ScratchPicture | null = null
  readonly #copies = new Map<string, ScratchPicture & { of: Frame | null }>()

  get(slot: number, bytes: number): Buffer {
    const known = this.#buffers[slot]
    if (known && known.length >= bytes) return known
    return (this.#buffers[slot] = Buffer.alloc(Math.ceil(bytes * 1.25)))
  }

  /** A picture of this size to scale into; its rows may lie farther apart than they need to. Good until the next one is asked for. */
  picture({ width, height }: Size): ScratchPicture {
    const room = this.#scaled?.planes.size
    if (!room || room.width < width || room.height < height) {
      if (this.#scaled) freePicture(this.#scaled)
      const grown = (old: number | undefined, wanted: number): number => Math.max(old ?? 0, (Math.ceil(wanted * 1.1) + 63) & ~63)
      this.#scaled = scratchPicture({ width: grown(room?.width, width), height: grown(room?.height, height) })
    }
    const { frame, planes, windows } = this.#scaled!
    frame.width = width
    frame.height = height
    return { frame, planes: { ...planes, size: { width, height } }, windows }
  }

  /** The planes of a copy of the frame, whose own it would be dear to ask for. Good until the next one is asked for. */
  copyOf(frame: Frame): Planes {
    if (frame.format !== AV_PIX_FMT_YUV420P) throw new Error('the picture is not 8-bit 4:2:0')
    const { width, height } = frame
    const key = `${width} ${height}`
    let copy = this.#copies.get(key)
    if (!copy) {
      for (const [old, unused] of this.#copies) {
        if (this.#copies.size < 4) break
        this.#copies.delete(old)
        freePicture(unused)
      }
      copy = { ...scratchPicture({ width, height }), of: null }
      this.#copies.set(key, copy)
    }
    if (copy.of !== frame) must(copy.frame.copy(frame), 'copy a picture')
    copy.of = frame
    return copy.planes
  }

  async prepareWindows(): Promise<void> {
    await this.#scaled?.windows.prepare()
  }

  [Symbol.dispose](): void {
    if (this.#scaled) freePicture(this.#scaled)
    this.#scaled = null
    for (const copy of this.#copies.values()) freePicture(copy)
    this.#copies.clear()
  }
}
