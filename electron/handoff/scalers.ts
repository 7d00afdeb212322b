import { AV_PIX_FMT_YUV420P, AV_PIX_FMT_YUV444P, SoftwareScaleContext, SWS_BICUBIC } from 'node-av'
import { must } from '../media/ffmpeg.ts'

interface Shape {
  readonly sourceWidth: number
  readonly sourceHeight: number
  readonly width: number
  readonly height: number
  readonly fourFourFour: boolean
  /** 256ths of a sample; see fineStep. For 4:2:0 where chroma stands, source and target. */
  readonly h: readonly [source: number, target: number]
  readonly v: readonly [source: number, target: number]
}

/** FFmpeg's software scalers, made when first needed. A zoom in progress asks for a new one each frame, so only some are kept. */
export class Scalers implements Disposable {
  readonly #kept = new Map<string, SoftwareScaleContext>()

  get(shape: Shape): SoftwareScaleContext {
    const key = JSON.stringify(shape)
    const known = this.#kept.get(key)
    if (known) {
      this.#kept.delete(key)
      this.#kept.set(key, known)
      return known
    }
    const scaler = new SoftwareScaleContext()
    scaler.allocContext()
    const format = shape.fourFourFour ? AV_PIX_FMT_YUV444P : AV_PIX_FMT_YUV420P
    const options = {
      srcw: shape.sourceWidth, srch: shape.sourceHeight, src_format: format, dstw: shape.width, dsth: shape.height, dst_format: format,
      sws_flags: SWS_BICUBIC, src_h_chr_pos: shape.h[0], dst_h_chr_pos: shape.h[1], src_v_chr_pos: shape.v[0], dst_v_chr_pos: shape.v[1],
    }
    for (const [name, value] of Object.entries(options)) must(scaler.setOption(name, value), `set the scaler's ${name}`)
    must(scaler.initContext(), 'make a scaler')
    this.#kept.set(key, scaler)
    if (this.#kept.size > 12) {
      const [oldest, old] = this.#kept.entries().next().value!
      this.#kept.delete(oldest)
      old.freeContext()
    }
    return scaler
  }

  [Symbol.dispose](): void {
    for (const scaler of this.#kept.values()) scaler.freeContext()
    this.#kept.clear()
  }
}
