import { randomUUID } from 'node:crypto'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Job } from '../../shared/contract/job.ts'
import type { Sqlite } from '../library/database.ts'
import { addJob, getJob, listJobs, removeJob, setPromise, setTurn, updateJob, type StoredJob } from '../library/jobs.ts'
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
  /** Jobs of one lane run one at a time, in the order of their turns. */
  readonly lane: string
  /** Whether the coach can pause the lane; what runs then stops and waits. */
  readonly canPause?: boolean
  /** How long to wait, milliseconds, before work that has failed so many times with this fault is tried again by itself; null: not at all. */
  retryAfter?(fault: DeskError['fault'], tries: number): number | null
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
  /** Whether lanes that can be paused are; asked whenever it matters. */
  readonly paused?: () => boolean
  /** A thrown value as a fault for the coach. */
  readonly faultOf: (error: unknown, job: StoredJob) => DeskError
}

const tellEveryMs = 100

/**
 * Long work, kept in the library: what was waiting or running when the program ended is taken up again at the next start.
 * States: waiting -> running -> done | failed | cancelled; waiting -> cancelled; failed | cancelled -> waiting (retry);
 * running -> waiting (paused, or failed in a way that may pass and is tried again by itself after a while).
 */
export class JobRunner {
  readonly #options: RunnerOptions
  readonly #running = new Map<string, Current>()
  readonly #busyLanes = new Set<string>()
  /** Jobs that were stopped for a pause: they wait again. */
  readonly #halted = new Set<string>()
  #alarm: NodeJS.Timeout | undefined
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

