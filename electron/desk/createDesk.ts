import { type z } from 'zod'
import { DeskError } from '../../shared/contract/errors.ts'
import { operations, type Desk, type Input, type OperationName, type Output } from '../../shared/contract/operations.ts'
import { sweep } from '../library/check.ts'
import { getSettings } from '../library/settings.ts'
import { openLibrary } from '../library/library.ts'
import { unpairedDeliveries } from '../library/students.ts'
import type { DeskContext, Handlers } from './context.ts'
import { bundleWork, unbundleWork } from './bundle/jobs.ts'
import { packWork } from './plan/pack.ts'
import { Cleaning } from './cleaning.ts'
import { demoWork } from './demoJob.ts'
import { defaultEngines } from './defaultEngines.ts'
import type { Engines } from './engines.ts'
import { EventHub } from './events.ts'
import { faultOf } from './faultOf.ts'
import { handoffWork } from './handoffJob.ts'
import { neededIncoming } from './incoming.ts'
import { JobRunner } from './jobRunner.ts'
import { serveMedia, type MediaRequest } from './mediaRoutes.ts'
import { arrivalOperations } from './operations/arrivals.ts'
import { captionOperations } from './operations/captions.ts'
import { comparisonOperations } from './operations/comparisons.ts'
import { faceOperations } from './operations/faceInputs.ts'
import { clipOperations } from './operations/clips.ts'
import { digitisingOperations } from './operations/digitising.ts'
import { drillOperations } from './operations/drills.ts'
import { findingOperations } from './operations/findings.ts'
import { folderOperations } from './operations/folders.ts'
import { lessonOperations } from './operations/lessons.ts'
import { libraryOperations } from './operations/library.ts'
import { planOperations } from './operations/plans.ts'
import { repeatabilityOperations } from './operations/repeatability.ts'
import { shelfOperations } from './operations/shelf.ts'
import { studentOperations } from './operations/students.ts'
import { takeInOperations } from './operations/takeIn.ts'
import { walkthroughOperations } from './operations/walkthroughs.ts'
import { pairDelivery } from './pairing.ts'
import { Recordings } from './recordings.ts'
import { Staging, type StageOptions } from './staging.ts'
import { takeInWork } from './takeInJob.ts'

export interface DeskOptions {
  /** The library's folder; made where it is not there. */
  readonly folder: string
  /** What reads, renders and films; the real ones by default. */
  readonly engines?: Partial<Engines>
  readonly now?: () => number
  /** Gets one line for whatever nobody foresaw. */
  readonly log?: (line: string) => void
  /** How long a video that failed waits before it is tried again by itself, milliseconds each time; for tests. */
  readonly retryWaits?: readonly number[]
  /** Checks answers too, against the contract; for tests. */
  readonly checkAnswers?: boolean
}

export interface OpenDesk extends Desk {
  readonly folder: string
  /** A call by a name that may be anything, as it comes over a wire. */
  callByName(name: string, input: unknown): Promise<unknown>
  /** The bytes behind a path of the contract's MediaPath table, by range. */
  media(path: string, request: MediaRequest): Promise<Response>
  /** Takes over the bytes of a file from a window that has no paths; answers with the name for a staged source. */
  stage(pieces: AsyncIterable<Uint8Array>, options?: StageOptions): Promise<string>
  /** Stops what runs so that it can be taken up again, and lets go of the library. */
  close(): Promise<void>
}

const isOperation = (name: string): name is OperationName => Object.hasOwn(operations, name)

