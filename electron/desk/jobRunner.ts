import { randomUUID } from 'node:crypto'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Job } from '../../shared/contract/job.ts'
import type { Sqlite } from '../library/database.ts'
import { addJob, getJob, listJobs, removeJob, updateJob, type StoredJob } from '../library/jobs.ts'
import type { EventHub } from './events.ts'
import { isAbort } from './faultOf.ts'
import { TimeLeft } from './timeLeft.ts'

export interface Running {
  readonly signal: AbortSignal
  /** How far the work is, 0 to 1, and what it does right now. */
  report(share: number, step: string): void
}
export interface Finished {
  readonly result: string | null
  readonly step: string
}
export interface Work {
  /** Jobs of one lane run one at a time, in the order they were asked for. */
  readonly lane: string
  run(job: StoredJob, running: Running): Promise<Finished>
  /** After a job of this kind has come to any end. */
  ended?(job: StoredJob): void
  /** When a job is forgotten for good. */
  forgotten?(job: StoredJob): void
}

interface Current {
  readonly cancel: AbortController
  progress: number
  secondsLeft: number | null
  step: string
  readonly done: Promise<void>
}

export interface RunnerOptions {
  readonly db: Sqlite
  readonly hub: EventHub
  readonly works: Readonly<Record<Job['kind'], Work>>
  readonly now: () => number
  /** A thrown value as a fault for the coach. */
  readonly faultOf: (error: unknown, job: StoredJob) => DeskError
}

const tellEveryMs = 100

/**
 * Long work, kept in the library: what was waiting or running when the program ended is taken up again at the next start.
 * States: waiting -> running -> done | failed | cancelled; waiting -> cancelled; failed | cancelled -> waiting (retry).
 */
export class JobRunner {
  readonly #options: RunnerOptions
  readonly #running = new Map<string, Current>()
  readonly #busyLanes = new Set<string>()
  #closing = false

  constructor(options: RunnerOptions) {
    this.#options = options
  }

  /** Takes up what the last run of the program left. */
  start(): void {
    for (const job of listJobs(this.#options.db))
      if (job.state === 'running')
        updateJob(this.#options.db, { ...job, state: 'waiting', step: 'Waiting; it was interrupted and starts again' })
    this.#pumpAll()
  }

  add(job: Pick<StoredJob, 'kind' | 'title' | 'payload' | 'deliveryId' | 'walkthroughId'> & { id?: string }): Job {
    const { db, now } = this.#options
    const stored: StoredJob = { id: randomUUID(), ...job, state: 'waiting', step: 'Waiting', result: null, fault: null, createdAt: now() }
    addJob(db, stored)
    this.#tell(stored.id)
    // Those that were asked for in one go are all on the list before the first begins.
    queueMicrotask(() => this.#pumpAll())
    return this.#view(stored)
  }

  list(): Job[] {
    return listJobs(this.#options.db).map((job) => this.#view(job))
  }

  get(id: string): Job {
    return this.#view(this.#stored(id))
  }

  async cancel(id: string): Promise<Job> {
    const job = this.#stored(id)
    const current = this.#running.get(id)
    if (current) {
      current.cancel.abort()
      await current.done
    } else if (job.state === 'waiting') this.#end(job, { state: 'cancelled', step: 'Cancelled', result: null, fault: null })
    return this.get(id)
  }

  retry(id: string): Job {
    const job = this.#stored(id)
    if (job.state !== 'failed' && job.state !== 'cancelled')
      throw new DeskError('bad-input', 'Only work that failed or was cancelled can be tried again.', { where: job.title })
    updateJob(this.#options.db, { id, state: 'waiting', step: 'Waiting', result: null, fault: null })
    this.#tell(id)
    queueMicrotask(() => this.#pumpAll())
    return this.get(id)
  }

  /** Forgets what has come to an end. */
  clear(): Job[] {
    for (const job of listJobs(this.#options.db)) {
      if (job.state === 'waiting' || job.state === 'running') continue
      removeJob(this.#options.db, job.id)
      this.#options.works[job.kind].forgotten?.(job)
    }
    this.#options.hub.changed('jobs')
    return this.list()
  }

  /** Stops what runs, without an end: it goes on at the next start. */
  async close(): Promise<void> {
    this.#closing = true
    const all = [...this.#running.values()]
    for (const current of all) current.cancel.abort()
    await Promise.all(all.map((current) => current.done))
  }

  #stored(id: string): StoredJob {
    const job = getJob(this.#options.db, id)
    if (!job) throw new DeskError('not-found', 'This work is not on the list any more.', { where: id })
    return job
  }

  #view({ payload: _payload, deliveryId: _delivery, walkthroughId: _walkthrough, ...job }: StoredJob): Job {
    const current = this.#running.get(job.id)
    if (!current) return { ...job, progress: job.state === 'done' ? 1 : 0, secondsLeft: null }
    return { ...job, state: 'running', progress: current.progress, secondsLeft: current.secondsLeft, step: current.step }
  }

  #tell(id: string): void {
    const job = getJob(this.#options.db, id)
    if (job) this.#options.hub.tell({ type: 'job', job: this.#view(job) })
  }

  #pumpAll(): void {
    if (this.#closing) return
    for (const job of listJobs(this.#options.db)) {
      const { lane } = this.#options.works[job.kind]
      if (job.state === 'waiting' && !this.#busyLanes.has(lane)) this.#begin(job, lane)
    }
  }

  #begin(job: StoredJob, lane: string): void {
    const { db, works } = this.#options
    this.#busyLanes.add(lane)
    updateJob(db, { ...job, state: 'running', step: 'Starting' })
    const cancel = new AbortController()
    const { promise: done, resolve } = Promise.withResolvers<void>()
    const current: Current = { cancel, progress: 0, secondsLeft: null, step: 'Starting', done }
    this.#running.set(job.id, current)
    this.#tell(job.id)
    void this.#run(job, works[job.kind], current).finally(() => {
      this.#busyLanes.delete(lane)
      resolve()
      this.#pumpAll()
    })
  }

  async #run(job: StoredJob, work: Work, current: Current): Promise<void> {
    const left = new TimeLeft(performance.now())
    let told = 0
    const report = (share: number, step: string): void => {
      const now = performance.now()
      const isNewStep = step !== current.step
      current.progress = Math.max(current.progress, Math.min(1, Math.max(0, share)))
      current.step = step
      current.secondsLeft = left.seconds(now, current.progress)
      if (!isNewStep && now - told < tellEveryMs) return
      told = now
      this.#tell(job.id)
    }
    try {
      const { result, step } = await work.run(job, { signal: current.cancel.signal, report })
      this.#end(job, { state: 'done', step, result, fault: null })
    } catch (error) {
      if (this.#closing) {
        this.#running.delete(job.id)
        return
      }
      const fault = this.#options.faultOf(error, job)
      const isCancelled = current.cancel.signal.aborted && (isAbort(error) || fault.fault.kind === 'cancelled')
      if (isCancelled) this.#end(job, { state: 'cancelled', step: 'Cancelled', result: null, fault: null })
      else this.#end(job, { state: 'failed', step: 'Failed', result: null, fault: fault.fault })
    }
  }

  #end(job: StoredJob, end: Pick<StoredJob, 'state' | 'step' | 'result' | 'fault'>): void {
    this.#running.delete(job.id)
    updateJob(this.#options.db, { id: job.id, ...end })
    this.#options.works[job.kind].ended?.({ ...job, ...end })
    this.#tell(job.id)
  }
}
