import { Dictionary, FormatContext, type Packet } from 'node-av'
import { must } from './ffmpeg.ts'

/** A media file being written. Tracks are added to `format` before start(). */
export interface FileWriter extends AsyncDisposable {
  readonly format: FormatContext
  /** Creates the file and writes its header. */
  start(options: Readonly<Record<string, string | number>>): Promise<void>
  /** Queues a packet, interleaved by time. Calls may overlap: they are done one after another. The packet is emptied. */
  write(packet: Packet): Promise<void>
  /** Writes what is left and closes the file. */
  finish(): Promise<void>
}

/** Makes a writer of the container `container` (`mp4`, `wav`) at `path`. Disposing it without finish() leaves a half file behind. */
export function openFileWriter(path: string, container: string): FileWriter {
  const format = new FormatContext()
  // With its protocol named, a colon in the path is a letter like any other.
  must(format.allocOutputContext2(null, container, `file:${path}`), 'choose a container')
  let last: Promise<unknown> = Promise.resolve()
  let isOpen = false
  const close = async () => {
    if (!isOpen) return
    isOpen = false
    await format.closeOutput()
  }
  return {
    format,
    async start(options) {
      must(await format.openOutput(), 'open the file to write')
      isOpen = true
      using dictionary = Dictionary.fromObject({ ...options })
      must(await format.writeHeader(dictionary), 'write the header')
    },
    write(packet) {
      const mine = last.then(async () => { must(await format.interleavedWriteFrame(packet), 'write') })
      last = mine.catch(() => {})
      return mine
    },
    async finish() {
      await last
      must(await format.writeTrailer(), 'finish the file')
      await close()
    },
    async [Symbol.asyncDispose]() {
      await last
      await close()
      format.freeContext()
    },
  }
}
