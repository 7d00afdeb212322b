import { parentPort } from 'node:worker_threads'
import { phoneCamera } from './camera.ts'
import { outfits } from './figure/outfit.ts'
import { swingOf } from './motion.ts'
import { shutter, type Shot } from './plan.ts'
import { Film } from './scene/film.ts'

/** Asks the worker to film a whole clip. */
export interface FilmJob {
  readonly kind: 'film'
  readonly shot: Shot
  readonly scale: number
}
/** A buffer that the other side is done with. */
export interface Spare {
  readonly kind: 'spare'
  readonly buffer: ArrayBuffer
}
export type ToWorker = FilmJob | Spare
export type FromWorker =
  | { readonly kind: 'frame'; readonly index: number; readonly buffer: ArrayBuffer }
  | { readonly kind: 'done' }
  | { readonly kind: 'failed'; readonly why: string }

/** Frames under way at most: enough to keep both sides busy, few enough to keep memory small. */
const underWay = 3

if (parentPort) {
  const port = parentPort
  const spare: ArrayBuffer[] = []
  let wanted: ((buffer: ArrayBuffer) => void) | null = null
  const tell = (message: FromWorker, transfer: ArrayBuffer[] = []) => port.postMessage(message, transfer)
  const nextBuffer = (): Promise<ArrayBuffer> => {
    const found = spare.pop()
    return found ? Promise.resolve(found) : new Promise((resolve) => (wanted = resolve))
  }

  const film = async ({ shot, scale }: FilmJob): Promise<void> => {
    const swing = swingOf(shot.spec)
    const { ball } = swing.poseAt(0)
    const camera = phoneCamera(shot.setting, scale)
    const made = new Film(swing, outfits[shot.outfit], camera, { ballX: ball[0], ballZ: ball[2] })
    const size = (camera.widthPx * camera.heightPx * 3) / 2
    spare.length = 0
    for (let i = 0; i < underWay; i++) spare.push(new ArrayBuffer(size))
    for (let index = 0; index < shot.frames; index++) {
      const buffer = await nextBuffer()
      made.shoot(shot.startS + index / shot.captureRate, shutter, new Uint8Array(buffer))
      tell({ kind: 'frame', index, buffer }, [buffer])
    }
    tell({ kind: 'done' })
  }

  port.on('message', (message: ToWorker) => {
    if (message.kind === 'film')
      film(message).catch((error: unknown) => tell({ kind: 'failed', why: error instanceof Error ? error.message : String(error) }))
    else if (wanted) {
      const give = wanted
      wanted = null
      give(message.buffer)
    } else spare.push(message.buffer)
  })
}
