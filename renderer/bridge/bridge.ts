import { DeskError } from '../../shared/contract/errors.ts'
import type { Desk, Input, MediaPath } from '../../shared/contract/operations.ts'

/** Where the bytes of a file to take in are; goes into takeIn.start. */
export type Source = Input<'takeIn.start'>['items'][number]['source']

/** The desk as the renderer has it, whichever host is behind it. */
export interface Bridge extends Desk {
  /** Address of something of the contract's MediaPath table, for fetch, <img>, <video> and the decoder. */
  mediaUrl(path: MediaPath): string
  /** Makes a chosen or dropped file known to the desk: its path where there is one, else its bytes go over first. */
  stage(file: File, options?: StageOptions): Promise<Source>
  /** Whether events come through right now; hears of changes until the returned function is called. */
  readonly connected: boolean
  onConnection(heard: (connected: boolean) => void): () => void
}

export interface StageOptions {
  /** Share handed over, 0 to 1. */
  readonly onProgress?: (share: number) => void
  readonly signal?: AbortSignal
}

let connecting: Promise<Bridge> | null = null

/** The one connection of this window; asking again gives the same. Rejects with a DeskError where the desk does not answer. */
export function connect(): Promise<Bridge> {
  connecting ??= open().catch((error: unknown) => {
    connecting = null
    throw error
  })
  return connecting
}

async function open(): Promise<Bridge> {
  if (globalThis.crossbearingDesk) return (await import('./preloadBridge.ts')).preloadBridge(globalThis.crossbearingDesk)
  return (await import('./loopbackBridge.ts')).loopbackBridge()
}

/** Any failure as a DeskError. */
export function asDeskError(error: unknown): DeskError {
  if (error instanceof DeskError) return error
  if (error instanceof Error && error.name === 'AbortError') return new DeskError('cancelled', 'This was cancelled.', { cause: error })
  return new DeskError('internal', 'The desk does not answer.', {
    remedy: 'See whether Crossbearing still runs; start it again if not.',
    cause: error,
  })
}
