import { mkdir, readFile, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Job } from '../../shared/contract/job.ts'
import type { Input } from '../../shared/contract/operations.ts'
import type { LogRow } from '../../shared/walkthrough/log.ts'
import { emptyPane, emptyStage, type StageClip } from '../../shared/walkthrough/stage.ts'
import type { Swing } from '../../shared/contract/student.ts'
import { MediaClient } from '../media/mediaClient.ts'
import type { OpenDesk } from './createDesk.ts'
import type { DemoClip, DemoKit } from './demo/kit.ts'
import { speak, voiceRate } from './demo/voice.ts'
import { demoPurpose } from './demoJob.ts'
import { closeUp, demoScript, type Beat, type TrueClip } from './demoScript.ts'
import { jpegOf } from './demoStills.ts'

export interface DemoLesson {
  readonly video: string
  readonly stills: readonly string[]
  readonly report: string
  readonly walkthroughId: string
}
export interface DemoLessonOptions {
  readonly desk: OpenDesk
  readonly kit: DemoKit
  readonly out: string
  readonly settings: Input<'handoff.start'>['settings']
  readonly signal: AbortSignal
  readonly say: (line: string) => void
  /** Waits for jobs to come to their end, saying how they stand. */
  readonly wait: (ids: readonly string[]) => Promise<readonly Job[]>
}

/**
 * The whole job without a window, through the desk's own operations: the demo's students, clips, ties and points, then marks, a recorded walkthrough with a
 * synthesised voice, hand-off; then stills of the finished video and a short report.
 */
export async function makeDemoLesson(options: DemoLessonOptions): Promise<DemoLesson> {
  const { desk, kit, out, settings, signal, say, wait } = options
  const began = performance.now()
  const { faceOn, downTheLine, swing } = await installDemo(options)
  const { beats, marks, startTicks } = demoScript(faceOn, downTheLine)
  await desk.call('marks.apply', { diff: { added: Object.fromEntries(marks.map((mark) => [mark.id, mark])), updated: {}, removed: {} } })

  say('Speaking the lesson')
  const { sound, rows, chapters } = await perform(beats, signal)
  const stageClips = [faceOn, downTheLine].map(
    ({ clip: { id, view, handedness, width, height, frames, captureRate, playRate } }): StageClip => ({
      id,
      view,
      handedness,
      width,
      height,
      frames,
      captureRate,
      playRate,
    }),
  )
  const walkthrough = await desk.call('walkthrough.begin', {
    swingId: swing.id,
    studentId: swing.studentId,
    title: settings.title,
    sampleRate: voiceRate,
    header: {
      format: 'crossbearing-walkthrough',
      version: 1,
      clips: Object.fromEntries(stageClips.map((clip) => [clip.id, clip])),
      initial: {
        ...emptyStage,
        panes: [
          { ...emptyPane, clipId: faceOn.clip.id, tick: startTicks[0], ...closeUp(faceOn, startTicks[0]) },
          { ...emptyPane, clipId: downTheLine.clip.id, tick: startTicks[1], ...closeUp(downTheLine, startTicks[1]) },
        ],
        tie: swing.tie,
      },
    },
  })
  await record(desk, walkthrough.id, sound, rows, signal)
  const whole = await desk.call('walkthrough.finish', { id: walkthrough.id })
  say(`Recorded ${(whole.durationMs / 1000).toFixed(1)} s with ${rows.length} events`)

  const video = join(out, 'lesson.mp4')
  const { job } = await desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: video })
  done(await wait([job.id]))
  const stills = await takeStills(video, chapters, join(out, 'stills'), settings.fps, signal)
  const report = join(out, 'report.md')
  await writeFile(
    report,
    reportOf({
      kit,
      faceOn,
      downTheLine,
      tie: swing.tie!,
      chapters,
      seconds: whole.durationMs / 1000,
      rows: rows.length,
      marks: marks.length,
      took: (performance.now() - began) / 1000,
      settings,
    }),
  )
  return { video, stills, report, walkthroughId: walkthrough.id }
}

function done(jobs: readonly Job[]): void {
  for (const { state, fault, title } of jobs) {
    if (fault) throw DeskError.from(fault)
    if (state !== 'done') throw new DeskError('cancelled', `${title} was cancelled.`)
  }
}

/** Puts the demo into the library, the same as a window does, and picks the swing that two phones saw. */
async function installDemo({ desk, kit, wait }: DemoLessonOptions): Promise<{ faceOn: TrueClip; downTheLine: TrueClip; swing: Swing }> {
  done(await wait([(await desk.call('demo.install', {})).id]))
  const pair = kit.pairs.find((one) => one.sameSwing && kit.students.some(({ id, role }) => id === one.studentId && role === 'student'))!
  const names = kit.students.find(({ id }) => id === pair.studentId)!
  const student = (await desk.call('student.list', {})).find(({ name, consent }) => name === names.name && consent.purpose === demoPurpose)
  const swing = (await desk.call('swing.list', {})).find(({ studentId }) => student !== undefined && studentId === student.id)
  if (!swing?.tie || swing.leftClipId === null || swing.rightClipId === null) throw new DeskError('internal', 'The two clips of the demo were not paired.')
  const trueClip = async (view: DemoClip['view'], id: string): Promise<TrueClip> => {
    const made = kit.clips.find((clip) => clip.view === view && pair.clipIds.includes(clip.id))!
    return { made, clip: await desk.call('clip.get', { id }), truth: JSON.parse(await readFile(made.truthPath, 'utf8')) as TrueClip['truth'] }
  }
  return { faceOn: await trueClip('face-on', swing.leftClipId), downTheLine: await trueClip('down-the-line', swing.rightClipId), swing }
}

