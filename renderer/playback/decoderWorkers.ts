const start = (): Worker => new Worker(new URL('./decoderWorker.ts', import.meta.url), { type: 'module', name: 'decoder' })

/** Workers that run and have no clip yet, the longest running first. */
const spare: Worker[] = []

/** A decoder's worker for one clip: one that runs already, where there is one, for to start one takes longer than a frame. */
export const takeDecoderWorker = (): Worker => spare.shift() ?? start()

/** Has so many workers running ahead of need; those beyond it end. */
export function keepDecoderWorkers(count: number): void {
  while (spare.length < count) spare.push(start())
  for (const worker of spare.splice(count)) worker.terminate()
}
