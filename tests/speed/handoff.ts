/**
 * What a hand-off costs against a bare encode in the same run: the same encoder, size, preset and threads, as many
 * pictures, which lie in memory ready to be encoded, nothing decoded, scaled or drawn. A twin lesson at 1080p30 that moves
 * all the time and carries marks; once as filmed at 30 a second and once at 60 slowed to a quarter.
 *
 *     node tests/speed/handoff.ts [SECONDS]
 */
import { mkdtemp, rm } from 'node:fs/promises'
import { availableParallelism, tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Frame } from 'node-av'
import { Composer } from '../../electron/handoff/composer.ts'
import { addHandoffVideo } from '../../electron/handoff/handoffVideo.ts'
import { openClips } from '../../electron/handoff/openClips.ts'
import { copyPlanes, newPicture, planesOf } from '../../electron/handoff/planes.ts'
import { renderHandoff } from '../../electron/handoff/renderHandoff.ts'
import { openFileWriter } from '../../electron/media/fileWriter.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { stateAt, type Log, type LogRow } from '../../shared/walkthrough/log.ts'
import { lesson, mark, stageClip, talk, writeWav } from '../fixtures/lesson.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

const seconds = Number(process.argv[2] ?? 8)
const fps = 30
const size = { width: 1920, height: 1080 }
const threads = availableParallelism()
const folder = await mkdtemp(join(tmpdir(), 'crossbearing-speed-'))

interface Cost {
  readonly wall: number
  readonly cpu: number
}

/** Wall time and time of all cores, milliseconds. */
async function cost(work: () => Promise<void>): Promise<Cost> {
  const start = performance.now()
  const used = process.cpuUsage()
  await work()
  const { user, system } = process.cpuUsage(used)
  return { wall: performance.now() - start, cpu: (user + system) / 1000 }
}

/** The lesson's own pictures without marks, encoded from memory. A hundred are kept and run to and fro. */
async function bareEncode(log: Log, clips: Record<string, { path: string }>): Promise<{ encode: Cost; decode: Cost }> {
  const kept: Frame[] = []
  const bare = { ...log, header: { ...log.header, initial: { ...log.header.initial, marks: {} } }, rows: log.rows.filter(([, event]) => event.type === 'play') }
  {
    await using open = await openClips(bare, clips, size)
    using composer = new Composer(size, bare.header.clips, open.frame)
    for (let n = 0; n < 100; n++) {
      const picture = newPicture(size)
      copyPlanes(planesOf(await composer.compose(stateAt(bare, (n / fps) * 1000))), planesOf(picture))
      kept.push(picture)
    }
  }
  const encode = await cost(async () => {
    await using output = openFileWriter(join(folder, 'bare.mp4'), 'mp4')
    using video = await addHandoffVideo(output, { ...size, fps, threads })
    await output.start({ movflags: '+faststart' })
    for (let n = 0; n < seconds * fps; n++) {
      const at = n % 198
      await video.write(kept[at < 100 ? at : 198 - at]!, n)
    }
    await video.write(null, 0)
    await output.finish()
  })
  for (const frame of kept) frame.free()
  // And decoding alone, of the frames that the lesson asks for.
  const decode = await cost(async () => {
    await using open = await openClips(bare, clips, size)
    using composer = new Composer(size, bare.header.clips, open.frame)
    for (let n = 0; n < seconds * fps; n++) await composer.prepare(stateAt(bare, (n / fps) * 1000))
  })
  return { encode, decode }
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

try {
  await writeWav(join(folder, 'talk.wav'), talk(seconds))
  for (const [name, rate, pace] of [['30 a second at full speed', 30, 1], ['60 a second at a quarter', 60, 0.25], ['60 a second at full speed', 60, 1]] as const) {
    const clips: Record<string, { path: string }> = {}
    for (const id of ['left', 'right']) {
      clips[id] = { path: join(folder, `${id}-${rate}.mp4`) }
      await makeNumberedClip(clips[id].path, { width: 1080, height: 1920, frames: Math.ceil(seconds * rate * pace) + 2, fps: rate, gop: rate, texture: true })
    }
    const stageClips = await Promise.all(['left', 'right'].map((id) => stageClip(id, clips[id]!.path)))
    const log = lesson(stageClips, [[0, { type: 'play', motion: { rate: pace, moving: 'both', loop: null } }], ...movingMarks()], {
      marks: {
        shaft: mark('shaft', 'left', { shape: 'line', points: [imagePoint(300, 300), imagePoint(800, 1500)], ink: 'club' }),
        elbow: mark('elbow', 'right', { shape: 'angle', points: [imagePoint(300, 700), imagePoint(500, 1000), imagePoint(800, 700)], text: 'Trail elbow' }),
        head: mark('head', 'right', { shape: 'box', points: [imagePoint(430, 300), imagePoint(640, 540)], ink: 'head' }),
      },
    })
    const bare = await bareEncode(log, clips)
    const out = join(folder, 'out.mp4')
    let made = { frames: 0, bytes: 0 }
    const whole = await cost(async () => {
      made = await renderHandoff({ log, soundPath: join(folder, 'talk.wav'), clips, settings: { size: '1080p', orientation: 'landscape', fps, title: '' }, out })
    })
    const again = await bareEncode(log, clips)
    const encode = { wall: (bare.encode.wall + again.encode.wall) / 2, cpu: (bare.encode.cpu + again.encode.cpu) / 2 }
    const each = ({ wall, cpu }: Cost): string => `${(wall / made.frames).toFixed(1)} ms a frame (${(cpu / made.frames).toFixed(1)} of all cores)`
    console.log(`twin 1080x1920, ${name}, to 1080p30: ${made.frames} frames, ${(made.bytes / 1e6).toFixed(1)} MB`)
    console.log(`  hand-off      ${each(whole)}, ${((made.frames / whole.wall) * 1000).toFixed(0)} frames a second`)
    console.log(`  bare encode   ${each(encode)}; before ${(bare.encode.wall / made.frames).toFixed(1)}, after ${(again.encode.wall / made.frames).toFixed(1)}`)
    console.log(`  decoding only ${each(bare.decode)}`)
    console.log(`  ratio to the bare encode ${(whole.wall / encode.wall).toFixed(2)} (of all cores' time ${(whole.cpu / encode.cpu).toFixed(2)}; at most 1.5 is wanted); to decoding, then encoding ${(whole.wall / (encode.wall + bare.decode.wall)).toFixed(2)}`)
  }
} finally {
  await rm(folder, { recursive: true, force: true })
}
