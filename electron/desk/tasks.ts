import { fork } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import type { EngineOptions } from './engines.ts'
import { unpackError } from './sentError.ts'
import { taskEnvironment } from './taskEnvironment.ts'
import type { FromTask, TaskName, Tasks, ToTask } from './taskMessages.ts'

/** A module beside this one, whether it runs as written or bundled. */
const beside = (name: string): string =>
  fileURLToPath(new URL(`./${name}${import.meta.url.endsWith('.ts') ? '.ts' : '.js'}`, import.meta.url))

/** How long a task may take to clean up after a cancel before its process is ended. */
const graceMs = 4000

/** Runs one task in a process of its own. Rejects with the error as it was thrown there, with an AbortError when cancelled. */
export function runTask<N extends TaskName>(
  name: N,
  request: Tasks[N]['request'],
  { onProgress, signal }: EngineOptions = {},
): Promise<Tasks[N]['answer']> {
  signal?.throwIfAborted()
  const child = fork(beside('taskProcess'), { serialization: 'advanced', stdio: ['ignore', 'ignore', 'pipe', 'ipc'], execArgv: [], env: { ...process.env, ...taskEnvironment } })
  let complaint = ''
  child.stderr?.setEncoding('utf8').on('data', (text: string) => (complaint = (complaint + text).slice(-4000)))
  return new Promise((resolve, reject) => {
    let grace: NodeJS.Timeout | undefined
    const cancel = (): void => {
      if (child.connected) child.send({ type: 'cancel' } satisfies ToTask)
      grace = setTimeout(() => child.kill('SIGKILL'), graceMs)
    }
    const over = (): void => {
      clearTimeout(grace)
      signal?.removeEventListener('abort', cancel)
    }
    child.on('message', (message: FromTask) => {
      if (message.type === 'progress') onProgress?.(message)
      else if (message.type === 'done') resolve(message.answer as Tasks[N]['answer'])
      else reject(unpackError(message.error))
    })
    child.once('error', reject)
    // After an answer this changes nothing.
    child.once('close', (code, reason) => {
      over()
      reject(
        signal?.aborted
          ? new DOMException('cancelled', 'AbortError')
          : new Error(`The process for "${name}" ended by itself (${reason ?? code}). ${complaint}`),
      )
    })
    signal?.addEventListener('abort', cancel, { once: true })
    child.send({ type: 'run', name, request } satisfies ToTask)
  })
}
