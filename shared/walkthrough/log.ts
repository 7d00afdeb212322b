import { z } from 'zod'
import { applyEvent, stageEventSchema, type StageEvent } from './events.ts'
import { playheads, stageClipSchema, stageSchema, type Stage } from './stage.ts'

/**
 * A walkthrough on disk: a header line, then one row a line, `[milliseconds, event]`, in the order of time.
 * Time 0 is the first sample of the sound. Rows are only ever appended; an old version is upgraded when read.
 */
export const logHeaderSchema = z.object({
  format: z.literal('crossbearing-walkthrough'),
  version: z.literal(1),
  clips: z.record(z.string(), stageClipSchema),
  /** The stage at time 0; a motion in it counts from 0. */
  initial: stageSchema,
})
export type LogHeader = Readonly<z.infer<typeof logHeaderSchema>>

export const logRowSchema = z.tuple([z.number().min(0), stageEventSchema]).readonly()
export type LogRow = readonly [at: number, event: StageEvent]

export interface Log {
  readonly header: LogHeader
  readonly rows: readonly LogRow[]
}

/** What stops a log from being read: the line (1 is the header) and what is wrong with it. */
export class LogError extends Error {
  readonly line: number
  constructor(line: number, message: string) {
    super(`line ${line}: ${message}`)
    this.line = line
  }
}

export const encodeHeader = (header: LogHeader): string => `${JSON.stringify(header)}\n`
export const encodeRows = (rows: readonly LogRow[]): string => rows.map((row) => `${JSON.stringify(row)}\n`).join('')

/** The header with the clips that rows made known; what the header itself says of a clip stands. */
function withClipsOfRows(header: LogHeader, rows: readonly LogRow[]): LogHeader {
  let clips = header.clips
  for (const [, event] of rows) if (event.type === 'clips') clips = { ...event.clips, ...clips }
  return clips === header.clips ? header : { ...header, clips }
}

/**
 * Reads a log. A last line without its line feed is what a power cut leaves: it is dropped.
 * Anything else that does not fit throws a LogError.
 */
export function parseLog(text: string): Log {
  const lines = text.split('\n')
  lines.pop()
  const [first, ...rest] = lines
  if (first === undefined) throw new LogError(1, 'the log has no header')
  const header = parseLine(1, first, logHeaderSchema)
  let last = 0
  const rows = rest.map((line, i) => {
    const row = parseLine(i + 2, line, logRowSchema) as LogRow
    if (row[0] < last) throw new LogError(i + 2, 'a row lies before the one above it')
    last = row[0]
    return row
  })
  return { header: withClipsOfRows(header, rows), rows }
}

function parseLine<T>(line: number, text: string, schema: z.ZodType<T>): T {
  let value: unknown
  try {
    value = JSON.parse(text)
  } catch {
    throw new LogError(line, 'this is not JSON')
  }
  const result = schema.safeParse(value)
  if (result.success) return result.data
  const issue = result.error.issues[0]!
  throw new LogError(line, `${issue.path.join('.') || 'the whole line'}: ${issue.message}`)
}

/** How many rows lie at or before a time: binary search. */
export function rowsUntil(log: Log, at: number): number {
  let low = 0
  let high = log.rows.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (log.rows[middle]![0] <= at) low = middle + 1
    else high = middle
  }
  return low
}

/** The stage at a time in milliseconds, motion worked out into the playheads. Depends on nothing but its arguments. */
export function stateAt(log: Log, at: number): Stage {
  let stage = log.header.initial
  const until = rowsUntil(log, at)
  for (let i = 0; i < until; i++) {
    const [time, event] = log.rows[i]!
    stage = applyEvent(stage, event, time, log.header.clips)
  }
  return settle(stage, log, at)
}

/** The same stage with the playheads where the motion has brought them; the motion itself is kept, so that one can tell. */
function settle(stage: Stage, log: Log, at: number): Stage {
  if (!stage.motion) return stage
  const [left, right] = playheads(stage, log.header.clips, at)
  return { ...stage, panes: [{ ...stage.panes[0], tick: left }, { ...stage.panes[1], tick: right }] }
}

/**
 * stateAt for many times: keeps a checkpoint every so many rows, so that any seek folds a few hundred rows at most.
 * Gives exactly what stateAt gives.
 */
export class Replay {
  readonly log: Log
  readonly #every: number
  readonly #checkpoints: Stage[]
  #cursor: { row: number; stage: Stage }

  constructor(log: Log, every = 256) {
    this.log = log
    this.#every = every
    this.#checkpoints = [log.header.initial]
    this.#cursor = { row: 0, stage: log.header.initial }
  }

  at(time: number): Stage {
    const until = rowsUntil(this.log, time)
    const known = Math.min(Math.floor(until / this.#every), this.#checkpoints.length - 1)
    let { row, stage } = this.#cursor
    if (row > until || row < known * this.#every) {
      row = known * this.#every
      stage = this.#checkpoints[known]!
    }
    for (; row < until; row++) {
      const [at, event] = this.log.rows[row]!
      stage = applyEvent(stage, event, at, this.log.header.clips)
      const next = row + 1
      if (next % this.#every === 0 && next / this.#every === this.#checkpoints.length) this.#checkpoints.push(stage)
    }
    this.#cursor = { row, stage }
    return settle(stage, this.log, time)
  }
}
