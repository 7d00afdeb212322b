import { constants, setPriority } from 'node:os'
import type { EngineOptions } from './engines.ts'
import { packError } from './sentError.ts'
import type { FromTask, TaskName, Tasks, ToTask } from './taskMessages.ts'

/** The process that one long task runs in: it is asked once, tells how far it is, answers and ends. */
const send = (message: FromTask): void => void process.send?.(message)
const cancel = new AbortController()
const options: Required<EngineOptions> = { signal: cancel.signal, onProgress: ({ share, step }) => send({ type: 'progress', share, step }) }

const tasks: { readonly [N in TaskName]: (request: Tasks[N]['request']) => Promise<Tasks[N]['answer']> } = {
  render: async (request) => {
    // Whoever works in a window meanwhile comes first; threads made from here on are as modest.
    setPriority(constants.priority.PRIORITY_LOW)
    const { renderHandoff } = await import('../handoff/renderHandoff.ts')
    const { crf, segments, reused } = await renderHandoff(request, options)
    return { crf, segments, reused }
  },
  cleanSound: async (request) => (await import('../media/cleanSound.ts')).cleanSound(request, options),
  kit: async ({ folder, options: kit }) =>
    (await import('./demo/kit.ts')).makeDemoKit(folder, {
      ...kit,
      signal: cancel.signal,
      onProgress: ({ done, total }) => options.onProgress({ share: done / total, step: 'Filming the demo swings' }),
    }),
}

process.on('message', (message: ToTask) => {
  if (message.type === 'cancel') return cancel.abort()
  const run = tasks[message.name] as (request: unknown) => Promise<unknown>
  run(message.request).then(
    (answer) => process.send?.({ type: 'done', answer } satisfies FromTask, () => process.exit(0)),
    (error: unknown) => process.send?.({ type: 'failed', error: packError(error) } satisfies FromTask, () => process.exit(1)),
  )
})
// The desk is gone: nobody waits for this any more.
process.on('disconnect', () => process.exit(1))
for (const name of ['SIGINT', 'SIGTERM'] as const) process.on(name, () => {})
