import { existsSync, realpathSync, statSync } from 'node:fs'
import { extname, join, sep } from 'node:path'
import { fileResponse } from './byteRange.ts'
import type { MediaRequest } from './mediaRoutes.ts'

const types: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.mjs': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.jpg': 'image/jpeg',
  '.webp': 'image/webp',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.woff': 'font/woff',
  '.ttf': 'font/ttf',
  '.wasm': 'application/wasm',
  '.onnx': 'application/octet-stream',
  '.bin': 'application/octet-stream',
  '.mp4': 'video/mp4',
  '.wav': 'audio/wav',
  '.txt': 'text/plain; charset=utf-8',
  '.map': 'application/json',
  '.webmanifest': 'application/manifest+json',
}

/** A built file of the renderer, or null where there is none of that path. `pathname` is still percent-encoded. */
export function serveStatic(root: string, pathname: string, request: MediaRequest): Response | null {
  const file = staticPath(root, pathname)
  const type = file && types[extname(file).toLowerCase()]
  if (!file || !type) return null
  // Vite puts a hash of the content into the names under assets/.
  const isNamedByContent = /\/assets\/[^/]+-[\w-]{8,}\.\w+$/.test(pathname)
  return fileResponse({ path: file, type, tag: isNamedByContent ? pathname.slice(pathname.lastIndexOf('/') + 1) : null }, request)
}

/** The real file behind a path, or null: nothing outside the root, by dots, links or encodings. */
export function staticPath(root: string, pathname: string): string | null {
  let decoded: string
  try {
    decoded = decodeURIComponent(pathname)
  } catch {
    return null
  }
  if (decoded.includes('\0') || decoded.includes('\\') || decoded.split('/').includes('..')) return null
  const path = join(root, decoded === '/' ? 'index.html' : decoded)
  if (!existsSync(path)) return null
  const real = realpathSync(path)
  return real.startsWith(realpathSync(root) + sep) && statSync(real).isFile() ? real : null
}
