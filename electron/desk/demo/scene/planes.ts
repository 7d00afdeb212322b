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

/** The part of a picture within a box whose corners are even. */
export function writeChroma(rgb: Uint8Array, width: number, height: number, box: { x0: number; y0: number; x1: number; y1: number }, out: Uint8Array): void {
  const luma = width * height
  const half = width >> 1
  const quarter = luma >> 2
  const cbScale = 224 / 255 / (2 * (1 - kb)) / 4
  const crScale = 224 / 255 / (2 * (1 - kr)) / 4
  for (let y = box.y0; y < box.y1; y += 2)
    for (let x = box.x0; x < box.x1; x += 2) {
      let r = 0, g = 0, b = 0
      for (let j = 0; j < 4; j++) {
        const pixel = (y + (j >> 1)) * width + x + (j & 1)
        const pr = rgb[pixel * 3]!, pg = rgb[pixel * 3 + 1]!, pb = rgb[pixel * 3 + 2]!
        out[pixel] = 16.5 + (219 / 255) * (kr * pr + kg * pg + kb * pb)
        r += pr
        g += pg
        b += pb
      }
      const l = kr * r + kg * g + kb * b
      const at = luma + (y >> 1) * half + (x >> 1)
      out[at] = 128.5 + cbScale * (b - l)
      out[at + quarter] = 128.5 + crScale * (r - l)
    }
}
