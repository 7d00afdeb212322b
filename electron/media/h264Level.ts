/** H.264 levels: name times ten, most macroblocks a second, most macroblocks a frame (ITU-T H.264, table A-1). */
const levels: readonly (readonly [number, number, number])[] = [
  [30, 40_500, 1_620], [31, 108_000, 3_600], [32, 216_000, 5_120], [40, 245_760, 8_192], [42, 522_240, 8_704], [50, 589_824, 22_080],
  [51, 983_040, 36_864], [52, 2_073_600, 36_864], [60, 4_177_920, 139_264], [61, 8_355_840, 139_264], [62, 16_711_680, 139_264],
]

/**
 * The lowest H.264 level (30 for 3.0, 42 for 4.2 ...) that allows pictures of this size at this rate. Level 3.0 is the
 * least given: every player takes it. Encoders left to themselves may write the highest, which phones then refuse.
 * @param rate frames a second
 */
export function h264Level(width: number, height: number, rate: number): number {
  const macroblocks = Math.ceil(width / 16) * Math.ceil(height / 16)
  // No side may be longer than the root of eight times the frame's limit (A.3.1).
  const fits = ([, perSecond, perFrame]: readonly [number, number, number]) => macroblocks * rate <= perSecond && macroblocks <= perFrame
    && Math.max(width, height) / 16 <= Math.sqrt(8 * perFrame)
  return (levels.find(fits) ?? levels.at(-1)!)[0]
}
