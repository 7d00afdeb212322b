/** Clubs in the bag's order; a coach may write any other. */
export const usualClubs: readonly string[] = [
  'driver', '3-wood', '5-wood', '7-wood', '3-hybrid', '4-hybrid', '5-hybrid', '3-iron', '4-iron', '5-iron', '6-iron', '7-iron',
  '8-iron', '9-iron', 'pitching wedge', 'gap wedge', 'sand wedge', 'lob wedge', 'putter',
]
/** Rates that phones film at. */
export const usualRates: readonly number[] = [24, 25, 30, 50, 60, 100, 120, 240, 480, 960]

export const readRate = (text: string): number => Number(text.replace(',', '.'))

/** Why a text is no capture rate, or null. */
export function rateFault(text: string): string | null {
  const rate = readRate(text)
  return text !== '' && Number.isFinite(rate) && rate >= 1 && rate <= 20_000 ? null : 'Write frames a second, such as 240.'
}
