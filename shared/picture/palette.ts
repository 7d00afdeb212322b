import type { Ink } from '../markup/mark.ts'

/** Okabe & Ito's colours (2008), safe for colour-blind readers, by our own assignment; plain is a warm white. */
export const inkColours: Readonly<Record<Ink, string>> = {
  plain: '#F5F2EA',
  lead: '#CC79A7',
  trail: '#D55E00',
  club: '#009E73',
  reference: '#0072B2',
  head: '#E69F00',
  body: '#56B4E9',
}

/** Drawn under every stroke, so that ink reads on grass and on sky alike. */
export const haloColour = 'rgba(8, 10, 12, 0.72)'
export const paneBackground = '#0B0D0F'
export const pictureFont = 'Inter'

/** A colour of the palette let through: `#009E73` at a third is `rgba(0, 158, 115, 0.333)`. */
export function withAlpha(hex: string, alpha: number): string {
  const value = Number.parseInt(hex.slice(1), 16)
  return `rgba(${value >> 16}, ${(value >> 8) & 255}, ${value & 255}, ${alpha})`
}
