/**
 * What a hand-off costs against a bare encode in the same run: the same encoder, size, preset and threads, as many
 * pictures, which lie in memory ready to be encoded, nothing decoded, scaled or drawn. And against the same encode with
 * the lesson's frames decoded beside it and thrown away. Twin lessons at 1080p30 that move all the time and carry marks.
 * All are done in turns, several times; medians are printed. What a lesson costs once, opening its clips and levelling
 * its sound and starting its threads, weighs more in these few seconds than in a lesson of minutes.
 *
 *     node tests/speed/handoff.ts [SECONDS] [ROUNDS] [PART OF A SCENARIO'S NAME]
 */
import { spawnSync } from 'node:child_process'
import { mkdtemp, rm } from 'node:fs/promises'
import { availableParallelism, loadavg, tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Frame } from 'node-av'
import { taskEnvironment } from '../../electron/desk/taskEnvironment.ts'
import { Composer } from '../../electron/handoff/composer.ts'
import { openHandoffEncoder } from '../../electron/handoff/handoffVideo.ts'
import { openClips, probedClips } from '../../electron/handoff/openClips.ts'
import { newPicture } from '../../electron/handoff/planes.ts'
import { renderHandoff } from '../../electron/handoff/renderHandoff.ts'
import { addEncodedTrack } from '../../electron/media/encoders.ts'
import { openFileWriter } from '../../electron/media/fileWriter.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { paneViews } from '../../shared/picture/views.ts'
import { stateAt, type Log, type LogRow } from '../../shared/walkthrough/log.ts'
import type { Instant } from '../../shared/walkthrough/programme.ts'
import { emptyPane } from '../../shared/walkthrough/stage.ts'
import { lesson, mark, stageClip, talk, wholeTake, writeWav } from '../fixtures/lesson.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

// The desk renders in a process with this environment, which is read when a process begins.
if (Object.entries(taskEnvironment).some(([name, value]) => process.env[name] !== value)) {
  process.exit(spawnSync(process.execPath, process.argv.slice(1), { env: { ...process.env, ...taskEnvironment }, stdio: 'inherit' }).status ?? 1)
}

const seconds = Number(process.argv[2] ?? 20)
const rounds = Number(process.argv[3] ?? 3)
const only = process.argv[4] ?? ''
const fps = 30
const frames = seconds * fps
/** Of each made clip, which is looped. */
const clipSeconds = 4
const size = { width: 1920, height: 1080 }
const threads = availableParallelism()
const folder = await mkdtemp(join(tmpdir(), 'crossbearing-speed-'))

interface Scenario {
  readonly name: string
  /** Of the clips, frames a second. */
  readonly rate: number
  readonly pace: number
  readonly rotate?: 0 | 90
  readonly zoom?: number
  readonly mirror?: boolean
  /** 1920x1080 in place of 1080x1920. */
  readonly wide?: boolean
}
const scenarios: readonly Scenario[] = [
  { name: '30 a second at full speed', rate: 30, pace: 1 },
  { name: '60 a second at a quarter', rate: 60, pace: 0.25 },
  { name: '60 a second at full speed', rate: 60, pace: 1 },
  { name: '60 a second at half speed, turned by the player', rate: 60, pace: 0.5, rotate: 90 },
  { name: '60 a second at half speed, zoomed in and mirrored', rate: 60, pace: 0.5, zoom: 1.37, mirror: true },
  { name: '30 a second at full speed, wide', rate: 30, pace: 1, wide: true },
]

interface Cost {
  /** Milliseconds a frame. */
  readonly wall: number
  /** Time of all cores, milliseconds a frame. */
  readonly cpu: number
}

async function cost(work: () => Promise<unknown>): Promise<Cost> {
  const start = performance.now()
  const used = process.cpuUsage()
  await work()
  const { user, system } = process.cpuUsage(used)
  return { wall: (performance.now() - start) / frames, cpu: (user + system) / 1000 / frames }
}