/** Opens the library and puts the desk together: the one place where its parts meet. Throws DeskErrors that say why it cannot. */
export function createDesk(options: DeskOptions): OpenDesk {
  const now = options.now ?? Date.now
  const log = options.log ?? ((line: string) => console.error(line))
  const library = openLibrary(options.folder)
  const engines: Engines = { ...defaultEngines(), ...options.engines }
  const hub = new EventHub(log)
  const staging = new Staging(library.layout.incoming)
  const recordings = new Recordings(library)
  const cleaning = new Cleaning(library, engines.cleanSound, hub, (error) => faultOf(error, log).fault.message)
  const settle = (deliveryId: string): void => {
    if (pairDelivery(library.db, deliveryId, now())) hub.changed('swings', 'clips')
  }
  const parts = { library, media: engines.media, staging, hub, now, log }
  const jobs: JobRunner = new JobRunner({
    db: library.db,
    hub,
    now,
    paused: () => getSettings(library.db).handoffsPaused,
    faultOf: (error) => faultOf(error, log),
    works: { 'take-in': takeInWork(parts, settle), demo: demoWork(() => parts, engines.kit), handoff: handoffWork(() => context, options.retryWaits), bundle: bundleWork(() => context), unbundle: unbundleWork(() => context), pack: packWork(() => context) },
  })
  const context: DeskContext = { library, engines, hub, jobs, recordings, cleaning, staging, now, log }
  const handlers: Handlers = {
    ...libraryOperations(context),
    ...folderOperations(),
    ...studentOperations(context), ...arrivalOperations(context),
    ...takeInOperations(context),
    ...clipOperations(context),
    ...walkthroughOperations(context), ...captionOperations(context),
    ...lessonOperations(context), ...digitisingOperations(context),
    ...shelfOperations(context), ...comparisonOperations(context), ...faceOperations(context), ...repeatabilityOperations(context),
    ...findingOperations(context), ...drillOperations(context), ...planOperations(context),
    'demo.install': () =>
      jobs.list().find(({ kind, state }) => kind === 'demo' && (state === 'waiting' || state === 'running')) ??
      jobs.add({ kind: 'demo', title: 'Demo students', payload: {}, deliveryId: null, walkthroughId: null }),
  }

  // What the last run of the program left half done, in this order: sound first, then files without rows, then the queue.
  try {
    for (const { title } of recordings.recover()) log(`The walkthrough "${title}" was interrupted; what was recorded of it was recovered.`)
    sweep(library.db, library.layout, neededIncoming(library.db))
    for (const { id } of unpairedDeliveries(library.db)) settle(id)
    jobs.start()
  } catch (error) {
    library.close()
    throw faultOf(error, log)
  }

  let closing: Promise<void> | null = null
  const callByName = async (name: string, input: unknown): Promise<unknown> => {
    if (!isOperation(name)) throw new DeskError('bad-input', 'The desk knows no such operation.', { where: name })
    if (closing) throw new DeskError('cancelled', 'Crossbearing is closing.', { remedy: 'Start it again.' })
    try {
      const handler = handlers[name] as (input: unknown) => unknown
      const answer = await handler(checked(name, input))
      return options.checkAnswers ? operations[name].output.parse(answer) : answer
    } catch (error) {
      throw faultOf(error, log)
    }
  }
  return {
    folder: options.folder,
    call: <N extends OperationName>(name: N, input: Input<N>) => callByName(name, input) as Promise<Output<N>>,
    callByName,
    listen: (heard) => hub.listen(heard),
    media: (path, request) => serveMedia(context, path, request),
    stage: (pieces, stageOptions) => staging.receive(pieces, stageOptions),
    close: () =>
      (closing ??= (async () => {
        await jobs.close()
        await cleaning.close()
        recordings.close()
        await engines.media.close()
        library.close()
      })()),
  }
}

/** The input as its schema reads it; throws one sentence that names the field. */
function checked(name: OperationName, input: unknown): unknown {
  const schema: z.ZodType = operations[name].input
  const result = schema.safeParse(input)
  if (result.success) return result.data
  const issue = result.error.issues[0]!
  const field = issue.path.map(String).join('.')
  throw new DeskError('bad-input', `${field === '' ? 'The request' : field}: ${issue.message}.`, { where: field === '' ? name : field })
}
