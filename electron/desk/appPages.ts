import type { OpenDesk } from './createDesk.ts'
import { isOwnAddress } from './gate.ts'
import { pageHeaders } from './pageHeaders.ts'
import { serveStatic } from './staticFiles.ts'

/** What the desktop window's scheme answers: the renderer's files and, under /media/, the desk's bytes, all with the page's headers. */
export async function serveApp(desk: Pick<OpenDesk, 'media'>, renderer: string, request: Request): Promise<Response> {
  const answer = await find(desk, renderer, request)
  // What an answer says of itself (a page in a frame) stands.
  for (const [name, value] of Object.entries(pageHeaders())) if (!answer.headers.has(name)) answer.headers.set(name, value)
  return answer
}

async function find(desk: Pick<OpenDesk, 'media'>, renderer: string, request: Request): Promise<Response> {
  if (!isOwnAddress(request.url)) return new Response('There is nothing here.', { status: 404 })
  const { pathname } = new URL(request.url)
  if (pathname.startsWith('/media/')) return desk.media(pathname.slice('/media/'.length), request)
  const isReading = request.method === 'GET' || request.method === 'HEAD'
  return (isReading ? serveStatic(renderer, pathname, request) : null) ?? new Response('There is nothing of that name.', { status: 404 })
}
