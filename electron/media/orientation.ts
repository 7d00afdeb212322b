/** How a stored picture is turned for show: first mirrored left to right if `mirrored`, then turned clockwise. */
export interface Orientation {
  rotation: 0 | 90 | 180 | 270
  mirrored: boolean
}

export interface PictureSize { width: number, height: number }

/**
 * Reads a display matrix (ISO/IEC 14496-12, 8.7: nine native 32-bit numbers a b u c d v x y w; a, b, c, d in 16.16;
 * x' = a x + c y, y' = b x + d y). An angle that is no quarter turn goes to the nearest one. Anything unreadable is upright.
 */
export function orientationOf(matrix: Uint8Array | null): Orientation {
  if (!matrix || matrix.byteLength < 36) return { rotation: 0, mirrored: false }
  const view = new DataView(matrix.buffer, matrix.byteOffset, matrix.byteLength)
  // FFmpeg hands the matrix over in the machine's byte order, and every machine this runs on is little-endian.
  const [a, b, c, d] = [0, 4, 12, 16].map((at) => view.getInt32(at, true)) as [number, number, number, number]
  if ((a === 0 && b === 0) || (c === 0 && d === 0)) return { rotation: 0, mirrored: false }
  const mirrored = a * d - b * c < 0
  const quarters = Math.round(Math.atan2(mirrored ? -b : b, mirrored ? -a : a) / (Math.PI / 2))
  return { rotation: (((quarters % 4) + 4) % 4 * 90) as Orientation['rotation'], mirrored }
}

/**
 * The size of image space: after rotation, square pixels. A picture with oblong pixels is stretched along the side
 * that is too short (2:1 samples double the width, 1:2 samples the height), never shrunk, so that each stored
 * pixel keeps at least a pixel of its own and the other side stays in pixels of the original.
 */
export function displaySize(stored: PictureSize, aspect: { num: number, den: number }, orientation: Orientation): PictureSize {
  const sar = aspect.num > 0 && aspect.den > 0 ? aspect.num / aspect.den : 1
  const width = sar > 1 ? Math.round(stored.width * sar) : stored.width
  const height = sar < 1 ? Math.round(stored.height / sar) : stored.height
  return orientation.rotation % 180 === 0 ? { width, height } : { width: height, height: width }
}

/** Scales a size down so that its long side is at most `longSide`, both sides even and at least 2, as 4:2:0 wants. */
export function evenSizeWithin(size: PictureSize, longSide: number): PictureSize {
  const scale = Math.min(1, longSide / Math.max(size.width, size.height))
  const even = (side: number) => Math.max(2, Math.round(side * scale / 2) * 2)
  return { width: even(size.width), height: even(size.height) }
}

/** FFmpeg filters that turn a picture as `orientation` says, in order; empty for an upright one. */
export function orientationFilters({ rotation, mirrored }: Orientation): string[] {
  const turn = { 0: [], 90: ['transpose=clock'], 180: ['hflip', 'vflip'], 270: ['transpose=cclock'] }[rotation]
  return mirrored ? ['hflip', ...turn] : turn
}
