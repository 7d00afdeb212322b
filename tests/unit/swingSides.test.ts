import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { demoPoints } from '../../electron/desk/demoPoints.ts'
import { demoShots } from '../../electron/desk/demo/plan.ts'
import { clipTruth, timescale } from '../../electron/desk/demo/truth.ts'
import { runMeasure } from '../../electron/cli/measure.ts'
import type { Handedness } from '../../shared/contract/clip.ts'
import { idOf, type Digitised } from '../../shared/contract/digitising.ts'
import { mirrorPointsFile, type PointsFile, type PositionName, type ViewName } from '../../shared/contract/pointsFile.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { assembleSwing } from '../../shared/swing/assemble.ts'
import { prepareSwing, warningsOf } from '../../shared/swing/measureSwing.ts'
import { pairNames, type PairName } from '../../shared/swing/sides/pairs.ts'
import { sidesOf } from '../../shared/swing/sides/sides.ts'
import { sidesSentences } from '../../shared/swing/sides/sidesWords.ts'
import { exchangedRecords, timesToExchange } from '../../shared/swing/sides/exchange.ts'
import { frameOf, tellFrames } from '../../shared/swing/sides/tellFrames.ts'
import { allFrames, filmedSwing } from '../fixtures/digitisedSwing.ts'
import { renderedPoints, renderedTruth } from '../fixtures/renderedSwing.ts'
import { digitise, parametricSwing, randomCamera, recordedSwing, type Motion } from '../fixtures/swingSim.ts'
import { trueTimes } from '../fixtures/swingTruth.ts'

const folder = mkdtempSync(join(tmpdir(), 'sides-'))
afterAll(() => rmSync(folder, { recursive: true }))

const other = { right: 'left', left: 'right' } as const

/** The swing as a player of either hand makes it. */
const by = (file: PointsFile, hand: Handedness): PointsFile => (hand === 'left' ? { ...mirrorPointsFile(file), handedness: 'left' } : file)

function fileOf(seed: number, views: readonly ViewName[], more: { fps?: number; sigmaPx?: number; given?: boolean; recorded?: boolean } = {}): { file: PointsFile; motion: Motion; times: Partial<Record<PositionName, number>> } {
  const random = seededRandom(seed)
  const motion = (more.recorded ? recordedSwing(random) : null) ?? parametricSwing(random)
  const times = trueTimes(motion)
  const cameras = views.map((view) => randomCamera(view, random, 5))
  const file = digitise(motion, cameras, random, { sigmaPx: more.sigmaPx ?? 1.5, fps: more.fps ?? 60, syncSigma: 0.002, matrices: false, positionSigma: more.given === false ? null : 0.003 }, times)
  return { file, motion, times }
}

/** Lead and trail of these pairs exchanged on the frames that `where` lets through. */
function exchanged(file: PointsFile, pairs: readonly PairName[], where: (t: number) => boolean = () => true): PointsFile {
  const name = (point: string): string => {
    const found = /^(lead|trail)(\w+)$/.exec(point)
    return found && pairs.includes(found[2] as PairName) ? `${found[1] === 'lead' ? 'trail' : 'lead'}${found[2]}` : point
  }
  return {
    ...file,
    views: file.views.map((view) => ({ ...view, frames: view.frames.map((frame) => (where(frame.t) ? { ...frame, points: Object.fromEntries(Object.entries(frame.points).map(([point, p]) => [name(point), p])) } : frame)) })),
  }
}

/** What the result carries, without its measures: those cost most of the time from one view. */
const told = (file: PointsFile): readonly string[] => warningsOf(prepareSwing(file))
const hands = ['right', 'left'] as const

