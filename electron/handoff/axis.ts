/**
 * How one axis of a picture is carried onto the canvas by FFmpeg's scaler, which knows whole pixels only.
 * Places are edges: sample i covers [i, i + 1); canvas = scale * source + offset, with scale > 0.
 */
export interface AxisMap {
  readonly scale: number
  readonly offset: number
  /** Samples that the source has. */
  readonly length: number
  /** The part of the canvas to cover, whole samples: [from, to). */
  readonly from: number
  readonly to: number
}

/** Source samples [start, start + taken) become canvas samples [at, at + made). */
export interface WholeStep {
  readonly start: number
  readonly taken: number
  readonly at: number
  readonly made: number
  /** How far off an edge is from where it belongs, canvas pixels, the worse of the two. */
  readonly error: number
}

const even = (value: number): number => 2 * Math.round(value / 2)

/**
 * The step on even samples (so that chroma goes along) that covers the wanted part and lies nearest to the true map.
 * Where the picture goes on beyond the part, a few samples more are taken until an edge falls near an even place.
 * Null where nothing of the picture lies in the part.
 */
export function wholeStep(map: AxisMap, tolerance: number, reach = 48): WholeStep | null {
  const { scale, offset } = map
  const length = map.length - (map.length % 2)
  const place = (s: number): number => scale * s + offset
  const low = Math.max(0, 2 * Math.floor((map.from - offset) / scale / 2))
  const high = Math.min(length, 2 * Math.ceil((map.to - offset) / scale / 2))
  if (high - low < 2) return null
  const search = (begin: number, step: -2 | 2): { s: number; error: number } => {
    let best = { s: begin, error: Infinity }
    for (let s = begin; s >= 0 && s <= length && Math.abs(s - begin) <= reach; s += step) {
      const error = Math.abs(place(s) - even(place(s)))
      if (error < best.error) best = { s, error }
      if (best.error <= tolerance) break
    }
    return best
  }
  const first = search(low, -2)
  const last = search(high, 2)
  const at = even(place(first.s))
  const made = Math.max(2, even(place(last.s)) - at)
  return { start: first.s, taken: last.s - first.s, at, made, error: Math.max(first.error, last.error) }
}

/** As WholeStep, for one plane, with the rest of the shift as the scaler's `chr_pos`: 256ths of a source sample. */
export interface FineStep {
  readonly start: number
  readonly taken: number
  readonly at: number
  readonly made: number
  readonly position: number
}

/**
 * The step that keeps fractions: whole samples in and out whose ratio is nearest to the scale, and the fraction of a source
 * sample that is left, which the scaler takes as a chroma position. Off by less than a quarter of a pixel at the picture's
 * own edges and by some hundredths elsewhere. Null where nothing of the picture lies in the part.
 */
export function fineStep(map: AxisMap): FineStep | null {
  const { scale, offset, length } = map
  // The first and the last canvas sample whose middle lies in the picture; eight more than wanted where there are more,
  // so that the filter's taps find neighbours.
  const firstSeen = Math.ceil(offset - 0.5)
  const endSeen = Math.ceil(scale * length + offset - 0.5)
  const at = Math.max(map.from - 8, firstSeen)
  const least = Math.min(map.to, endSeen) - at
  if (least < 1) return null
  const start = Math.max(0, Math.floor((at - offset) / scale))
  let best = { made: least, taken: 1, error: Infinity }
  for (let made = least; made <= Math.min(least + 24, endSeen - at); made++) {
    const taken = Math.min(length - start, Math.max(1, Math.round(made / scale)))
    const error = Math.abs(taken * scale - made)
    if (error < best.error) best = { made, taken, error }
  }
  // Equal sizes are copied by the scaler without regard to positions: a sample more or less is off by half a pixel at most.
  if (best.made === best.taken) best = best.taken + start < length ? { ...best, taken: best.taken + 1 } : { ...best, made: best.made + 1 }
  const ratio = best.taken / best.made
  const middle = best.made / 2
  const ahead = (at + middle - offset) / scale - start - middle * ratio
  let position = Math.min(1024, Math.max(-512, Math.round(-256 * ahead)))
  // To the scaler -1 means "as it is usually".
  if (position === -1) position = 0
  return { start, taken: best.taken, at, made: best.made, position }
}
