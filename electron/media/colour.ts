import {
  AVCOL_PRI_BT2020, AVCOL_PRI_BT470BG, AVCOL_PRI_BT709, AVCOL_PRI_SMPTE170M, AVCOL_PRI_SMPTE432, AVCOL_RANGE_JPEG, AVCOL_SPC_BT2020_NCL,
  AVCOL_SPC_BT470BG, AVCOL_SPC_BT709, AVCOL_SPC_RGB, AVCOL_SPC_SMPTE170M, AVCOL_TRC_ARIB_STD_B67, AVCOL_TRC_BT2020_10, AVCOL_TRC_BT2020_12,
  AVCOL_TRC_BT709, AVCOL_TRC_IEC61966_2_1, AVCOL_TRC_SMPTE170M, AVCOL_TRC_SMPTE2084, type CodecParameters,
} from 'node-av'

export type Primaries = 'bt709' | 'bt470bg' | 'smpte170m' | 'bt2020' | 'smpte432' | 'unspecified'
export type Transfer = 'bt709' | 'smpte170m' | 'iec61966-2-1' | 'bt2020' | 'pq' | 'hlg' | 'unspecified'
export type Matrix = 'bt709' | 'bt470bg' | 'smpte170m' | 'bt2020-ncl' | 'rgb' | 'unspecified'

/** The colour tags of a picture (ITU-T H.273 code points by their usual names). */
export interface Colour {
  primaries: Primaries
  transfer: Transfer
  matrix: Matrix
  /** True for 0 to 255, false for 16 to 235. A file that says nothing is taken as limited. */
  fullRange: boolean
  hdr: boolean
}

const primaries = new Map<number, Primaries>([
  [AVCOL_PRI_BT709, 'bt709'], [AVCOL_PRI_BT470BG, 'bt470bg'], [AVCOL_PRI_SMPTE170M, 'smpte170m'], [AVCOL_PRI_BT2020, 'bt2020'], [AVCOL_PRI_SMPTE432, 'smpte432'],
])
const transfers = new Map<number, Transfer>([
  [AVCOL_TRC_BT709, 'bt709'], [AVCOL_TRC_SMPTE170M, 'smpte170m'], [AVCOL_TRC_IEC61966_2_1, 'iec61966-2-1'], [AVCOL_TRC_BT2020_10, 'bt2020'],
  [AVCOL_TRC_BT2020_12, 'bt2020'], [AVCOL_TRC_SMPTE2084, 'pq'], [AVCOL_TRC_ARIB_STD_B67, 'hlg'],
])
const matrices = new Map<number, Matrix>([
  [AVCOL_SPC_BT709, 'bt709'], [AVCOL_SPC_BT470BG, 'bt470bg'], [AVCOL_SPC_SMPTE170M, 'smpte170m'], [AVCOL_SPC_BT2020_NCL, 'bt2020-ncl'], [AVCOL_SPC_RGB, 'rgb'],
])

/** Reads the tags. What is not tagged, or is tagged with something no phone writes, is 'unspecified'. */
export function colourOf(parameters: CodecParameters): Colour {
  const transfer = transfers.get(parameters.colorTrc) ?? 'unspecified'
  return {
    primaries: primaries.get(parameters.colorPrimaries) ?? 'unspecified',
    transfer,
    matrix: matrices.get(parameters.colorSpace) ?? 'unspecified',
    fullRange: parameters.colorRange === AVCOL_RANGE_JPEG,
    hdr: transfer === 'pq' || transfer === 'hlg',
  }
}

/** The matrix to decode with: an untagged picture is BT.709 from HD sizes up and BT.601 below, the common practice of players. */
export function effectiveMatrix(colour: Colour, stored: { width: number, height: number }): Exclude<Matrix, 'unspecified'> {
  if (colour.matrix !== 'unspecified') return colour.matrix
  if (colour.hdr || colour.primaries === 'bt2020') return 'bt2020-ncl'
  return stored.width >= 1280 || stored.height > 576 ? 'bt709' : 'smpte170m'
}
