import { createRequire } from 'node:module'
import { dirname, join } from 'node:path'
import { GlobalFonts } from '@napi-rs/canvas'
import { pictureFont } from '../../shared/picture/palette.ts'

/**
 * The weights that the picture writes with, from the same package that the renderer takes its type from. Each file of
 * that package holds one script; later ones serve the letters that the first has not.
 */
const weights = ['400', '600'] as const
const scripts = ['latin', 'latin-ext', 'greek', 'cyrillic', 'vietnamese'] as const

let registered = false

/** Makes the picture's typeface known to the desk's canvas. Does its work once; throws where a shipped file is missing. */
export function registerFonts(): void {
  if (registered) return
  const files = join(dirname(createRequire(import.meta.url).resolve('@fontsource/inter/package.json')), 'files')
  for (const script of scripts) {
    for (const weight of weights) {
      const file = join(files, `inter-${script}-${weight}-normal.woff2`)
      if (!GlobalFonts.registerFromPath(file, pictureFont)) throw new Error(`the typeface could not be read from ${file}`)
    }
  }
  registered = true
}