describe.each(hands)('lead and trail of a %s-hander', (hand) => {
  it.each<[PairName]>([['Shoulder'], ['Elbow'], ['Hip'], ['Knee'], ['Ankle'], ['Wrist']])('face-on, the wrong way round for the whole swing: %s', (pair) => {
    for (let seed = 1; seed <= 6; seed++) {
      const words = told(by(exchanged(fileOf(seed, ['face-on']).file, [pair]), hand))
      expect(words, `seed ${seed}`).toHaveLength(1)
      expect(words[0]).toMatch(new RegExp(`^Face-on lead and trail of the ${pair.toLowerCase()}s are the wrong way round (?:at address.*|throughout) for a ${hand}-handed swing: exchange them`))
    }
  })

  it('face-on, all of them: one sentence for what is wrong at the same positions', () => {
    const words = told(by(exchanged(fileOf(3, ['face-on']).file, pairNames), hand))
    expect(words.length).toBeLessThanOrEqual(2)
    expect(words[0]).toMatch(/shoulders, elbows, hips, knees and ankles/)
  })

  it('down the line: ankles at address, shoulders at the top, wrists along the shaft', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const { file } = fileOf(seed, ['down-the-line'])
      expect(told(by(exchanged(file, ['Ankle']), hand)).join(), `seed ${seed}`).toMatch(/^Down the line .* ankles .* at address/)
      expect(told(by(exchanged(file, ['Shoulder']), hand)).join(), `seed ${seed}`).toMatch(/^Down the line .* shoulders .* throughout/)
      expect(told(by(exchanged(file, ['Wrist']), hand)).join(), `seed ${seed}`).toMatch(/^Down the line .* wrists .* at address.*, unless the trail hand is the upper one/)
    }
  })

  it('on one frame, or from one on, where they change places against the frames about it', () => {
    const { file, times } = fileOf(5, ['face-on'])
    const frames = file.views[0]!.frames
    const i = frames.findIndex(({ t }) => t > times.takeaway! + 0.4)
    const one = told(by(exchanged(file, ['Elbow'], (t) => t === frames[i]!.t), hand))
    expect(one).toEqual([expect.stringMatching(new RegExp(`elbows are the wrong way round at ${frames[i]!.t.toFixed(3)} s for a ${hand}-handed swing`))])
    const few = told(by(exchanged(file, ['Knee'], (t) => t >= frames[i]!.t && t <= frames[i + 4]!.t), hand))
    expect(few).toEqual([expect.stringMatching(new RegExp(`knees are the wrong way round (?:from ${frames[i]!.t.toFixed(3)} s to ${frames[i + 4]!.t.toFixed(3)} s|at lead arm level back)`))])
  })

  it('on a few frames only, where it makes a limb longer than a body has', () => {
    const { file, times } = fileOf(2, ['face-on'])
    const near = (t: number) => file.views[0]!.frames.reduce((best, f) => (Math.abs(f.t - t) < Math.abs(best.t - t) ? f : best))
    const kept = (['address', 'impact', 'finish'] as const).flatMap((name) => (times[name] === undefined ? [] : [[name, near(times[name])] as const]))
    const sparse: PointsFile = { ...file, positions: Object.fromEntries(kept.map(([name, f]) => [name, { t: f.t }])), views: [{ ...file.views[0]!, frames: [...new Set([...kept.map(([, f]) => f), ...file.views[0]!.frames.slice(-1)])] }] }
    expect(told(by(sparse, hand))).toEqual([])
    expect(told(by(exchanged(sparse, ['Hip'], (t) => t === kept[0]![1].t), hand)).join()).toMatch(/hips .* at address/)
  })

  it.each<[ViewName, RegExp]>([['face-on', /the hands go back to the other side/], ['down-the-line', /the club is on the other side of the feet/]])('a swing that is said to be of the other hand, %s', (view, how) => {
    for (let seed = 1; seed <= 6; seed++) {
      const words = told({ ...by(fileOf(seed, [view]).file, hand), handedness: other[hand] })
      expect(words, `seed ${seed}`).toHaveLength(1)
      expect(words[0]).toMatch(how)
      expect(words[0]).toContain(`show a ${hand}-handed swing`)
    }
  })

  it('both views of the other hand are one sentence; views of two hands are refused by the command', async () => {
    const { file } = fileOf(4, ['face-on', 'down-the-line'])
    expect(told({ ...by(file, hand), handedness: other[hand] })).toHaveLength(1)
    const mixed: PointsFile = { ...by(file, hand), views: [by(file, hand).views[0]!, by(file, other[hand]).views[1]!] }
    const path = join(folder, `${hand}.json`)
    writeFileSync(path, JSON.stringify(mixed))
    let [out, err] = ['', '']
    expect(await runMeasure([path], { out: (text) => (out += text), err: (text) => (err += text) })).toBe(2)
    expect(out).toBe('')
    expect(err).toBe(`views: The two views disagree on handedness: the points face-on show a ${hand}-handed swing, those down the line a ${other[hand]}-handed one. A clip may have been filmed mirrored.\n`)
  })
})

describe('no false alarm over whole swings', () => {
  it.each([30, 60, 120, 240])('simulated, %d frames a second', (fps) => {
    for (let seed = 1; seed <= 8; seed++) {
      const views: ViewName[] = [seed % 2 ? 'face-on' : 'down-the-line']
      const { file } = fileOf(50 + seed, views, { fps, sigmaPx: [0.7, 1.5, 4][seed % 3]!, given: seed % 4 < 2 })
      const sides = sidesOf(prepareSwing(by(file, hands[seed % 2]!)))
      expect(sidesSentences(sides, file.handedness), `seed ${seed}`).toEqual([])
    }
  })

  // Joints: CMU Graphics Lab Motion Capture Database.
  it.skipIf(!recordedSwing(seededRandom(1))).each(hands)('recorded, as a %s-hander', (hand) => {
    for (let seed = 1; seed <= 4; seed++) {
      const { file } = fileOf(80 + seed, ['face-on', 'down-the-line'], { recorded: true, fps: [30, 60, 120][seed % 3]!, sigmaPx: [1, 3][seed % 2]!, given: seed % 4 < 2 })
      for (const view of file.views) {
        const alone = { ...file, views: [view] }
        expect(told(by(alone, hand)), `seed ${seed} ${view.view}`).toEqual([])
      }
    }
  })

  it.skipIf(!renderedTruth())('rendered', () => expect(told(renderedPoints(renderedTruth()!, { sigmaPx: 1.5, seed: 1 }))).toEqual([]))

  it('the demo, all clips with all their points', () => {
    for (const shot of demoShots()) {
      const truth = clipTruth(shot, 1)
      const ticks = truth.frames.map(({ tick }) => tick)
      const clip = { id: shot.id, view: truth.view, handedness: truth.handedness, width: truth.widthPx, height: truth.heightPx, captureRate: shot.captureRate, playRate: shot.playRate, frames: { timescale, ticks, endTick: ticks.at(-1)! + 300 } }
      const records = demoPoints(truth, clip)
      const assembled = assembleSwing({ clips: [clip], oneSwing: false, tie: null, statureM: truth.statureM, club: truth.club, records: Object.fromEntries(records.map((record) => [record.id, record])), clickError: { squares: 0, freedom: 0 } })
      if (!assembled.ok) throw new Error(assembled.reasons.join(' '))
      const sides = sidesOf(prepareSwing(assembled.file))
      expect(sidesSentences(sides, truth.handedness), shot.id).toEqual([])
      // It would be no test if nothing were seen.
      expect(sides.hands[truth.view as ViewName], shot.id).toBe(truth.handedness)
    }
  })
})

