import { GapFiller, onWindowClock, toPcm } from './pieces.ts'

/**
 * Reads the microphone off the main thread, so that a busy screen loses no sound. Receives
 * `{ readable, timeOrigin }` once (the window's own time origin); answers with FromMicrophone messages, a piece about every 50 ms.
 */
export type FromMicrophone =
  | { readonly kind: 'opened'; readonly sampleRate: number }
  | { readonly kind: 'piece'; readonly samples: Int16Array; readonly at: number }
  | { readonly kind: 'lost'; readonly why: string }

/** Milliseconds of sound in one message. */
const pieceMs = 50

self.onmessage = (message: MessageEvent<{ readable: ReadableStream<AudioData>; timeOrigin: number }>) => {
  void read(message.data.readable, performance.timeOrigin - message.data.timeOrigin).catch((error: unknown) => send({ kind: 'lost', why: error instanceof Error ? error.message : String(error) }))
}

const send = (out: FromMicrophone, transfer: Transferable[] = []) => self.postMessage(out, { transfer })

async function read(readable: ReadableStream<AudioData>, workerLead: number): Promise<void> {
  const reader = readable.getReader()
  let filler: GapFiller | null = null
  let rate = 0
  let held: Int16Array[] = []
  let heldLength = 0
  let heldAt = 0
  for (;;) {
    const { done, value: data } = await reader.read()
    if (done) break
    const at = onWindowClock(data.timestamp / 1000, performance.now() + workerLead, workerLead)
    const planes: Float32Array[] = []
    for (let channel = 0; channel < data.numberOfChannels; channel++) {
      const plane = new Float32Array(data.numberOfFrames)
      data.copyTo(plane, { planeIndex: channel, format: 'f32-planar' })
      planes.push(plane)
    }
    const length = data.numberOfFrames
    if (filler === null) {
      rate = data.sampleRate
      filler = new GapFiller(rate)
      send({ kind: 'opened', sampleRate: rate })
    }
    data.close()
    const missing = filler.missingBefore(at, length)
    if (heldLength === 0) heldAt = at - (missing / rate) * 1000
    if (missing > 0) held.push(new Int16Array(missing))
    held.push(toPcm(planes))
    heldLength += missing + length
    if (heldLength >= (rate * pieceMs) / 1000) {
      const samples = new Int16Array(heldLength)
      let offset = 0
      for (const part of held) {
        samples.set(part, offset)
        offset += part.length
      }
      held = []
      heldLength = 0
      send({ kind: 'piece', samples, at: heldAt }, [samples.buffer])
    }
  }
  send({ kind: 'lost', why: 'the microphone has stopped' })
}