  add(job: Pick<StoredJob, 'kind' | 'title' | 'payload' | 'deliveryId' | 'walkthroughId'> & { id?: string; promisedOn?: string | null }): Job {
    const { db, now } = this.#options
    const promisedOn = job.promisedOn ?? null
    const stored: StoredJob = {
      id: randomUUID(), ...job, promisedOn, turn: this.#turnFor(this.#options.works[job.kind].lane, promisedOn),
      state: 'waiting', step: 'Waiting', result: null, fault: null, tries: 0, retryAt: null, createdAt: now(),
    }
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
    if (job.state !== 'failed' && job.state !== 'cancelled' && job.retryAt === null)
      throw new DeskError('bad-input', 'Only work that failed or was cancelled can be tried again.', { where: job.title })
    updateJob(this.#options.db, { id, state: 'waiting', step: 'Waiting', result: null, fault: null })
    this.#tell(id)
    queueMicrotask(() => this.#pumpAll())
    return this.get(id)
  }

  /** Puts waiting work before another that waits in the same lane (null: behind all). */
  move(id: string, beforeId: string | null): Job[] {
    const job = this.#stored(id)
    const line = this.#waitingIn(this.#options.works[job.kind].lane).filter((each) => each.id !== id)
    const at = beforeId === null ? line.length : line.findIndex((each) => each.id === beforeId)
    if (job.state !== 'waiting' || at < 0) throw new DeskError('bad-input', 'Only work that waits can change its turn with other work that waits.', { where: job.title })
    setTurn(this.#options.db, id, this.#turnAt(line, at))
    this.#options.hub.changed('jobs')
    return this.list()
  }

  /** Promises work for another day, or for none; what waits takes the turn that goes with it. */
  promise(id: string, promisedOn: string | null): Job {
    const job = this.#stored(id)
    if (job.kind !== 'handoff' || job.state === 'done') throw new DeskError('bad-input', 'Only a video that is not made yet can be promised for a day.', { where: job.title })
    const { db, works, hub } = this.#options
    if (promisedOn === job.promisedOn) return this.get(id)
    if (job.state === 'waiting') setTurn(db, id, this.#turnFor(works[job.kind].lane, promisedOn, id))
    setPromise(db, id, promisedOn)
    hub.changed('jobs')
    return this.get(id)
  }

  /** To be called when pausing was switched on or off. */
  pauseChanged(): void {
    const { db, works, hub, paused } = this.#options
    if (paused?.())
      for (const [id, current] of this.#running) {
        const job = getJob(db, id)
        if (!job || !works[job.kind].canPause) continue
        this.#halted.add(id)
        current.cancel.abort()
      }
    hub.changed('jobs')
    this.#pumpAll()
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

  /** Forgets one that has come to an end; nothing where it is not on the list any more. */
  forget(id: string): void {
    const job = getJob(this.#options.db, id)
    if (!job) return
    if (job.state === 'waiting' || job.state === 'running') throw new DeskError('bad-input', 'This work is not done yet.', { where: job.title, remedy: 'Cancel it first.' })
    removeJob(this.#options.db, id)
    this.#options.works[job.kind].forgotten?.(job)
    this.#options.hub.changed('jobs')
  }

  /** Stops what runs, without an end: it goes on at the next start. */
  async close(): Promise<void> {
    this.#closing = true
    clearTimeout(this.#alarm)
    const all = [...this.#running.values()]
    for (const current of all) current.cancel.abort()
    await Promise.all(all.map((current) => current.done))
  }

  #stored(id: string): StoredJob {
    const job = getJob(this.#options.db, id)
    if (!job) throw new DeskError('not-found', 'This work is not on the list any more.', { where: id })
    return job
  }

  #waitingIn(lane: string): StoredJob[] {
    return listJobs(this.#options.db).filter((job) => job.state === 'waiting' && this.#options.works[job.kind].lane === lane)
  }

  /** A turn just before place `at` of a line. */
  #turnAt(line: readonly StoredJob[], at: number): number {
    const after = line[at]?.turn
    const all = listJobs(this.#options.db)
    if (after === undefined) return Math.max(0, ...all.map(({ turn }) => turn)) + 1
    // What runs is begun; should it have to begin again, it comes first.
    const running = all.filter(({ id, turn }) => this.#running.has(id) && turn < after).map(({ turn }) => turn)
    const before = line[at - 1]?.turn ?? (running.length > 0 ? Math.max(...running) : after - 2)
    return (before + after) / 2
  }

  /** Behind all that is promised no later (but itself); what is not promised comes last. */
  #turnFor(lane: string, promisedOn: string | null, id: string | null = null): number {
    const line = this.#waitingIn(lane).filter((job) => job.id !== id)
    const at = promisedOn === null ? -1 : line.findIndex((job) => job.promisedOn === null || job.promisedOn > promisedOn)
    return this.#turnAt(line, at < 0 ? line.length : at)
  }

  #view({ payload: _payload, deliveryId: _delivery, walkthroughId: _walkthrough, turn: _turn, ...job }: StoredJob): Job {
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
    const { db, works, now, paused } = this.#options
    const time = now()
    const isPaused = paused?.() ?? false
    let next = Infinity
    for (const job of listJobs(db)) {
      const { lane, canPause } = works[job.kind]
      if (job.state !== 'waiting' || this.#busyLanes.has(lane) || (isPaused && canPause)) continue
      // Others need not wait for one that is to be tried again later.
      if (job.retryAt !== null && job.retryAt > time) next = Math.min(next, job.retryAt)
      else this.#begin(job, lane)
    }
    clearTimeout(this.#alarm)
    if (next < Infinity) this.#alarm = setTimeout(() => this.#pumpAll(), Math.min(next - time, 2 ** 31 - 1)).unref()
  }

  #begin(job: StoredJob, lane: string): void {
    const { db, works } = this.#options
    this.#busyLanes.add(lane)
    updateJob(db, { ...job, state: 'running', step: 'Starting', retryAt: null })
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
      if (this.#halted.delete(job.id) && current.cancel.signal.aborted) return this.#waitAgain(job, { step: 'Paused' })
      const isCancelled = current.cancel.signal.aborted && (isAbort(error) || fault.fault.kind === 'cancelled')
      if (isCancelled) this.#end(job, { state: 'cancelled', step: 'Cancelled', result: null, fault: null })
      else {
        const wait = work.retryAfter?.(fault.fault, job.tries + 1) ?? null
        if (wait === null) this.#end(job, { state: 'failed', step: 'Failed', result: null, fault: fault.fault })
        else this.#waitAgain(job, { step: 'Waits to be tried again', fault: fault.fault, tries: job.tries + 1, retryAt: this.#options.now() + wait })
      }
    }
  }

  #waitAgain(job: StoredJob, how: Pick<StoredJob, 'step'> & Partial<Pick<StoredJob, 'fault' | 'tries' | 'retryAt'>>): void {
    this.#running.delete(job.id)
    updateJob(this.#options.db, { ...job, state: 'waiting', result: null, ...how })
    this.#tell(job.id)
  }

  #end(job: StoredJob, end: Pick<StoredJob, 'state' | 'step' | 'result' | 'fault'>): void {
    this.#running.delete(job.id)
    updateJob(this.#options.db, { id: job.id, ...end })
    this.#options.works[job.kind].ended?.({ ...job, ...end })
    this.#tell(job.id)
  }
}
