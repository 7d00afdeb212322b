/** Arms, a figure in the corner and a fan of misses in the video that the student gets: put on while the coach talks, there from then on. */
import { mkdtemp, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createCanvas } from '@napi-rs/canvas'
import type { Frame } from 'node-av'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { renderHandoff } from '../../electron/handoff/renderHandoff.ts'
import { usualInput } from '../../renderer/arms/face/faceState.ts'
import { missesOf } from '../../renderer/arms/face/misses.ts'
import { forward } from '../../shared/arms/forward.ts'
import { createArms } from '../../shared/arms/model.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import { isArmsRefusal, type ForwardResult } from '../../shared/arms/types.ts'
import { cameraFrom, pinhole } from '../../shared/camera/projection.ts'
import { handoffSize } from '../../shared/contract/walkthrough.ts'
import { apply } from '../../shared/geometry/affine.ts'
import { imagePoint, type Vec2, type Vec3 } from '../../shared/geometry/vec.ts'
import { armsInCorner, armsOverPicture, missesInCorner, type FigureWords } from '../../shared/markup/armsMarks.ts'
import { figureJoints, type FigureJoint } from '../../shared/markup/figure.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { inkColours } from '../../shared/picture/palette.ts'
import { paneViews } from '../../shared/picture/views.ts'
import { stateAt, type LogRow } from '../../shared/walkthrough/log.ts'
import { eachPicture, lesson, rgbAt, stageClip, talk, wholeTake, writeWav } from '../fixtures/lesson.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

const settings = { size: '720p', orientation: 'landscape', fps: 30, title: '' } as const
const size = handoffSize(settings)
let folder = ''
beforeAll(async () => { folder = await mkdtemp(join(tmpdir(), 'arms-handoff-')) })
afterAll(() => rm(folder, { recursive: true, force: true }))

const model = createArms(standardArms())
if (isArmsRefusal(model)) throw new Error(model.why)
const poseAt = (swivel: number): ForwardResult => {
  const pose = forward(model, swivel)
  if (isArmsRefusal(pose)) throw new Error(pose.why)
  return pose
}
const now = poseAt(model.swivelDeg)
const wanted = poseAt(model.swivelDeg - 12)
const words: FigureWords = {
  seen: null, rows: [{ name: 'shaft', unit: 'deg', filmed: { value: 12, sigma: 2 }, wanted: { value: 1, sigma: 3 } }], verdict: 'Elbow 4.1 cm in: shaft 11 degrees less across', limits: [], basis: 'standard body', handedness: 'right',
}

/** How many pixels of a box are about this colour. */
function inked(frame: Frame, [x0, y0, x1, y1]: readonly [number, number, number, number], hex: string): number {
  const want = [1, 3, 5].map((i) => Number.parseInt(hex.slice(i, i + 2), 16))
  let n = 0
  for (let y = Math.ceil(y0); y < y1; y++) for (let x = Math.ceil(x0); x < x1; x++) if (rgbAt(frame, x, y).every((value, k) => Math.abs(value - want[k]!) < 60)) n++
  return n
}

async function savePicture(frame: Frame, path: string): Promise<void> {
  const canvas = createCanvas(size.width, size.height)
  const ctx = canvas.getContext('2d')
  const image = ctx.createImageData(size.width, size.height)
  for (let y = 0; y < size.height; y++) for (let x = 0; x < size.width; x++) image.data.set([...rgbAt(frame, x, y), 255], 4 * (y * size.width + x))
  ctx.putImageData(image, 0, 0)
  await writeFile(path, canvas.toBuffer('image/png'))
}

