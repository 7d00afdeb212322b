import { parseArgs } from 'node:util'
import { makeDemoKit } from './kit.ts'

/** `node electron/desk/demo/makeKit.ts OUT [--scale .5] [--seconds 1.2]`: makes the kit and says how long it took. */
const { values, positionals } = parseArgs({ allowPositionals: true, options: { scale: { type: 'string' }, seconds: { type: 'string' } } })
const [folder] = positionals
if (!folder) {
  console.error('Say where the kit should go: makeKit.ts FOLDER')
  process.exit(2)
}
const stop = new AbortController()
process.once('SIGINT', () => stop.abort(new Error('Stopped; nothing was left behind.')))
const started = performance.now()
let shown = -1
try {
  const kit = await makeDemoKit(folder, {
    signal: stop.signal,
    ...(values.scale ? { scale: Number(values.scale) } : {}),
    ...(values.seconds ? { seconds: Number(values.seconds) } : {}),
    onProgress: ({ done, total }) => {
      const tenth = Math.floor((done / total) * 10)
      if (tenth === shown) return
      shown = tenth
      console.log(`${done} of ${total} frames, ${((performance.now() - started) / 1000).toFixed(1)} s`)
    },
  })
  for (const clip of kit.clips) console.log(`${clip.path}: ${clip.frames} frames of ${clip.widthPx} x ${clip.heightPx}`)
  console.log(`${((performance.now() - started) / 1000).toFixed(1)} s in all`)
} catch (error) {
  console.error(error instanceof Error ? error.message : String(error))
  process.exit(1)
}
