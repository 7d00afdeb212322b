import type { Bridge } from '../bridge/index.ts'
import { tellDone, tellFault } from '../ui/notices.ts'

/** Hands bundle files to the desk, one job each; one that cannot be handed over is told of, the others go on. */
export async function bringBundles(desk: Bridge, files: readonly File[]): Promise<void> {
  let begun = 0
  for (const file of files) {
    try {
      await desk.call('shelf.unbundle', { source: await desk.stage(file) })
      begun++
    } catch (error) {
      tellFault(error)
    }
  }
  if (begun > 0) tellDone(`${begun === 1 ? 'A swing is' : `${begun} swings are`} being brought in; Jobs at the top says how far it is.`)
}

