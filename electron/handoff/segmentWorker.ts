import { parentPort, workerData } from 'node:worker_threads'
import { Programme } from '../../shared/walkthrough/programme.ts'
import { packError } from '../desk/sentError.ts'
import { LessonFrames } from './lessonFrames.ts'
import { writePackets } from './packetFile.ts'
import { SegmentRender } from './segmentRender.ts'
import { doneAt, stopAt, type FromSegmentWorker, type SegmentWork, type ToSegmentWorker } from './segmentWorkerMessages.ts'

/** A thread that makes segments: decodes, composes and encodes, all by itself. */
const port = parentPort!
const { takes, edits, clips, look, shared } = workerData as SegmentWork
const counters = new Int32Array(shared)
const render = new SegmentRender(new LessonFrames(new Programme(takes, edits), look.fps), clips, look)

const each = (): void => {
  Atomics.add(counters, doneAt, 1)
  if (Atomics.load(counters, stopAt) !== 0) throw new DOMException('cancelled', 'AbortError')
}

port.on('message', (message: ToSegmentWorker | null) => {
  // null: that was all.
  if (!message) return void render[Symbol.asyncDispose]().finally(() => port.close())
  render.render(message.segment, each).then((run) => writePackets(message.path, run)).then(
    () => port.postMessage({ type: 'done' } satisfies FromSegmentWorker),
    (error: unknown) => port.postMessage({ type: 'failed', error: packError(error) } satisfies FromSegmentWorker),
  )
})
