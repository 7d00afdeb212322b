import type { z } from 'zod'
import type { OperationName, Operations } from '../../shared/contract/operations.ts'
import type { Cleaning } from './cleaning.ts'
import type { Library } from '../library/library.ts'
import type { Engines } from './engines.ts'
import type { EventHub } from './events.ts'
import type { JobRunner } from './jobRunner.ts'
import type { Recordings } from './recordings.ts'
import type { Staging } from './staging.ts'

/** What the handlers of the operations work with; put together once, in createDesk. */
export interface DeskContext {
  readonly library: Library
  readonly engines: Engines
  readonly hub: EventHub
  readonly jobs: JobRunner
  readonly recordings: Recordings
  readonly cleaning: Cleaning
  readonly staging: Staging
  /** Milliseconds since 1970. */
  now(): number
  log(line: string): void
}

export type Answer<N extends OperationName> = z.output<Operations[N]['output']>
/** One handler an operation. Input has been through its schema; errors are thrown as DeskErrors. */
export type Handlers = { readonly [N in OperationName]: (input: z.output<Operations[N]['input']>) => Answer<N> | Promise<Answer<N>> }
/** The handlers of a group of operations, by the first word of their name. */
export type Group<Prefix extends string> = Pick<Handlers, Extract<OperationName, `${Prefix}.${string}`>>
