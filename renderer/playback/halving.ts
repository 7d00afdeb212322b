/** One plane of a picture in a buffer: bytes, one a sample. */
export interface Plane {
  readonly offset: number
  readonly stride: number
  readonly width: number
  readonly height: number
}

/**
 * Halves a plane: each sample is the mean of the four that it stands for. Beyond the right and lower edge the last column and
 * row stand for what is missing, so that `to` may be half of an odd length, rounded up.
 */
export function halvePlane(source: Uint8Array, from: Plane, target: Uint8Array, to: Plane): void {
  const whole = Math.min(to.width, from.width >> 1)
  for (let y = 0; y < to.height; y++) {
    let upper = from.offset + Math.min(2 * y, from.height - 1) * from.stride
    let lower = from.offset + Math.min(2 * y + 1, from.height - 1) * from.stride
    const [upperEnd, lowerEnd] = [upper + from.width - 1, lower + from.width - 1]
    let at = to.offset + y * to.stride
    const wholeEnd = at + whole
    const end = at + to.width
    for (; at < wholeEnd; at++, upper += 2, lower += 2) target[at] = (source[upper]! + source[upper + 1]! + source[lower]! + source[lower + 1]! + 2) >> 2
    for (; at < end; at++) target[at] = (source[upperEnd]! + source[lowerEnd]! + 1) >> 1
  }
}

/** Planes of 8-bit 4:2:0 one after another: light, then the two of colour. */
export function planesOf(width: number, height: number): { readonly planes: readonly [Plane, Plane, Plane], readonly bytes: number } {
  const [w, h] = [(width + 1) >> 1, (height + 1) >> 1]
  const light = width * height
  return {
    planes: [
      { offset: 0, stride: width, width, height },
      { offset: light, stride: w, width: w, height: h },
      { offset: light + w * h, stride: w, width: w, height: h },
    ],
    bytes: light + 2 * w * h,
  }
}
