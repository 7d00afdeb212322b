import { fork, type ChildProcess } from 'node:child_process'
import { unlink } from 'node:fs/promises'
import { fileURLToPath } from 'node:url'
import { MediaError } from './mediaError.ts'
import type { FromMedia, MediaCallName, MediaCalls, MediaUsage, ToMedia } from './mediaMessages.ts'
import type { OriginalFrame, OriginalFrameRequest } from './originalFrame.ts'
import type { Probed } from './probe.ts'
import type { Remuxed, RemuxRequest } from './remux.ts'
import type { ReviewCopy, ReviewCopyRequest, TakeInProgress } from './reviewCopy.ts'
import type { Loudness, Normalised, NormaliseTarget } from './sound.ts'

interface Pending {
  path: string
  /** A file that a crash would leave half written. */
  out: string | null
  resolve: (answer: unknown) => void
  reject: (error: MediaError) => void
  onProgress: ((progress: TakeInProgress) => void) | undefined
  cleanUp: () => void
}

/** A process that does not heed a cancel for so long is stuck in a decoder, and is ended. */
const heedCancelMs = 10_000

/** Starts the media process. In Electron the same binary runs it as plain Node. */
function spawnMediaProcess(): ChildProcess {
  const here = import.meta.url
  const worker = new URL(here.endsWith('.ts') ? './mediaWorker.ts' : './mediaWorker.js', here)
  return fork(fileURLToPath(worker), [], {
    // Structured clone: pictures and envelopes cross as bytes.
    serialization: 'advanced',
    execArgv: [],
    env: { ...process.env, ELECTRON_RUN_AS_NODE: '1' },
    stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
  })
}

/**
 * The desk's end of a media process of its own. The process starts at the first call, serves calls side by side, and is started
 * afresh after a crash; the calls it was at then reject with MediaError `crashed` and leave no file behind. Use one client for
 * take-in and another for pictures at rest, so that neither waits for the other. Close it with `await using` or close().
 */
export class MediaClient implements AsyncDisposable {
  #child: ChildProcess | null = null
  readonly #pending = new Map<number, Pending>()
  #lastId = 0
  #closed = false

  /** The process's id, or null while none runs. */
  get pid(): number | null {
    return this.#child?.pid ?? null
  }

  probe(path: string, signal?: AbortSignal): Promise<Probed> {
    return this.#call('probe', { path }, { path, signal })
  }

  /** See makeReviewCopy; progress comes about ten times a second. */
  makeReviewCopy(request: ReviewCopyRequest): Promise<ReviewCopy> {
    const { onProgress, signal, ...ask } = request
    return this.#call('reviewCopy', ask, { path: request.path, out: request.out, signal, onProgress })
  }

  /** See remux. */
  remux(request: RemuxRequest): Promise<Remuxed> {
    const { onProgress, signal, ...ask } = request
    return this.#call('remux', ask, { path: request.path, signal, onProgress })
  }

  /** See OriginalFrames.get: the latest request of a pane wins, earlier ones reject as `superseded`. */
  originalFrame(request: OriginalFrameRequest, pane = 'only', signal?: AbortSignal): Promise<OriginalFrame> {
    return this.#call('originalFrame', { ...request, pane }, { path: request.path, signal })
  }

  /** Lets go of a clip's file (of all without a path), so that it can be deleted. */
  async release(path?: string): Promise<void> {
    if (this.#child) await this.#call('release', path === undefined ? {} : { path }, { path: path ?? '' })
  }

  measureLoudness(path: string, signal?: AbortSignal): Promise<Loudness> {
    return this.#call('loudness', { path }, { path, signal })
  }

  normaliseSpeech(path: string, out: string, target: Partial<NormaliseTarget> = {}, signal?: AbortSignal): Promise<Normalised> {
    return this.#call('normaliseSpeech', { path, out, target }, { path, out, signal })
  }

  usage(): Promise<MediaUsage> {
    return this.#call('usage', {}, { path: '' })
  }

  /** Ends the process; calls under way reject as `cancelled`. */
  async close(): Promise<void> {
    this.#closed = true
    const child = this.#child
    if (!child) return
    // An idle process is let go of; to see its end it must be held again.
    child.ref()
    const gone = new Promise<void>((resolve) => { child.once('exit', () => resolve()) })
    // An idle process was let go of; its end is waited for all the same.
    child.ref()
    child.kill('SIGKILL')
    await gone
    // The half-written files are removed as the calls are refused.
    await this.#refused
  }

  [Symbol.asyncDispose](): Promise<void> {
    return this.close()
  }

  #refused: Promise<void> = Promise.resolve()

  #call<Name extends MediaCallName>(
    name: Name, ask: MediaCalls[Name]['ask'],
    about: { path: string, out?: string, signal?: AbortSignal | undefined, onProgress?: ((progress: TakeInProgress) => void) | undefined },
  ): Promise<MediaCalls[Name]['answer']> {
    const { path, signal } = about
    if (this.#closed || signal?.aborted) return Promise.reject(new MediaError('cancelled', path))
    const child = this.#child ?? this.#start()
    const id = ++this.#lastId
    let stuck: NodeJS.Timeout | undefined
    const abort = () => {
      this.#send(child, { id, abort: true })
      stuck = setTimeout(() => child.kill('SIGKILL'), heedCancelMs)
    }
    signal?.addEventListener('abort', abort, { once: true })
    return new Promise((resolve, reject) => {
      this.#pending.set(id, {
        path, out: about.out ?? null, onProgress: about.onProgress, reject,
        resolve: (answer) => resolve(answer as MediaCalls[Name]['answer']),
        cleanUp: () => {
          clearTimeout(stuck)
          signal?.removeEventListener('abort', abort)
        },
      })
      child.ref()
      child.channel?.ref()
      // Name and question belong together by this method's signature.
      this.#send(child, { id, call: name, ask } as ToMedia)
    })
  }

  #send(child: ChildProcess, message: ToMedia): void {
    // A process that is already gone says so with its exit, which refuses the call.
    if (child.connected) child.send(message, () => {})
  }

  #start(): ChildProcess {
    const child = spawnMediaProcess()
    this.#child = child
    child.on('message', (message: FromMedia) => this.#receive(child, message))
    const gone = () => {
      if (this.#child !== child) return
      this.#child = null
      this.#refused = this.#refuseAll()
    }
    child.once('error', gone)
    child.once('exit', gone)
    return child
  }

  #receive(child: ChildProcess, message: FromMedia): void {
    const pending = this.#pending.get(message.id)
    if (!pending) return
    if ('progress' in message) {
      pending.onProgress?.(message.progress)
      return
    }
    this.#pending.delete(message.id)
    pending.cleanUp()
    if ('error' in message) pending.reject(new MediaError(message.error.kind, message.error.path || pending.path, message.error.detail))
    else pending.resolve(message.answer)
    // An idle process does not keep the desk from ending.
    if (!this.#pending.size) {
      child.unref()
      child.channel?.unref()
    }
  }

  async #refuseAll(): Promise<void> {
    const lost = [...this.#pending.values()]
    this.#pending.clear()
    for (const pending of lost) {
      pending.cleanUp()
      if (pending.out) await unlink(pending.out).catch(() => {})
      pending.reject(new MediaError(this.#closed ? 'cancelled' : 'crashed', pending.path))
    }
  }
}
