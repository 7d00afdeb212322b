import type { DemoKitOptions } from './demo/kit.ts'
import type { Engines } from './engines.ts'
import { createMediaEngine } from './mediaEngine.ts'
import { runTask } from './tasks.ts'

export type KitOptions = Pick<DemoKitOptions, 'scale' | 'seconds' | 'only' | 'workers'>

/** The real ones. `kit` makes the demo smaller or shorter, for tests. */
export function defaultEngines(kit: KitOptions = {}): Engines {
  return {
    media: createMediaEngine(),
    render: (request, options) => runTask('render', request, options),
    cleanSound: (request, options) => runTask('cleanSound', request, options),
    kit: (folder, options) => runTask('kit', { folder, options: kit }, options),
  }
}
