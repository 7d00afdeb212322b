import { mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { build } from 'vite'

const root = fileURLToPath(new URL('../../..', import.meta.url))

function newest(folder: string): number {
  let time = 0
  for (const entry of readdirSync(folder, { withFileTypes: true, recursive: true }))
    if (entry.isFile()) time = Math.max(time, statSync(join(entry.parentPath, entry.name)).mtimeMs)
  return time
}

function builtAt(): number {
  try {
    return statSync(join(root, 'out/renderer/index.html')).mtimeMs
  } catch {
    return 0
  }
}

/**
 * Once a run: makes sure that what is tested is what the sources say, unless a built renderer is named in
 * CROSSBEARING_RENDERER. Answers with what takes it away again.
 */
export default async function buildRenderer(): Promise<() => void> {
  if (process.env.CROSSBEARING_RENDERER) return () => undefined
  if (builtAt() > Math.max(newest(join(root, 'renderer')), newest(join(root, 'shared')))) {
    process.env.CROSSBEARING_RENDERER = join(root, 'out/renderer')
    return () => undefined
  }
  const folder = mkdtempSync(join(tmpdir(), 'crossbearing-renderer-'))
  await build({ configFile: join(root, 'build/vite.renderer.ts'), logLevel: 'warn', build: { outDir: folder, emptyOutDir: true } })
  process.env.CROSSBEARING_RENDERER = folder
  return () => rmSync(folder, { recursive: true, force: true })
}
