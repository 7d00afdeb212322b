import { mkdir, rename, rm, writeFile } from 'node:fs/promises'
import { availableParallelism } from 'node:os'
import { join } from 'node:path'
import { ClipFile } from './clipFile.ts'
import { eventsOf, type SwingEvents } from './events.ts'
import { filmAll } from './filmPool.ts'
import { swingOf } from './motion.ts'
import { demoShots, demoStudents, type DemoStudent, type Shot } from './plan.ts'
import { clipSound } from './sound.ts'
import { clipTruth, pointsFile, swingTruth, timescale, type ClipTruth, type SwingTruth } from './truth.ts'

export type { DemoStudent } from './plan.ts'
export type { ClipEvent, ClipTruth, SwingTruth } from './truth.ts'

export interface DemoClip {
  readonly id: string
  readonly path: string
  readonly truthPath: string
  readonly studentId: string
  readonly swingId: string
  readonly view: 'face-on' | 'down-the-line'
  readonly handedness: 'right' | 'left'
  readonly widthPx: number
  readonly heightPx: number
  readonly captureRate: number
  readonly playRate: number
  readonly timescale: number
  readonly frames: number
  readonly events: ClipTruth['events']
}
/** `events` in seconds from the takeaway. */
export interface DemoSwing {
  readonly id: string
  readonly studentId: string
  readonly events: SwingEvents
  readonly truth: SwingTruth
  readonly clipIds: readonly string[]
}
/** Two clips that belong together, and the points file for both. */
export interface DemoPair {
  readonly id: string
  readonly studentId: string
  readonly clipIds: readonly string[]
  readonly sameSwing: boolean
  readonly pointsPath: string
}
export interface DemoKit {
  readonly folder: string
  readonly students: readonly DemoStudent[]
  readonly swings: readonly DemoSwing[]
  readonly pairs: readonly DemoPair[]
  readonly clips: readonly DemoClip[]
}

export interface DemoKitOptions {
  /** Frames filmed of all frames. */
  readonly onProgress?: (progress: { readonly done: number; readonly total: number }) => void
  readonly signal?: AbortSignal
  /** Size against 1080 x 1920; .5 makes a small kit quickly. */
  readonly scale?: number
  /** Length of each clip in real time, 2.6 s unless told; shorter ones keep top and impact. At least .8. */
  readonly seconds?: number
  readonly workers?: number
  /** Which clips, by their id; all unless told. */
  readonly only?: readonly string[]
}

/**
 * Makes the demo kit in `folder`: clips with sound, the truth beside each, a points file for each pair. The same call gives the same pictures.
 * Rejects with the signal's reason when aborted; then, as after any failure, nothing that this call wrote stays behind.
 */
export async function makeDemoKit(folder: string, options: DemoKitOptions = {}): Promise<DemoKit> {
  const scale = options.scale ?? 1
  if (!(scale > 0 && scale <= 1)) throw new RangeError(`The demo's size must be more than 0 and at most 1, not ${scale}.`)
  if (options.seconds !== undefined && !(options.seconds >= 0.8 && options.seconds <= 4))
    throw new RangeError(`A demo clip lasts .8 to 4 seconds, not ${options.seconds}.`)
  const shots = demoShots(options.seconds === undefined ? {} : { seconds: options.seconds }).filter(
    (shot) => !options.only || options.only.includes(shot.id),
  )
  if (shots.length === 0) throw new RangeError('No clip of the demo has such a name.')
  options.signal?.throwIfAborted()
  await mkdir(folder, { recursive: true })
  const written = new Set<string>()
  const open = new Map<Shot, ClipFile>()
  const truths = new Map(shots.map((shot) => [shot, clipTruth(shot, scale)]))
  const total = shots.reduce((sum, shot) => sum + shot.frames, 0)
  let done = 0
  try {
    for (const shot of shots) written.add(partOf(folder, shot))
    await filmAll(shots, {
      workers: options.workers ?? Math.max(1, Math.min(2, availableParallelism())),
      scale,
      signal: options.signal,
      onFrame: async (shot, index, planes) => {
        const truth = truths.get(shot)!
        if (index === 0) open.set(shot, await ClipFile.open(partOf(folder, shot), { ...truth, timescale }))
        await open.get(shot)!.frame(planes)
        done++
        options.onProgress?.({ done, total })
      },
      onClip: async (shot) => {
        await finish(open.get(shot)!, shot, truths.get(shot)!)
        open.delete(shot)
      },
    })
    for (const shot of shots) {
      const path = join(folder, shot.fileName)
      await rename(partOf(folder, shot), path)
      written.add(path)
      written.add(truthPathOf(folder, shot))
      await writeFile(truthPathOf(folder, shot), JSON.stringify(truths.get(shot)))
    }
    const kit = assemble(folder, shots, truths)
    for (const pair of kit.pairs) {
      written.add(pair.pointsPath)
      const parts = shots.filter((shot) => pair.clipIds.includes(shot.id)).map((shot) => truths.get(shot)!)
      await writeFile(pair.pointsPath, JSON.stringify(pointsFile(parts, pair.sameSwing)))
    }
    return kit
  } catch (error) {
    for (const file of open.values()) await file.drop()
    for (const path of written) await rm(path, { force: true })
    throw error
  }
}

const partOf = (folder: string, shot: Shot): string => join(folder, `${shot.id}.part`)
const truthPathOf = (folder: string, shot: Shot): string => join(folder, `${shot.id}.truth.json`)

async function finish(file: ClipFile, shot: Shot, truth: ClipTruth): Promise<void> {
  const slow = shot.captureRate / shot.playRate
  const impact = truth.events.impact
  const seed = [...shot.id].reduce((sum, letter) => (sum * 31 + letter.codePointAt(0)!) | 0, 7)
  await file.sound(clipSound(shot.frames / shot.playRate, impact ? impact.tick / timescale : null, slow, seed))
  await file.close()
}

function assemble(folder: string, shots: readonly Shot[], truths: ReadonlyMap<Shot, ClipTruth>): DemoKit {
  const clips = shots.map((shot): DemoClip => {
    const truth = truths.get(shot)!
    return {
      id: shot.id,
      path: join(folder, shot.fileName),
      truthPath: truthPathOf(folder, shot),
      studentId: shot.student,
      swingId: shot.swing,
      view: truth.view,
      handedness: truth.handedness,
      widthPx: truth.widthPx,
      heightPx: truth.heightPx,
      captureRate: shot.captureRate,
      playRate: shot.playRate,
      timescale,
      frames: shot.frames,
      events: truth.events,
    }
  })
  const firstOf = (of: (shot: Shot) => string) => shots.filter((shot, i) => shots.findIndex((other) => of(other) === of(shot)) === i)
  const swings = firstOf((shot) => shot.swing).map((shot): DemoSwing => {
    const swing = swingOf(shot.spec)
    return {
      id: shot.swing,
      studentId: shot.student,
      events: eventsOf(swing),
      truth: swingTruth(swing),
      clipIds: shots.filter((other) => other.swing === shot.swing).map((other) => other.id),
    }
  })
  const pairs = firstOf((shot) => shot.pair).map((shot): DemoPair => {
    const parts = shots.filter((other) => other.pair === shot.pair)
    return {
      id: shot.pair,
      studentId: shot.student,
      clipIds: parts.map((part) => part.id),
      sameSwing: parts.every((part) => part.swing === shot.swing),
      pointsPath: join(folder, `${shot.student}.points.json`),
    }
  })
  return { folder, students: demoStudents.filter((one) => shots.some((shot) => shot.student === one.id)), swings, pairs, clips }
}
