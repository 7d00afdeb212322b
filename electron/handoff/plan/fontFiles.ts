import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { dirname, join } from 'node:path'

/** The two weights of the page's type, from the same package as the screen's and the video's. */
export const planWeights = ['400', '600'] as const
export type PlanWeight = (typeof planWeights)[number]
/** Each file of the package holds one script. */
export const planScripts = ['latin', 'latin-ext', 'greek', 'cyrillic', 'vietnamese'] as const
export type PlanScript = (typeof planScripts)[number]

export function planFontPath(script: PlanScript, weight: PlanWeight, ending: 'woff' | 'woff2'): string {
  const files = join(dirname(createRequire(import.meta.url).resolve('@fontsource/inter/package.json')), 'files')
  return join(files, `inter-${script}-${weight}-normal.${ending}`)
}

let faces: string | null = null

/** `@font-face` rules with the Latin files in them; other scripts fall back to the reader's own type. Read once. */
export function planFontFaces(): string {
  faces ??= planWeights
    .map((weight) => {
      const data = readFileSync(planFontPath('latin', weight, 'woff2')).toString('base64')
      return `@font-face{font-family:'Plan Inter';font-weight:${weight};font-display:swap;src:url(data:font/woff2;base64,${data}) format('woff2')}`
    })
    .join('')
  return faces
}