const middle = (values: readonly number[]): number => values.toSorted((a, b) => a - b)[values.length >> 1]!
const medians = (costs: readonly Cost[]): Cost => ({ wall: middle(costs.map(({ wall }) => wall)), cpu: middle(costs.map(({ cpu }) => cpu)) })

type Clips = Record<string, { path: string }>

/** The same without marks. */
const unmarked = (log: Log): Log => ({ ...log, header: { ...log.header, initial: { ...log.header.initial, marks: {} } }, rows: log.rows.filter(([, event]) => event.type === 'play') })

const instantOf = (log: Log, n: number): Instant => ({ kind: 'stage', stage: stateAt(log, (n / fps) * 1000), clips: log.header.clips })

/** The lesson's own pictures without marks, in memory. A hundred are kept and run to and fro. */
async function decodedSources(log: Log, clips: Clips): Promise<Frame[]> {
  const kept: Frame[] = []
  await using open = openClips(await probedClips(log.header.clips, clips))
  using composer = new Composer(size, open.frame)
  for (let n = 0; n < 100; n++) {
    const picture = newPicture(size)
    picture.copy(await composer.compose(instantOf(log, n)))
    kept.push(picture)
  }
  return kept
}

/** @param meanwhile what else is done for each picture, before the next is begun */
async function bareEncode(kept: readonly Frame[], meanwhile?: (n: number) => Promise<void>): Promise<void> {
  await using output = openFileWriter(join(folder, 'bare.mp4'), 'mp4')
  using video = addEncodedTrack(output, await openHandoffEncoder({ ...size, fps, threads }), fps, (packet) => (packet.duration = 1n))
  await output.start({ movflags: '+faststart' })
  for (let n = 0; n < frames; n++) {
    const at = n % 198
    const frame = kept[at < 100 ? at : 198 - at]!
    frame.pts = BigInt(n)
    await Promise.all([video.write(frame), meanwhile?.(n)])
  }
  await video.write(null)
  await output.finish()
}

/** The same with the lesson's frames decoded beside it and thrown away. */
async function decodeAndEncode(kept: readonly Frame[], log: Log, clips: Clips): Promise<void> {
  await using open = openClips(await probedClips(log.header.clips, clips))
  await bareEncode(kept, async (n) => {
    const { stage } = instantOf(log, n) as Extract<Instant, { kind: 'stage' }>
    const views = paneViews({ size, stage, clips: log.header.clips })
    for (const held of await Promise.all(views.map(({ clipId, frame, place }) => open.frame(clipId, frame, place.transform.a < 0)))) held[Symbol.dispose]()
  })
}

/** Marks that stay, a pointer that wanders now and then, a line that is drawn out. */
function movingMarks(): LogRow[] {
  const rows: LogRow[] = []
  for (let ms = 1000; ms < seconds * 1000; ms += 33) {
    if (ms % 4000 < 1500) rows.push([ms, { type: 'pointer', pointer: { pane: 0, at: imagePoint(400 + 200 * Math.sin(ms / 300), 900 + 200 * Math.cos(ms / 300)) } }])
    else if (ms % 4000 < 2500) rows.push([ms, { type: 'draft', draft: mark('draft', 'right', { points: [imagePoint(200, 400), imagePoint(200 + (ms % 4000) / 5, 1400)] }) }])
  }
  return rows
}

async function makeClips({ rate, rotate = 0, wide = false }: Scenario): Promise<Clips> {
  const clips: Clips = {}
  for (const id of ['left', 'right']) {
    clips[id] = { path: join(folder, `${id}-${rate}-${rotate}-${wide}.mp4`) }
    await makeNumberedClip(clips[id].path, { width: wide ? 1920 : 1080, height: wide ? 1080 : 1920, frames: clipSeconds * rate, fps: rate, gop: rate, rotate, texture: true })
  }
  return clips
}