describe('what the command and the Bench say', () => {
  it('a warning is in the result and on standard error, and the result stands', async () => {
    const path = join(folder, 'warned.json')
    writeFileSync(path, JSON.stringify(exchanged(fileOf(6, ['face-on']).file, ['Shoulder', 'Hip'])))
    let [out, err] = ['', '']
    expect(await runMeasure([path], { out: (text) => (out += text), err: (text) => (err += text) })).toBe(0)
    const { warnings } = JSON.parse(out) as { warnings: string[] }
    expect(warnings.length).toBeGreaterThan(0)
    expect(err).toBe(`${warnings.join('\n')}\n`)
  })

  it.each([['throughout', () => true], ['on a few frames', (frame: number) => frame > 70 && frame < 76]] as const)('%s: exchanged on the frames they are wrong on, they are right and no other point has moved', (_, isWrong) => {
    const film = filmedSwing(3)
    const right = [...allFrames(film, 0), film.position(0, 'address', film.frameNear(0, film.motion.events.address!))]
    const wrong = right.map((record) => (record.kind === 'landmark' && record.point.endsWith('Knee') && isWrong(film.clips[0]!.frames.ticks.indexOf(record.tick))
      ? { ...record, point: record.point === 'leadKnee' ? 'trailKnee' as const : 'leadKnee' as const } : record)).map((record) => ({ ...record, id: idOf(record) }))
    const records = film.swing(wrong, { clips: [film.clips[0]!], tie: null })
    const assembled = assembleSwing(records)
    if (!assembled.ok) throw new Error(assembled.reasons.join(' '))
    const read = prepareSwing(assembled.file)
    const { faults } = sidesOf(read)
    expect(faults.map(({ pairs }) => pairs)).toEqual([['Knee']])
    const ticks = timesToExchange(read, faults[0]!, 'Knee').map((t) => { const found = frameOf(records, assembled.file, 'face-on', t)!; return found.clip.frames.ticks[found.frame]! })
    const { put, remove } = exchangedRecords(records.records, film.clips[0]!.id, 'Knee', ticks)
    expect(remove).toEqual([])
    const mended = { ...records.records, ...Object.fromEntries(put.map((record) => [record.id, record])) }
    const places = (table: Readonly<Record<string, Digitised>>) => Object.fromEntries(Object.values(table).flatMap((record) => (record.kind === 'landmark' ? [[record.id, record.at]] : [])))
    expect(places(mended)).toEqual(places(film.records(right)))
  })

  it('a point that stands alone on its frame changes its name', () => {
    const film = filmedSwing(3)
    const [one] = film.landmarks(0, 10, ['leadHip'])
    const { put, remove } = exchangedRecords(film.records([one!]), film.clips[0]!.id, 'Hip', [film.clips[0]!.frames.ticks[10]!])
    expect(put.map(({ id }) => id)).toEqual([one!.id.replace('leadHip', 'trailHip')])
    expect(remove).toEqual([one!.id])
  })

  it('an instant is told as the frame of its clip, tied or not', () => {
    const film = filmedSwing(3)
    const records = film.swing([...allFrames(film, 0), ...allFrames(film, 1)])
    const assembled = assembleSwing(records)
    if (!assembled.ok) throw new Error(assembled.reasons.join(' '))
    const tell = tellFrames(records, assembled.file)
    for (const view of assembled.file.views) for (const i of [0, 7, view.frames.length - 1]) expect(tell(view.view, view.frames[i]!.t)).toBe(`frame ${i + 1}`)
    const alone = film.swing(allFrames(film, 1), { clips: [film.clips[1]!], tie: null })
    const own = assembleSwing(alone)
    if (!own.ok) throw new Error(own.reasons.join(' '))
    expect(tellFrames(alone, own.file)('down-the-line', own.file.views[0]!.frames[5]!.t)).toBe('frame 6')
  })
})
