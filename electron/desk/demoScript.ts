import { randomUUID } from 'node:crypto'
import type { Clip } from '../../shared/contract/clip.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { meanings, type Mark, type Meaning } from '../../shared/markup/mark.ts'
import type { LogRow } from '../../shared/walkthrough/log.ts'
import { frameAt, ticksPerRealSecond, tickOf } from '../../shared/walkthrough/motion.ts'
import type { DemoClip } from './demo/kit.ts'
import type { ClipTruth } from './demo/truth.ts'

/** A clip of the kit as it was taken in, with what is true of it. */
export interface TrueClip {
  readonly clip: Clip
  readonly made: DemoClip
  readonly truth: Pick<ClipTruth, 'frames' | 'events'>
}

/** One thing said and what is done meanwhile, from `at` to `end` in milliseconds. */
export interface Beat {
  readonly chapter: string
  readonly words: string
  /** The beat lasts this long at least, seconds. */
  readonly least: number
  readonly act: (at: number, end: number) => LogRow[]
}

/** Tick of the frame that shows the instant `seconds` after the strike, in real time. */
export function tickFromImpact({ clip, truth }: TrueClip, seconds: number): number {
  const impact = tickOf(clip.frames, truth.events.impact!.frame)
  return tickOf(clip.frames, frameAt(clip.frames, impact + seconds * ticksPerRealSecond(clip) + 1e-6))
}

/** A true point of a clip at a tick, in image space. */
function pointAt({ clip, truth }: TrueClip, name: string, tick: number) {
  const pixel = truth.frames[frameAt(clip.frames, tick)]?.pixel[name]
  if (!pixel) throw new RangeError(`The demo's ${name} is not in the picture of ${clip.fileName}.`)
  return imagePoint(pixel[0], pixel[1])
}

const drawMs = 700
const stepMs = 40

/** Draws a mark as a hand does: its last point runs out from the first, then it stands. */
function drawn(mark: Mark, at: number): LogRow[] {
  const [from, to] = [mark.points[0]!, mark.points.at(-1)!]
  const rows: LogRow[] = []
  for (let ms = stepMs; ms < drawMs; ms += stepMs) {
    const share = ms / drawMs
    const reached = imagePoint(from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share)
    rows.push([at + ms, { type: 'draft', draft: { ...mark, points: [...mark.points.slice(0, -1), reached] } }])
  }
  return [
    ...rows,
    [at + drawMs, { type: 'marks', diff: { added: { [mark.id]: mark }, updated: {}, removed: {} } }],
    [at + drawMs, { type: 'draft', draft: null }],
  ]
}

function markOf(meaning: Meaning, clip: Clip, points: Mark['points'], span: Mark['span'], order: number, text = ''): Mark {
  const { shape, ink } = meanings[meaning]
  return { id: randomUUID(), clipId: clip.id, shape, meaning, points, text, span, ink, weight: 5, dashed: false, hidden: false, order }
}

/** The pointer going from one point to another and back, then away. */
function pointing(pane: 0 | 1, a: Mark['points'][number], b: Mark['points'][number], from: number, to: number): LogRow[] {
  const rows: LogRow[] = []
  for (let at = from; at < to; at += stepMs) {
    const share = (1 - Math.cos(((at - from) / (to - from)) * 4 * Math.PI)) / 2
    rows.push([at, { type: 'pointer', pointer: { pane, at: imagePoint(a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share) } }])
  }
  return [...rows, [to, { type: 'pointer', pointer: null }]]
}

/** A pane drawn up to the player: the whole swing stays in it. */
export function closeUp(seen: TrueClip, tick: number): { zoom: number; centre: Mark['points'][number] } {
  const crown = pointAt(seen, 'crown', tick)
  const ankle = pointAt(seen, 'leadAnkle', tick)
  const stature = ankle[1] - crown[1]
  return {
    zoom: Math.min(3, Math.max(1, (seen.clip.height * 0.62) / stature)),
    centre: imagePoint((crown[0] + ankle[0]) / 2, crown[1] + stature * 0.42),
  }
}