test('arms over the picture, the figure on its plate and the fan are in the decoded pictures from the moment they were put there', async () => {
  const clips = { front: { path: join(folder, 'front.mp4') }, line: { path: join(folder, 'line.mp4') } }
  for (const { path } of Object.values(clips)) await makeNumberedClip(path, { width: 540, height: 960, frames: 60, fps: 30, gop: 30, preset: 'ultrafast' })
  const front = await stageClip('front', clips.front.path)
  const line = { ...await stageClip('line', clips.line.path), view: 'down-the-line' as const }
  // Each a little to the side, so that the bones do not lie over each other.
  const camera = cameraFrom(pinhole(820, imagePoint(270, 480), [0.5, 1.25, 3.6], [1, 0, -0.1], [0, -1, 0], [-0.1, 0, -1]))!
  const seen = (p: Vec3) => [200 + 100 * (p[0] + 0.35 * p[2]), 300 - 100 * p[1], -p[2]] as const
  const poses = [{ kind: 'filmed', pose: now }, { kind: 'wanted', pose: wanted }] as const
  const arms = { ...armsOverPicture(front, { from: 0, to: 0 }, camera, [{ kind: 'filmed', pose: now }], words, '', 0)!, span: null }
  const plate = { ...armsInCorner(line, { from: 0, to: 0 }, seen, poses, { ...words, seen: 'down the line' }, 1, [])!, span: null }
  const fan: Mark = { ...missesInCorner(line, null, missesOf({ ...usualInput, face: { value: 2, sigma: 1 } }, 'right'), 2, [imagePoint(500, 40), ...plate.points]), points: [imagePoint(20, 560), imagePoint(320, 940)] }
  const putAt = 800
  const rows: LogRow[] = [[putAt, { type: 'marks', diff: { added: { [arms.id]: arms, [plate.id]: plate, [fan.id]: fan }, updated: {}, removed: {} } }]]
  const log = lesson([front, line], rows, { layout: 'twin' })
  const sound = join(folder, 'talk.wav')
  await writeWav(sound, talk(1.6))
  const out = join(folder, 'lesson.mp4')
  await renderHandoff({ ...await wholeTake(log, sound), clips, settings, out })

  const views = paneViews({ size, stage: stateAt(log, 1200), clips: log.header.clips })
  const place = (clipId: string) => views.find((view) => view.clipId === clipId)!.place.transform
  const onArms = (joint: FigureJoint): Vec2 => apply(place('front'), arms.points[figureJoints.indexOf(joint)]!)
  const boxOf = (mark: Mark): [number, number, number, number] => {
    const [a, b] = mark.points.map((p) => apply(place('line'), p)) as [Vec2, Vec2]
    return [a[0], a[1], b[0], b[1]]
  }
  /** Pixels about the middle of a bone. */
  const about = (a: Vec2, b: Vec2, share = 0.5): [number, number, number, number] => {
    const [x, y] = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]
    return [x - 5, y - 5, x + 5, y + 5]
  }
  const look = (frame: Frame) => ({
    trail: inked(frame, about(onArms('trailElbow'), onArms('trailWrist')), inkColours.trail), lead: inked(frame, about(onArms('leadShoulder'), onArms('leadElbow')), inkColours.lead),
    club: inked(frame, about(onArms('butt'), onArms('clubhead'), 0.7), inkColours.club),
    plateTrail: inked(frame, boxOf(plate), inkColours.trail), plateLead: inked(frame, boxOf(plate), inkColours.lead),
    fan: inked(frame, boxOf(fan), inkColours.club), fanWords: inked(frame, boxOf(fan), '#ffffff'),
  })
  let before: ReturnType<typeof look> | null = null
  let after: ReturnType<typeof look> | null = null
  // Where a folder is named there, the picture is put into it, to be looked at.
  const save = process.env.SEEN_PICTURES
  let saved: Promise<void> | null = null
  await eachPicture(out, (frame, n, seconds) => {
    if (n === 15) before = look(frame)
    if (n !== 39) return
    expect(seconds * 1000).toBeGreaterThan(putAt)
    after = look(frame)
    if (save) saved = savePicture(frame, join(save, 'arms-handoff.png'))
  })
  if (saved) await (saved as Promise<void>)
  const [then, there] = [before!, after!] as [ReturnType<typeof look>, ReturnType<typeof look>]
  // Ten by ten pixels on each bone of the arms; whole bones and sentences on the plates.
  const least = { trail: 10, lead: 20, club: 4, plateTrail: 60, plateLead: 60, fan: 40, fanWords: 100 } as const
  for (const [what, pixels] of Object.entries(least) as [keyof typeof least, number][]) {
    expect(then[what], `${what} before it was put there`).toBeLessThan(pixels / 2)
    expect(there[what], `${what} once it was put there`).toBeGreaterThan(pixels)
  }
})
