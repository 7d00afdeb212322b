import type { Fault } from '../../shared/contract/errors.ts'
import type { Cleaned, CleanRequest } from '../media/cleanSound.ts'
import type { MediaErrorKind } from '../media/mediaError.ts'
import type { DemoKit, DemoKitOptions } from './demo/kit.ts'
import type { Rendered, RenderRequest } from './engines.ts'

/** What a task process can be asked to do: what goes in, what comes out. */
export interface Tasks {
  render: { request: RenderRequest; answer: Rendered }
  cleanSound: { request: CleanRequest; answer: Cleaned }
  kit: { request: { folder: string; options: Pick<DemoKitOptions, 'scale' | 'seconds' | 'only' | 'workers'> }; answer: DemoKit }
}
export type TaskName = keyof Tasks

/** An error on its way between processes; classes do not survive the journey. */
export type SentError =
  | { readonly type: 'media'; readonly kind: MediaErrorKind; readonly path: string; readonly detail: string }
  | { readonly type: 'desk'; readonly fault: Fault }
  | { readonly type: 'abort' }
  | { readonly type: 'system'; readonly code: string; readonly path: string | null; readonly message: string; readonly stack: string }
  | { readonly type: 'other'; readonly message: string; readonly stack: string }

export type ToTask = { readonly type: 'run'; readonly name: TaskName; readonly request: unknown } | { readonly type: 'cancel' }
export type FromTask =
  | { readonly type: 'progress'; readonly share: number; readonly step: string }
  | { readonly type: 'done'; readonly answer: unknown }
  | { readonly type: 'failed'; readonly error: SentError }
