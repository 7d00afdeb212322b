import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { inkColours } from '../../shared/picture/palette.ts'

const css = readFileSync(new URL('../../renderer/ui/tokens.css', import.meta.url), 'utf8').replaceAll(/\/\*[\s\S]*?\*\//g, '')

function block(selector: string): Map<string, string> {
  const body = css.slice(css.indexOf('{', css.indexOf(selector)) + 1)
  const lines = body.slice(0, body.indexOf('}')).matchAll(/--([\w-]+):\s*([^;]+);/g)
  return new Map([...lines].map(([, name, value]) => [name!, value!.trim()]))
}

const dark = block(':root {')
const themes = { dark, light: new Map([...dark, ...block(":root[data-theme='light']")]) }

/** Relative luminance of an sRGB colour written #rrggbb (WCAG 2.2, "relative luminance"). */
function luminance(hex: string): number {
  if (!/^#[0-9a-f]{6}$/i.test(hex)) throw new Error(`${hex} is not a colour written #rrggbb`)
  const [r, g, b] = [1, 3, 5].map((at) => {
    const channel = Number.parseInt(hex.slice(at, at + 2), 16) / 255
    return channel <= 0.04045 ? channel / 12.92 : ((channel + 0.055) / 1.055) ** 2.4
  }) as [number, number, number]
  return 0.2126 * r + 0.7152 * g + 0.0722 * b
}

/** Contrast ratio of two colours (WCAG 2.2, "contrast ratio"). */
function contrast(a: string, b: string): number {
  const [hi, lo] = [luminance(a), luminance(b)].toSorted((x, y) => y - x) as [number, number]
  return (hi + 0.05) / (lo + 0.05)
}

describe('contrast', () => {
  it('gives the ratios that the definition gives', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6)
    expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.48, 2)
  })
})

for (const [theme, tokens] of Object.entries(themes)) {
  const ratio = (text: string, ground: string): number => contrast(tokens.get(text)!, tokens.get(ground)!)
  describe(`the ${theme} theme`, () => {
    // SC 1.4.3: text 4.5 to 1 on whatever ground it is put.
    it.each([
      ...['text', 'text-quiet', 'warning'].flatMap((text) => ['ground', 'raised', 'hover'].map((ground) => [text, ground] as const)),
      ['text', 'accent-ground'], ['warning', 'accent-ground'], ['on-accent', 'accent'], ['on-well', 'well'],
    ] as const)('%s on %s', (text, ground) => {
      expect(ratio(text, ground)).toBeGreaterThanOrEqual(4.5)
    })
    // SC 1.4.11: what a control is recognised by 3 to 1: edges of fields, the ring of focus, the bar of progress.
    it.each([
      ['line-strong', 'ground'], ['line-strong', 'raised'], ['accent', 'ground'], ['accent', 'raised'], ['accent', 'line'],
    ] as const)('%s against %s', (part, ground) => {
      expect(ratio(part, ground)).toBeGreaterThanOrEqual(3)
    })
  })
}

describe('inks', () => {
  it.each(Object.entries(inkColours))('%s is the one that marks are drawn with', (ink, colour) => {
    expect(dark.get(`ink-${ink}`)?.toLowerCase()).toBe(colour.toLowerCase())
  })
})

describe('targets', () => {
  it('are no smaller than 24 px (WCAG 2.2, SC 2.5.8)', () => {
    expect(Number.parseInt(dark.get('target')!, 10)).toBeGreaterThanOrEqual(24)
  })
})
