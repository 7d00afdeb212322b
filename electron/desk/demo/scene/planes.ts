/** RGB to BT.709 limited range, 4:2:0 planar (ITU-T H.273 code 1: Kr .2126, Kb .0722). */
const kr = 0.2126
const kb = 0.0722
const kg = 1 - kr - kb

/** Whole picture; sides must be even. */
export function toPlanes(rgb: Uint8Array, width: number, height: number): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array((width * height * 3) / 2)
  writeChroma(rgb, width, height, { x0: 0, y0: 0, x1: width, y1: height }, out)
  return out
}

/** Sixteen-bit fixed point: luma's weights for 219 steps, chroma's for 224 and the sum of four pixels. */
const fixed = (x: number): number => Math.round(x * 65536)
const yr = fixed((219 / 255) * kr)
const yg = fixed((219 / 255) * kg)
const yb = fixed((219 / 255) * kb)
const cb = 224 / 255 / (2 * (1 - kb)) / 4
const cr = 224 / 255 / (2 * (1 - kr)) / 4
const bOfR = fixed(-kr * cb),
  bOfG = fixed(-kg * cb),
  bOfB = fixed((1 - kb) * cb)
const rOfR = fixed((1 - kr) * cr),
  rOfG = fixed(-kg * cr),
  rOfB = fixed(-kb * cr)
const lumaBase = fixed(16.5)
const chromaBase = fixed(128.5)

/** The part of a picture within a box whose corners are even. */
export function writeChroma(
  rgb: Uint8Array,
  width: number,
  height: number,
  box: { x0: number; y0: number; x1: number; y1: number },
  out: Uint8Array,
): void {
  const luma = width * height
  const half = width >> 1
  const quarter = luma >> 2
  for (let y = box.y0; y < box.y1; y += 2)
    for (let x = box.x0; x < box.x1; x += 2) {
      let r = 0,
        g = 0,
        b = 0
      for (let j = 0; j < 4; j++) {
        const pixel = (y + (j >> 1)) * width + x + (j & 1)
        const pr = rgb[pixel * 3]!,
          pg = rgb[pixel * 3 + 1]!,
          pb = rgb[pixel * 3 + 2]!
        out[pixel] = (lumaBase + yr * pr + yg * pg + yb * pb) >> 16
        r += pr
        g += pg
        b += pb
      }
      const at = luma + (y >> 1) * half + (x >> 1)
      out[at] = (chromaBase + bOfR * r + bOfG * g + bOfB * b) >> 16
      out[at + quarter] = (chromaBase + rOfR * r + rOfG * g + rOfB * b) >> 16
    }
}