try {
  await writeWav(join(folder, 'talk.wav'), talk(seconds))
  const made = new Map<string, Clips>()
  for (const scenario of scenarios.filter(({ name }) => name.includes(only))) {
    const { name, rate, pace, rotate = 0, zoom = 1, mirror = false, wide = false } = scenario
    const key = `${rate} ${rotate} ${wide}`
    const clips = made.get(key) ?? await makeClips(scenario)
    made.set(key, clips)
    const stageClips = await Promise.all(['left', 'right'].map((id) => stageClip(id, clips[id]!.path)))
    const pane = (clipId: string) => ({ ...emptyPane, clipId, zoom, mirror: mirror && clipId === 'right' })
    const log = lesson(stageClips, [[0, { type: 'play', motion: { rate: pace, moving: 'both', loop: { from: 0, to: stageClips[0]!.frames.endTick } } }], ...movingMarks()], {
      panes: [pane('left'), pane('right')],
      marks: {
        shaft: mark('shaft', 'left', { shape: 'line', points: [imagePoint(300, 300), imagePoint(800, 1500)], ink: 'club' }),
        elbow: mark('elbow', 'right', { shape: 'angle', points: [imagePoint(300, 700), imagePoint(500, 1000), imagePoint(800, 700)], text: 'Trail elbow' }),
        head: mark('head', 'right', { shape: 'box', points: [imagePoint(430, 300), imagePoint(640, 540)], ink: 'head' }),
      },
    })
    const sources = await decodedSources(unmarked(log), clips)
    const out = join(folder, 'out.mp4')
    let bytes = 0
    const [bare, whole, decoded]: [Cost[], Cost[], Cost[]] = [[], [], []]
    for (let round = 0; round < rounds; round++) {
      bare.push(await cost(() => bareEncode(sources)))
      whole.push(await cost(async () => {
        const result = await renderHandoff({ ...await wholeTake(log, join(folder, 'talk.wav')), clips, settings: { size: '1080p', orientation: 'landscape', fps, title: '' }, out })
        bytes = result.bytes
      }))
      decoded.push(await cost(() => decodeAndEncode(sources, unmarked(log), clips)))
    }
    bare.push(await cost(() => bareEncode(sources)))
    for (const frame of sources) frame.free()
    // Each against the mean of the encodes just before and after it: other work on the machine comes and goes.
    const beside = (round: number, part: keyof Cost): number => (bare[round]![part] + bare[round + 1]![part]) / 2
    const each = (costs: readonly Cost[]): string => {
      const { wall, cpu } = medians(costs)
      return `${wall.toFixed(1)} ms a frame (${cpu.toFixed(1)} of all cores)`
    }
    const ratios = (of: (round: number) => number): string => {
      const values = whole.map((_, round) => of(round))
      return `${middle(values).toFixed(2)} (${values.map((value) => value.toFixed(2)).join(', ')})`
    }
    console.log(`twin ${stageClips[0]!.width}x${stageClips[0]!.height}, ${name}, to 1080p30: ${frames} frames, ${(bytes / 1e6).toFixed(1)} MB; load ${loadavg()[0]!.toFixed(1)} on ${threads} cores`)
    console.log(`  hand-off           ${each(whole)}`)
    console.log(`  bare encode        ${each(bare)}`)
    console.log(`  and decoding       ${each(decoded)}`)
    console.log(`  wall ratio to the bare encode      ${ratios((i) => whole[i]!.wall / beside(i, 'wall'))}; at most 1.5 is wanted`)
    console.log(`  wall ratio to decoding and encode  ${ratios((i) => whole[i]!.wall / decoded[i]!.wall)}`)
    console.log(`  all cores' time to the bare encode ${ratios((i) => whole[i]!.cpu / beside(i, 'cpu'))}; to decoding and encode ${ratios((i) => whole[i]!.cpu / decoded[i]!.cpu)}`)
  }
} finally {
  await rm(folder, { recursive: true, force: true })
}
