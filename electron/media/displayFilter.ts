import { effectiveMatrix, type Colour } from './colour.ts'
import { orientationFilters, type Orientation, type PictureSize } from './orientation.ts'

/** What of a description the picture's way to the screen depends on. */
export interface DisplaySource {
  stored: PictureSize
  orientation: Orientation
  colour: Colour
}

/** Names as FFmpeg's zscale filter wants them. */
const zscaleNames = {
  'bt709': '709', 'bt470bg': '470bg', 'smpte170m': '170m', 'bt2020': '2020', 'smpte432': 'smpte432', 'unspecified': '709',
} as const
const zscaleTransfers = { 'bt709': '709', 'smpte170m': '601', 'iec61966-2-1': 'iec61966-2-1', 'bt2020': '709', 'pq': 'smpte2084', 'hlg': 'arib-std-b67', 'unspecified': '709' } as const
const zscaleMatrices = { 'bt709': '709', 'bt470bg': '470bg', 'smpte170m': '170m', 'bt2020-ncl': '2020_ncl', 'rgb': 'gbr' } as const
const swscaleMatrices = { 'bt709': 'bt709', 'bt470bg': 'bt470bg', 'smpte170m': 'smpte170m', 'bt2020-ncl': 'bt2020', 'rgb': 'bt709' } as const

/**
 * The FFmpeg filters (a chain, one in and one out) that turn a stored picture into what is shown: 8-bit 4:2:0,
 * BT.709, limited range, square pixels, upright, `target` wide and high. The review copy, the picture at rest and
 * the hand-off all use this, so that their colours agree.
 *
 * HDR is scaled first, while samples are still integers, then brought to linear light with reference white at
 * 203 nits (ITU-R BT.2408), into BT.709's primaries, tone-mapped (mobius) and encoded again.
 */
export function displayFilter(source: DisplaySource, target: PictureSize): string {
  const { stored, orientation, colour } = source
  const turned = orientation.rotation % 180 !== 0
  const width = turned ? target.height : target.width
  const height = turned ? target.width : target.height
  const matrix = effectiveMatrix(colour, stored)
  const turn = orientationFilters(orientation)
  const wide = colour.hdr || colour.primaries === 'bt2020' || colour.primaries === 'smpte432'
  if (!wide) {
    const range = colour.fullRange ? 'pc' : 'tv'
    const scale = `scale=${width}:${height}:flags=bilinear+accurate_rnd:in_color_matrix=${swscaleMatrices[matrix]}:in_range=${range}:out_color_matrix=bt709:out_range=tv`
    return [scale, 'format=yuv420p', ...turn, 'setsar=1', tagged].join(',')
  }
  const input = `min=${zscaleMatrices[matrix]}:tin=${zscaleTransfers[colour.transfer]}:pin=${zscaleNames[colour.primaries]}:rin=${colour.fullRange ? 'full' : 'limited'}`
  const tone = colour.hdr ? ['tonemap=mobius:desat=0'] : []
  return [
    // The matrix and range stay as they are: only the size changes here.
    `scale=${width}:${height}:flags=bilinear`, 'setsar=1',
    `zscale=${input}:t=linear:p=709:npl=203`, 'format=gbrpf32le', ...tone,
    'zscale=t=709:m=709:r=limited', 'format=yuv420p', ...turn, tagged,
  ].join(',')
}

const tagged = 'setparams=range=tv:color_primaries=bt709:color_trc=bt709:colorspace=bt709'
