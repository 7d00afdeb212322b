import { existsSync, readdirSync, statSync } from 'node:fs'
import { join } from 'node:path'
import type { Pack } from '../../shared/contract/plan.ts'

const sizeOf = (path: string): number | null => (existsSync(path) && statSync(path).isFile() ? statSync(path).size : null)

/**
 * What of a pack is still ours to delete: its zip, or the files of its folder, as far as they are what they were, and the
 * folder itself where nothing else has come into it. The folder comes last.
 */
export function filesOfPack({ kind, path, bytes, files }: Pack): string[] {
  if (kind === 'zip') return sizeOf(path) === bytes ? [path] : []
  const own = files.map((file) => ({ ...file, full: join(path, ...file.path.split('/')) })).filter((file) => sizeOf(file.full) === file.bytes)
  if (own.length < files.length || !existsSync(path)) return own.map(({ full }) => full)
  const expected = new Set(['manifest.json', ...files.map((file) => file.path.split('/')[0]!)])
  return readdirSync(path).every((name) => expected.has(name)) ? [...own.map(({ full }) => full), path] : [...own.map(({ full }) => full), join(path, 'manifest.json')]
}
