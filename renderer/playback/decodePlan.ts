/** Pure choices of what to decode, in frame numbers. */

/**
 * For each packet the number of the key packet its group begins with.
 * @param isKey one entry a packet; the first must be a key packet
 */
export function groupStarts(isKey: readonly boolean[]): Uint32Array {
  const starts = new Uint32Array(isKey.length)
  let start = 0
  for (let i = 0; i < isKey.length; i++) {
    if (isKey[i]) start = i
    starts[i] = start
  }
  return starts
}

/**
 * The packet to feed next so that `target` comes out: the one after the last fed if the decoder is already on its way
 * through the target's group, else the group's key packet.
 * @param fed the last packet the decoder was given, or -1 where it must begin anew at a key packet
 */
export function nextPacket(starts: Uint32Array, target: number, fed: number): number {
  const key = starts[target] ?? 0
  return fed >= key && fed < target ? fed + 1 : key
}

/**
 * Frames worth having ready around a resting playhead, nearest first, leaning toward the way of travel.
 * @param direction 1 forward, -1 back
 */
export function neighbours(index: number, direction: 1 | -1, count: number, frames: number): number[] {
  const found: number[] = []
  for (const distance of [1, -1, 2, 3, -2, 4, 5, 6, 7, 8, 9, 10]) {
    if (found.length >= count) break
    const at = index + distance * direction
    if (at >= 0 && at < frames) found.push(at)
  }
  return found
}

/**
 * How little a decoded frame is worth keeping: those asked for by name are worth most, in their order; then those near
 * the playhead, with twice the reach in the way of travel.
 */
export function keepingCost(index: number, wanted: number, ahead: readonly number[], direction: 1 | -1): number {
  if (index === wanted) return 0
  const place = ahead.indexOf(index)
  if (place >= 0) return 1 + place
  const distance = (index - wanted) * direction
  return 1000 + (distance >= 0 ? distance : -2 * distance)
}

/**
 * Every how many frames one is shown while playing, so that a fast clip (240 frames a second on a 60 Hz screen) decodes
 * only what can be seen.
 * @param perRefresh frames that pass between two refreshes of the screen
 */
export function strideFor(perRefresh: number): number {
  return Math.max(1, Math.round(perRefresh))
}

/** The frame of the stride's grid that stands for frame `index`: the last one at or before it. */
export function onGrid(index: number, stride: number): number {
  return index - (index % stride)
}