interface Chapter {
  readonly title: string
  readonly at: number
  readonly end: number
}

/** Speaks each beat and lays it after the one before; the acts run on the sound's clock. */
async function perform(beats: readonly Beat[], signal: AbortSignal): Promise<{ sound: Int16Array; rows: LogRow[]; chapters: Chapter[] }> {
  const pieces: Float32Array[] = []
  const rows: LogRow[] = []
  const chapters: Chapter[] = []
  let samples = 0
  for (const { chapter, words, least, act } of beats) {
    signal.throwIfAborted()
    const speech = await speak(words, { leadS: 0.15, tailS: 0.45 })
    const length = Math.max(speech.samples.length, Math.ceil(least * voiceRate))
    const at = (samples / voiceRate) * 1000
    const end = ((samples + length) / voiceRate) * 1000
    const piece = new Float32Array(length)
    piece.set(speech.samples)
    pieces.push(piece)
    chapters.push({ title: chapter, at, end })
    rows.push([at, { type: 'chapter', title: chapter }], ...act(at, end))
    samples += length
  }
  const sound = new Int16Array(samples)
  let at = 0
  for (const piece of pieces) for (const value of piece) sound[at++] = Math.round(Math.max(-1, Math.min(1, value)) * 32_767)
  return { sound, rows, chapters }
}

/** Hands the recording over piece by piece, as the recorder of a window does. */
async function record(desk: OpenDesk, id: string, sound: Int16Array, rows: readonly LogRow[], signal: AbortSignal): Promise<void> {
  const piece = voiceRate / 2
  let row = 0
  for (let at = 0; at < sound.length; at += piece) {
    signal.throwIfAborted()
    const part = sound.slice(at, at + piece)
    const until = ((at + part.length) / voiceRate) * 1000
    const first = row
    while (row < rows.length && (rows[row]![0] <= until || at + piece >= sound.length)) row++
    await desk.call('walkthrough.append', { id, at, sound: new Uint8Array(part.buffer), rows: rows.slice(first, row) })
  }
}

/** One still a chapter, from near its end, read back from the finished video. */
async function takeStills(
  video: string,
  chapters: readonly Chapter[],
  folder: string,
  fps: number,
  signal: AbortSignal,
): Promise<string[]> {
  await mkdir(folder, { recursive: true })
  const media = new MediaClient()
  try {
    const { description, index } = await media.probe(video, signal)
    const paths: string[] = []
    for (const [i, { title, end }] of chapters.entries()) {
      const frame = Math.min(index.ticks.length - 1, Math.max(0, Math.floor((end / 1000 - 0.1) * fps)))
      const path = join(folder, `${String(i + 1).padStart(2, '0')} ${title.toLowerCase()}.jpg`)
      await writeFile(path, jpegOf(await media.originalFrame({ path: video, description, index, frame })))
      paths.push(path)
    }
    return paths
  } finally {
    await media.close()
  }
}

interface ReportFacts {
  readonly kit: DemoKit
  readonly faceOn: TrueClip
  readonly downTheLine: TrueClip
  readonly tie: NonNullable<Swing['tie']>
  readonly chapters: readonly Chapter[]
  readonly seconds: number
  readonly rows: number
  readonly marks: number
  readonly took: number
  readonly settings: DemoLessonOptions['settings']
}

function reportOf({ kit, faceOn, downTheLine, tie, chapters, seconds, rows, marks, took, settings }: ReportFacts): string {
  const clipLine = ({ clip }: TrueClip) =>
    `- ${clip.fileName}: ${clip.view}, ${clip.frames.ticks.length} frames of ${clip.width} x ${clip.height}, filmed at ${clip.captureRate} a second`
  const { truth } = kit.swings.find(({ id }) => id === faceOn.made.swingId)!
  return [
    '# A lesson without a window',
    '',
    `Taken in, tied, marked, recorded and handed off in ${took.toFixed(0)} s. Nobody in it is real: the swings are computed, the voice is synthesised.`,
    '',
    '## Clips',
    clipLine(faceOn),
    clipLine(downTheLine),
    `- tied at the strike: ticks ${tie.left} and ${tie.right}`,
    '',
    '## What is true of the swing',
    `- shaft azimuth at the top ${truth.shaftAzimuthTopDeg.toFixed(1)} degrees (positive is across the line), short of level ${truth.shortOfLevelDeg.toFixed(1)} degrees`,
    `- backswing ${truth.backswingS.toFixed(3)} s, downswing ${truth.downswingS.toFixed(3)} s`,
    '',
    `## Lesson (${seconds.toFixed(1)} s, ${rows} events, ${marks} marks)`,
    ...chapters.map(({ title, at }) => `- ${(at / 1000).toFixed(1)} s: ${title}`),
    '',
    '## Files',
    `- lesson.mp4: ${settings.size}, ${settings.orientation}, ${settings.fps} pictures a second`,
    '- stills: one a chapter, read back from the video',
    '- library: opens with `npm start -- --library`',
    '- kit: the clips, the truth beside each, points files',
    '',
  ].join('\n')
}
