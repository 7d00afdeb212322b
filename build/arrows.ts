/**
 * Keeps the arrows between the parts of the house one-way:
 * - `shared` imports nothing but `shared` and the pure packages listed here;
 * - `renderer` and `electron` never import each other;
 * - rooms of the renderer do not import one another, and what rooms share does not import a room;
 * - only the three host files import `electron`.
 * Prints each crossing as `file: what it imports: why not`, and exits 1 if there is one.
 */
import { readdirSync, readFileSync } from 'node:fs'
import { dirname, join, relative, resolve, sep } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = fileURLToPath(new URL('..', import.meta.url))
const purePackages = new Set(['zod', 'ml-matrix', 'ml-levenberg-marquardt', 'fft.js', 'd3-array', 'simple-statistics'])
const rooms = new Set(['arrivals', 'bench', 'arms', 'shelf', 'lesson', 'progress'])
const electronFiles = new Set(['electron/main.ts', 'electron/preload.ts', 'electron/windows.ts'])
const importPattern = /(?:import|export)\s+(?:type\s+)?(?:[^'"`;]*?\sfrom\s+)?['"]([^'"]+)['"]|import\(\s*['"]([^'"]+)['"]\s*\)|new URL\(\s*['"]([^'"]+\.tsx?)['"]/g

/** Why this import may not stand in this file, or null. Paths are relative to the root, with forward slashes. */
export function crossing(file: string, specifier: string): string | null {
  const [part, room] = file.split('/')
  if (!specifier.startsWith('.')) {
    const name = specifier.startsWith('@') ? specifier.split('/').slice(0, 2).join('/') : specifier.split('/')[0]!
    if (part === 'shared' && !purePackages.has(name)) return 'shared is pure and imports only listed pure packages'
    if (name === 'electron' && part === 'electron' && !electronFiles.has(file)) return 'only main, preload and windows import electron'
    if (name === 'electron' && part === 'renderer') return 'the renderer reaches the desk through its bridge only'
    if (part === 'renderer' && (specifier.startsWith('node:') || name === 'node-av' || name === 'better-sqlite3')) return 'the renderer has no Node'
    return null
  }
  const target = relative(root, resolve(root, dirname(file), specifier)).split(sep).join('/')
  const [targetPart, targetRoom] = target.split('/')
  if (part === 'shared' && targetPart !== 'shared') return 'shared imports nothing outside shared'
  if (part === 'renderer' && targetPart === 'electron') return 'the renderer never imports the desk'
  if (part === 'electron' && targetPart === 'renderer') return 'the desk never imports the renderer'
  if (part === 'renderer' && targetPart === 'renderer' && rooms.has(targetRoom!) && targetRoom !== room && file.split('/').length > 2)
    return rooms.has(room!) ? 'rooms do not import each other' : 'what rooms share does not import a room'
  return null
}

function* sources(folder: string): Generator<string> {
  for (const entry of readdirSync(join(root, folder), { withFileTypes: true })) {
    const path = `${folder}/${entry.name}`
    if (entry.isDirectory()) yield* sources(path)
    else if (/\.tsx?$/.test(entry.name)) yield path
  }
}

export function crossings(): string[] {
  const found: string[] = []
  for (const file of ['shared', 'electron', 'renderer'].flatMap((folder) => [...sources(folder)])) {
    for (const match of readFileSync(join(root, file), 'utf8').matchAll(importPattern)) {
      const specifier = (match[1] ?? match[2] ?? match[3])!
      const why = crossing(file, specifier)
      if (why) found.push(`${file}: ${specifier}: ${why}`)
    }
  }
  return found
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const found = crossings()
  for (const line of found) console.error(line)
  if (found.length) process.exit(1)
  console.log('arrows: one-way')
}
