/** The one style that a library writes into the page by itself, and the page's policy that lets just it through. */
import { createHash } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { dirname, join } from 'node:path'
import { expect, test } from 'vitest'
import { pageHeaders, waveformStyle } from '../../electron/desk/pageHeaders.ts'

/** What stands in the style element of the waveform that the Lesson opens, letter for letter. */
function writtenStyle(): string {
  const folder = dirname(createRequire(import.meta.url).resolve('wavesurfer.js'))
  const library = readFileSync(join(folder, 'wavesurfer.esm.js'), 'utf8')
  const inside = /<style\$\{.*?:""\}>([\s\S]*?)<\/style>/.exec(library)?.[1]
  const height = /\bheight: (\d+)/.exec(readFileSync(new URL('../../renderer/lesson/editing/waveform.ts', import.meta.url), 'utf8'))?.[1]
  if (!inside || !height) throw new Error('The library writes its style in another way, or the waveform gives no height: look at both, and at the policy.')
  return inside.replaceAll('\\n', '\n').replace(/\$\{this\.getHeight\([^}]*\)\}/, height)
}

test('the waveform’s own style, as the library in use writes it, is let through by its hash, and no other', () => {
  const text = writtenStyle()
  expect(text).toContain(':host .canvases')
  expect(text).not.toContain('${')
  expect(waveformStyle).toBe(`'sha256-${createHash('sha256').update(text).digest('base64')}'`)
  expect(/style-src ([^;]*)/.exec(pageHeaders()['content-security-policy']!)?.[1]).toBe(`'self' ${waveformStyle}`)
})
