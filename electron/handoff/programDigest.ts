import { createHash } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import { findPackageJSON } from 'node:module'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

/** Libraries that have a say in the pixels and the bits. */
const libraries = ['node-av', '@napi-rs/canvas', '@fontsource/inter'] as const

let known: string | null = null

/**
 * A name for this very program as far as pictures go: another as soon as any of the code that makes them, or a library under
 * it, is another. So nobody has to remember to raise a number.
 */
export function programDigest(): string {
  if (known !== null) return known
  const here = dirname(fileURLToPath(import.meta.url))
  // As written, the code lies in folders of its own; bundled, in the folder of this file.
  const roots = import.meta.url.endsWith('.ts') ? [here, join(here, '../media'), join(here, '../../shared')] : [here]
  const hash = createHash('sha256')
  for (const root of roots) {
    for (const name of readdirSync(root, { recursive: true, encoding: 'utf8' }).sort()) {
      if (/\.[cm]?[jt]s$/.test(name)) hash.update(name).update(readFileSync(join(root, name)))
    }
  }
  for (const library of libraries) {
    const file = findPackageJSON(library, import.meta.url)
    if (!file) throw new Error(`${library} is not there`)
    hash.update(`${library} ${(JSON.parse(readFileSync(file, 'utf8')) as { version: string }).version}`)
  }
  return (known = hash.update(`${process.platform} ${process.arch}`).digest('hex'))
}