/** The scripted lesson: what is said, and what is done to the panes and marks. Also the marks that stay with the clips. */
export function demoScript(faceOn: TrueClip, downTheLine: TrueClip): { beats: Beat[]; marks: Mark[]; startTicks: [number, number] } {
  const { truth } = faceOn
  const toTop = truth.events.top!.t - truth.events.impact!.t
  const before = Math.min(
    ...[faceOn, downTheLine].map(
      ({ clip, truth: { events } }) => (tickOf(clip.frames, events.impact!.frame) - clip.frames.ticks[0]!) / ticksPerRealSecond(clip),
    ),
  )
  const after = Math.min(
    ...[faceOn, downTheLine].map(
      ({ clip, truth: { events } }) => (clip.frames.ticks.at(-1)! - tickOf(clip.frames, events.impact!.frame)) / ticksPerRealSecond(clip),
    ),
  )
  const ticksAt = (seconds: number): [number, number] => [tickFromImpact(faceOn, seconds), tickFromImpact(downTheLine, seconds)]
  const start = -Math.min(before, -toTop + 0.95)
  const end = Math.min(after, 0.35)
  const [, topRight] = ticksAt(toTop)
  const [startLeft] = ticksAt(start)
  const atTop = { from: topRight, to: topRight }

  const shaft = markOf(
    'shaft-line',
    downTheLine.clip,
    [pointAt(downTheLine, 'butt', topRight), pointAt(downTheLine, 'shaftEnd', topRight)],
    atTop,
    1,
  )
  const elbow = markOf(
    'elbow-line',
    downTheLine.clip,
    [pointAt(downTheLine, 'trailShoulder', topRight), pointAt(downTheLine, 'trailElbow', topRight)],
    atTop,
    2,
  )
  const head = pointAt(faceOn, 'head', startLeft)
  const crown = pointAt(faceOn, 'crown', startLeft)
  const half = Math.hypot(head[0] - crown[0], head[1] - crown[1]) * 1.1
  const box = markOf(
    'head-box',
    faceOn.clip,
    [imagePoint(head[0] - half, head[1] - half), imagePoint(head[0] + half, head[1] + half)],
    null,
    3,
  )

  const run = (from: number, to: number, rate: number): Pick<Beat, 'least' | 'act'> => ({
    least: (to - from) / rate + 0.3,
    act: (at) => [
      [at, { type: 'seek', ticks: ticksAt(from) }],
      [at, { type: 'play', motion: { rate, moving: 'both', loop: null } }],
      [at + ((to - from) / rate) * 1000, { type: 'stop' }],
      [at + ((to - from) / rate) * 1000, { type: 'seek', ticks: ticksAt(to) }],
    ],
  })
  const beats: Beat[] = [
    {
      chapter: 'The two views',
      words: 'Rowan, here is your swing from two phones at once. The pictures are tied at the strike, so both show the same instant.',
      least: 1,
      act: () => [],
    },
    {
      chapter: 'Going back',
      words: 'A box round your head first. Then up to the top, at a quarter of the speed.',
      least: 1,
      act: (at) => drawn(box, at + 300),
    },
    { chapter: 'To the top', words: 'Watch the club, and watch how far your head leaves the box.', ...run(start, toTop, 0.25) },
    {
      chapter: 'The shaft',
      words: 'This is the line of your shaft at the top. From here it points across the target line.',
      least: 1.5,
      act: (at) => drawn(shaft, at + 200),
    },
    {
      chapter: 'A look or a fact',
      words: 'Part of that is the camera, which stands a little toward the ball. The rest is real.',
      least: 1,
      act: () => [],
    },
    {
      chapter: 'The cause',
      words: 'And this is where it comes from. Your trail elbow has turned out behind you, and it takes the shaft along.',
      least: 1.5,
      act: (at, to) => [...drawn(elbow, at + 200), ...pointing(1, elbow.points[0]!, elbow.points[1]!, at + 1200, to)],
    },
    { chapter: 'Through the ball', words: 'Now down and through, slower still.', ...run(toTop, end, 0.125) },
    {
      chapter: 'What to do',
      words: 'Keep the elbow under your hands on the way back. Ten slow ones a day, then film three more from the same place.',
      least: 1,
      act: () => [],
    },
  ]
  return { beats, marks: [shaft, elbow, box], startTicks: ticksAt(start) }
}
