import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { guideId, heardId, landmarkId, positionId, type Digitised } from '../../shared/contract/digitising.ts'
import { parsePointsFile } from '../../shared/contract/pointsFile.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { assembleSwing, tieError, withFallbacks, type SwingRecords } from '../../shared/swing/assemble.ts'
import { clickSigma, noClicks, withRepeats } from '../../shared/swing/clickError.ts'
import { digitisedFault, positionTitle, withoutCoachs } from '../../shared/swing/digitised.ts'
import { measurePrepared, measureSwing, prepareSwing } from '../../shared/swing/measureSwing.ts'
import { courseOfMeasure, courseOfPoint } from '../../shared/swing/overTime.ts'
import { isPlaced, planFor } from '../../shared/swing/plan.ts'
import { measures } from '../../shared/swing/registry.ts'
import { openFakeDesk, batchOf, clipFile, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'
import { allFrames, filmedSwing } from '../fixtures/digitisedSwing.ts'

const landmark = (clipId: string, tick: number, more: Partial<Extract<Digitised, { kind: 'landmark' }>> = {}): Digitised =>
  ({ kind: 'landmark', id: landmarkId(clipId, tick, 'hands'), clipId, tick, point: 'hands', at: [500, 900], sigmaPx: null, placed: 1, by: 'coach', ...more })
const position = (clipId: string, name: 'top' | 'impact' | 'takeaway', tick: number): Digitised =>
  ({ kind: 'position', id: positionId(clipId, name), clipId, name, tick, falls: 'on', sigmaS: null, by: 'coach' })
const tableOf = (...records: Digitised[]) => Object.fromEntries(records.map((record) => [record.id, record]))
const diffOf = (added: Digitised[], removed: Digitised[] = []) => ({ added: tableOf(...added), updated: {}, removed: tableOf(...removed) })

describe('a swing put together', () => {
  const film = filmedSwing(3)
  const { events } = film.motion
  const set = (i: number) => (['takeaway', 'top', 'impact'] as const).map((name) => film.position(i, name, film.frameNear(i, events[name]!)))

  test('is a valid points file in real time on the clock of the tie', () => {
    const assembled = assembleSwing(film.swing([...allFrames(film, 0), ...allFrames(film, 1), ...set(0)]))
    if (!assembled.ok) throw new Error(assembled.reasons.join())
    expect(parsePointsFile(JSON.parse(JSON.stringify(assembled.file)))).toMatchObject({ ok: true, ignored: [] })
    expect(assembled.file.sameSwing).toBe(true)
    // Both clips are tied at impact, so that is zero; each view's frames lie where they were filmed.
    for (const [i, view] of assembled.file.views.entries()) {
      expect(view.frames).toHaveLength(film.views[i]!.frames.length)
      for (const k of [0, 40, view.frames.length - 1]) expect(view.frames[k]!.t).toBeCloseTo(film.views[i]!.frames[k]!.t - events.impact!, 4)
    }
    // The two clocks agree as well as two frames do: hypot(1/120, 1/60)/sqrt(12).
    expect(assembled.file.syncSigmaS).toBeCloseTo(Math.hypot(1 / 120, 1 / 60) / Math.sqrt(12), 10)
    // Positions are known to the frame.
    expect(assembled.file.views[0]!.positions!.top!.sigma).toBeCloseTo(1 / 120 / Math.sqrt(12), 5)
    const { measures: found } = measureSwing(assembled.file)
    const tempo = found.find((one) => one.id === 'tempo-ratio')!
    const truth = (events.top! - events.takeaway!) / (events.impact! - events.top!)
    expect(Math.abs(tempo.value - truth)).toBeLessThan(2.5 * tempo.sigma)
    expect(found.length).toBeGreaterThan(30)
  })

  test('knows a tie by the sound of impact as well as it was heard, for as long as the tie stands there', () => {
    const given = film.swing([...allFrames(film, 0), ...allFrames(film, 1), ...set(0)])
    // Heard elsewhere than the tie stands, but by the same lag: nudging both along does not lose it.
    const heard = [0, 1].map((i): Digitised => {
      const clip = film.clips[i]!
      return { kind: 'heard', id: heardId(clip.id), clipId: clip.id, at: film.tickAt(i, events.impact! - 0.05), sigmaS: [0.0021, 0.0031][i]!, by: 'program' }
    })
    const withSound = (tie: SwingRecords['tie']): SwingRecords => ({ ...given, tie, records: { ...given.records, ...film.records(heard) } })
    const sigma = (swing: SwingRecords): number => {
      const assembled = assembleSwing(swing)
      if (!assembled.ok) throw new Error(assembled.reasons.join())
      return assembled.file.syncSigmaS!
    }
    expect(sigma(withSound(given.tie))).toBeCloseTo(Math.hypot(0.0021, 0.0031), 10)
    expect(tieError(withSound(given.tie)).isHeard).toBe(true)
    // A frame away, by hand, it is a tie by eye again.
    const nudged = { left: given.tie!.left, right: given.tie!.right + 3000 }
    expect(sigma(withSound(nudged))).toBeCloseTo(Math.hypot(1 / 120, 1 / 60) / Math.sqrt(12), 10)
    expect(tieError(withSound(nudged)).isHeard).toBe(false)
  })

  test('of two swings has two clocks, each with its own positions', () => {
    const assembled = assembleSwing(film.swing([...allFrames(film, 0), ...allFrames(film, 1), ...set(0), ...set(1)], { oneSwing: false, tie: null }))
    if (!assembled.ok) throw new Error(assembled.reasons.join())
    expect(assembled.file).toMatchObject({ sameSwing: false, syncSigmaS: 0 })
    expect(assembled.file.views.map((view) => Object.keys(view.positions!))).toEqual([['takeaway', 'top', 'impact'], ['takeaway', 'top', 'impact']])
    expect(assembled.file.views[1]!.frames[0]!.t).toBe(0)
    expect(assembled.notes).toEqual([])
  })

  test('untied, or set apart on both clips, it says so', () => {
    const untied = assembleSwing(film.swing([...set(0), ...set(1)], { tie: null }))
    expect(untied).toMatchObject({ ok: true, notes: [expect.stringContaining('not tied')] })
    const apart = assembleSwing(film.swing([film.position(0, 'top', film.frameNear(0, events.top!)), film.position(1, 'top', film.frameNear(1, events.top! + 0.1))]))
    expect(apart).toMatchObject({ ok: true, notes: [expect.stringMatching(/^Top is set \d+ ms apart/)] })
    // The clip of 120 a second knows it better.
    if (apart.ok) expect(apart.file.views.map((view) => view.positions!.top !== undefined)).toEqual([true, false])
  })

  test('cannot be had of nothing, of two frames, of another view, of a point off the picture: each a sentence', () => {
    const reasons = (list: Digitised[], more = {}) => {
      const assembled = assembleSwing(film.swing(list, more))
      return assembled.ok ? [] : assembled.reasons
    }
    expect(reasons([])).toEqual(['Nothing is placed yet: choose what to measure and place its points.'])
    const [clip] = film.clips
    const short = { ...clip!, frames: { ...clip!.frames, ticks: clip!.frames.ticks.slice(0, 2) } }
    expect(reasons([landmark(short.id, short.frames.ticks[0]!)], { clips: [short] })).toEqual(['The face-on clip has only 2 frames, too few to measure.'])
    expect(reasons([landmark(clip!.id, clip!.frames.ticks[0]!)], { clips: [{ ...clip!, view: 'other' }] })[0]).toContain('neither face-on nor down the line')
    expect(reasons([landmark(clip!.id, clip!.frames.ticks[0]!, { at: [-3, 4] as never })])[0]).toBe('The hands lies off the picture of 1080 x 1920 px: place it on the picture, or leave it out.')
    expect(reasons([landmark(clip!.id, clip!.frames.ticks[0]!)], { clips: [clip!, { ...film.clips[1]!, view: 'face-on' }] })[0]).toContain('Both clips are face-on')
    const backward = reasons([film.position(0, 'top', 50), film.position(1, 'impact', 2)])
    expect(backward[0]).toMatch(/^Positions are out of order across the tied clips: impact must come after top/)
  })

  test('a position between two frames is interpolated where its line is placed on both, and else lies in the middle', () => {
    const arm = ['leadShoulder', 'leadWrist'] as const
    // Where the lead arm passes level on the way down, from the truth.
    const rise = (t: number) => { const p = film.motion.at(t); return p.leadWrist![1] - p.leadShoulder![1] }
    let level = events.top!
    while (rise(level) > 0) level += 1e-4
    const before = film.views[0]!.frames.findLastIndex((frame) => frame.t <= level)
    const given = [film.position(0, 'top', film.frameNear(0, events.top!)), film.position(0, 'impact', film.frameNear(0, events.impact!)), film.position(0, 'lead-arm-level-down', before, 'between')]
    const points = [before, before + 1].flatMap((frame) => film.landmarks(0, frame, arm))
    const assembled = assembleSwing(film.swing([...given, ...points], { clips: [film.clips[0]!], tie: null }))
    if (!assembled.ok) throw new Error(assembled.reasons.join())
    expect(assembled.left.map(({ name }) => name)).toEqual(['lead-arm-level-down'])
    const found = measureSwing(assembled.file).positions['lead-arm-level-down']!
    const zero = film.views[0]!.frames[0]!.t
    // The camera is unlevelled: 2 degrees of roll at some 500 deg/s of arm are 4 ms and more.
    expect(Math.abs(found.t + zero - level)).toBeLessThan(3 * found.sigma)
    expect(found.basis).toContain('between frames')
    expect(found.sigma).toBeGreaterThan(0.0005)
    // Without the arm on the second frame the middle stands, known to the frame.
    const bare = assembleSwing(film.swing([...given, ...points.slice(0, 2)], { clips: [film.clips[0]!], tie: null }))
    if (!bare.ok) throw new Error(bare.reasons.join())
    expect(bare.file.views[0]!.positions!['lead-arm-level-down']).toMatchObject({ sigma: expect.closeTo(1 / 120 / Math.sqrt(12), 5) as number })
    const put = withFallbacks(assembled.file, assembled.left).views[0]!.positions!['lead-arm-level-down']!
    expect(put.t).toBeCloseTo((before + 0.5) / 120, 3)
  })

  test('follows a measure and a point through time, as the measures at the positions read them', () => {
    const assembled = assembleSwing(film.swing([...allFrames(film, 0), ...set(0)], { clips: [film.clips[0]!], tie: null }))
    if (!assembled.ok) throw new Error(assembled.reasons.join())
    const swing = prepareSwing(assembled.file)
    const course = courseOfMeasure(swing, measures.find(({ id }) => id === 'lead-arm-to-vertical')!, 'face-on')
    const at = measurePrepared(swing).measures.find((one) => one.id === 'lead-arm-to-vertical' && one.at === 'top')!
    const top = assembled.file.views[0]!.positions!.top!.t
    const k = course.t.findIndex((t) => Math.abs(t - top) < 1e-6)
    expect(course.value[k]).toBeCloseTo(at.value, 9)
    expect(course.sigma[k]!).toBeLessThan(at.sigma)
    expect(course.t.length).toBeGreaterThan(100)
    // Through impact and on the arm goes past half a turn, and the curve with it.
    for (const id of ['lead-arm-to-vertical', 'shaft-to-vertical', 'lead-wrist-angle']) {
      const { value } = courseOfMeasure(swing, measures.find((measure) => measure.id === id)!, 'face-on')
      expect(value.length, id).toBeGreaterThan(20)
      expect(Math.max(...value.slice(1).map((v, i) => Math.abs(v - value[i]!))), id).toBeLessThan(180)
    }
    const head = courseOfPoint(swing, 'head', 'face-on', 'v')
    expect(head.unit).toBe('mm')
    expect(head.t).toHaveLength(film.views[0]!.frames.length)
  })
})

test('a position set over one that was found has the frame for its error, and taken away gives back what was found', () => {
  const film = filmedSwing(7)
  const points = allFrames(film, 0)
  const top = (list: readonly Digitised[]) => {
    const assembled = assembleSwing(film.swing(list, { clips: [film.clips[0]!], tie: null }))
    if (!assembled.ok) throw new Error(assembled.reasons.join(' '))
    return measureSwing(assembled.file).positions.top!
  }
  const found = top(points)
  expect(found.basis).toMatch(/^found/)
  const frame = film.frameNear(0, film.motion.events.top!)
  const set = top([...points, film.position(0, 'top', frame)])
  expect(set.basis).toBe('given')
  expect(set.sigma).toBeCloseTo(1 / 120 / Math.sqrt(12), 9)
  const between = top([...points, film.position(0, 'top', frame, 'between')])
  expect(between.t - set.t).toBeCloseTo(1 / 240, 6)
  expect(between.sigma).toBeCloseTo(1 / 120 / Math.sqrt(12), 9)
  expect(top(points)).toEqual(found)
})

describe('what is to be placed', () => {
  const film = filmedSwing(5)
  const planned = (i: number, names: readonly ('address' | 'top' | 'impact' | 'lead-arm-level-down')[]) => ({
    clip: film.clips[i]!, tied: film.tickAt(i, film.motion.events.impact!),
    positions: Object.fromEntries(names.map((name) => [name, film.views[0]!.frames[film.frameNear(0, film.motion.events[name] ?? film.motion.events.impact! - 0.1)]!.t - film.motion.events.impact!])),
  })

  test('one measure: its points frame by frame, and positions that are to be set first', () => {
    const plan = planFor({ kind: 'measure', id: 'inclination-change' }, [planned(1, ['address', 'top'])])
    expect(plan.unset).toEqual([])
    expect([...new Set(plan.steps.map(({ point }) => point))].toSorted()).toEqual(['spineBase', 'spineTop'])
    expect([...new Set(plan.steps.map(({ position: name }) => name))]).toEqual(['address', 'top'])
    expect(planFor({ kind: 'measure', id: 'tempo-ratio' }, [planned(0, ['top'])]).unset.map(({ name }) => name)).toEqual(['takeaway', 'impact'])
    expect(planFor({ kind: 'measure', id: 'inclination' }, [planned(1, [])]).unset.map(({ name }) => name)).toContain('address')
  })

  test('every measure that can be chosen asks for points, or for the positions it runs between', () => {
    const all = [0, 1].map((i) => ({ ...planned(i, ['address', 'top', 'impact', 'lead-arm-level-down']) }))
    // The toes are a guide's.
    const ofPoints = measures.filter(({ unit, id }) => unit !== 's' && id !== 'tempo-ratio' && id !== 'toe-alignment')
    expect(ofPoints.length).toBeGreaterThan(40)
    for (const { id } of ofPoints) expect(planFor({ kind: 'measure', id }, all, true).steps.length, id).toBeGreaterThan(0)
    const still = planFor({ kind: 'measure', id: 'camera-height' }, [all[1]!]).steps
    expect(new Set(still.map(({ position: name }) => name))).toEqual(new Set(['address']))
    expect(still.map(({ point }) => point)).toEqual(expect.arrayContaining(['leadAnkle', 'trailAnkle', 'butt', 'clubhead', 'head']))
  })

  test('an instant between two frames wants both of them; one on a frame wants that alone', () => {
    const own = planFor({ kind: 'position', name: 'top' }, [planned(0, ['address', 'top'])]).steps.filter(({ position: name }) => name === 'top')
    expect(new Set(own.map(({ tick }) => tick)).size).toBe(1)
    const other = planFor({ kind: 'position', name: 'top' }, [planned(1, ['address', 'top'])]).steps.filter(({ position: name }) => name === 'top')
    expect(new Set(other.map(({ tick }) => tick)).size).toBe(2)
  })

  test('placed in that order, the measures of the position can be had', () => {
    const plan = planFor({ kind: 'position', name: 'top' }, [planned(0, ['address', 'top'])])
    const list: Digitised[] = [film.position(0, 'address', film.frameNear(0, film.motion.events.address!)), film.position(0, 'top', film.frameNear(0, film.motion.events.top!))]
    const table = film.records(list)
    expect(plan.steps.some((step) => isPlaced(step, table))).toBe(false)
    for (const step of plan.steps) list.push(...film.landmarks(0, film.clips[0]!.frames.ticks.indexOf(step.tick), [step.point]))
    const full = film.records(list)
    expect(plan.steps.filter((step) => !isPlaced(step, full))).toEqual([])
    const assembled = assembleSwing(film.swing(list, { clips: [film.clips[0]!], tie: null }))
    if (!assembled.ok) throw new Error(assembled.reasons.join())
    const result = measureSwing(assembled.file)
    const wanted = measures.filter((one) => Array.isArray(one.views) && one.views.includes('face-on') && one.at.includes('top')).map(({ id }) => id)
    const had = result.measures.filter(({ at }) => at === 'top').map(({ id }) => id)
    expect(had.toSorted()).toEqual(wanted.toSorted())
  })

  test('the head throughout: frames no more than a tenth of a second apart, enough for its excursion', () => {
    const plan = planFor({ kind: 'measure', id: 'head-excursion' }, [planned(0, ['address', 'impact'])])
    const list: Digitised[] = [film.position(0, 'address', film.frameNear(0, film.motion.events.address!)), film.position(0, 'impact', film.frameNear(0, film.motion.events.impact!))]
    for (const step of plan.steps) list.push(...film.landmarks(0, film.clips[0]!.frames.ticks.indexOf(step.tick), [step.point]))
    expect(plan.steps.filter(({ point }) => point === 'head').length).toBeLessThan(20)
    const assembled = assembleSwing(film.swing(list, { clips: [film.clips[0]!], tie: null }))
    if (!assembled.ok) throw new Error(assembled.reasons.join())
    expect(measureSwing(assembled.file).measures.map(({ id }) => id)).toContain('head-excursion')
  })
})

describe("the coach's hand", () => {
  const picture = { width: 1080, height: 1920 }
  test('is assumed until it has been seen, then known with its own error', () => {
    expect(clickSigma(noClicks, picture)).toMatchObject({ sigmaPx: 2, uncertainty: null })
    expect(clickSigma(noClicks, { width: 540, height: 960 }).sigmaPx).toBe(1)
    const random = seededRandom(9)
    let known = noClicks
    for (let i = 0; i < 40; i++) known = withRepeats(known, Array.from({ length: 3 }, () => [400 + 1.4 * random.normal(), 700 + 1.4 * random.normal()] as const), picture)
    const hand = clickSigma(known, picture)
    expect(known.freedom).toBe(160)
    expect(Math.abs(hand.sigmaPx - 1.4)).toBeLessThan(3 * hand.uncertainty!)
    // sqrt(1/(2 n)) of itself.
    expect(hand.uncertainty! / hand.sigmaPx).toBeCloseTo(1 / Math.sqrt(320), 6)
    // On a picture half as large the same hand errs by half as many pixels.
    expect(clickSigma(known, { width: 540, height: 960 }).sigmaPx).toBeCloseTo(hand.sigmaPx / 2, 9)
  })

  test('its stated error is honest: the true one within two of them in 95 % of coaches', () => {
    const random = seededRandom(4)
    let within = 0
    for (let k = 0; k < 400; k++) {
      let known = noClicks
      for (let i = 0; i < 4; i++) known = withRepeats(known, Array.from({ length: 3 }, () => [random.normal(), random.normal()] as const), picture)
      const hand = clickSigma(known, picture)
      if (Math.abs(hand.sigmaPx - 1) < 2 * hand.uncertainty!) within++
    }
    expect(within / 400).toBeGreaterThan(0.91)
    expect(within / 400).toBeLessThan(0.99)
  })
})

describe('rules of the records', () => {
  test('what the coach has placed is never moved by the program', () => {
    fc.assert(fc.property(fc.array(fc.record({ tick: fc.integer({ min: 0, max: 5 }), by: fc.constantFrom('coach' as const, 'program' as const) }), { maxLength: 8 }), (placed) => {
      const table = tableOf(...placed.map(({ tick, by }) => landmark('c', tick, { by })))
      const found = Array.from({ length: 6 }, (_, tick) => landmark('c', tick, { by: 'program', at: [1, 1] as never }))
      const kept = withoutCoachs(found, table)
      expect(kept.every((record) => table[record.id]?.by !== 'coach')).toBe(true)
      expect(kept).toHaveLength(6 - Object.values(table).filter(({ by }) => by === 'coach').length)
    }))
  })
  test('positions have names in words', () => {
    expect(positionTitle('lead-arm-level-down')).toBe('lead arm level, down')
    expect(positionTitle('shaft-level-through')).toBe('shaft level, through')
    expect(positionTitle('top')).toBe('top')
  })
  test('a known length of nothing, and guides without length, are refused', () => {
    const clip = { id: 'c', width: 100, height: 100, frames: { timescale: 600, ticks: [0, 10, 20], endTick: 30 } }
    const guide = (ends: readonly [readonly [number, number], readonly [number, number]], metres: number | null): Digitised => ({ kind: 'guide', id: guideId('c', 'known'), clipId: 'c', name: 'known', ends: ends as never, metres, by: 'coach' })
    expect(digitisedFault([guide([[1, 1], [1, 1]], 1)], clip)).toContain('coincide')
    expect(digitisedFault([guide([[1, 1], [50, 1]], null)], clip)).toContain('has no length')
    expect(digitisedFault([guide([[1, 1], [50, 1]], 1)], clip)).toBe(null)
    expect(digitisedFault([position('c', 'impact', 10), position('c', 'top', 20)], clip)).toBe('Positions are out of order: impact (frame 2) must come after top (frame 3).')
  })
})

describe('on the desk', () => {
  async function withClip() {
    const folder = temporaryFolder()
    const outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const student = await desk.call('student.save', studentOf('Ada'))
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'ada face.mp4')], { studentId: student.id }))
    await settled(desk)
    const [clip] = await desk.call('clip.list', {})
    return { desk, student, clip: clip!, [Symbol.asyncDispose]: async () => { await desk.close(); folder[Symbol.dispose](); outside[Symbol.dispose]() } }
  }

  test('what is placed comes back as it was; a diff done twice does no harm; a clip takes it along', async () => {
    await using given = await withClip()
    const { desk, clip } = given
    const records = [landmark(clip.id, 1500), position(clip.id, 'top', 3000), { kind: 'guide', id: guideId(clip.id, 'known'), clipId: clip.id, name: 'known', ends: [[1, 2], [300, 2]] as never, metres: 1.2, by: 'coach' } as const]
    const heard: string[] = []
    desk.listen((event) => { if (event.type === 'changed') heard.push(event.what) })
    for (let i = 0; i < 2; i++) expect(await desk.call('digitising.apply', { diff: diffOf(records) })).toEqual({ saved: 3 })
    expect(heard).toEqual(['digitising', 'digitising'])
    const list = async () => tableOf(...await desk.call('digitising.list', { clipIds: [clip.id] }))
    expect(await list()).toEqual(tableOf(...records))
    await desk.call('digitising.apply', { diff: { added: {}, updated: { [records[0]!.id]: [records[0]!, landmark(clip.id, 1500, { at: [9, 9] as never })] }, removed: tableOf(records[1]!) } })
    expect((await list())[records[0]!.id]).toMatchObject({ at: [9, 9] })
    expect(Object.keys(await list())).toHaveLength(2)
    await desk.call('clip.remove', { id: clip.id })
    expect(await desk.call('digitising.list', { clipIds: [clip.id] })).toEqual([])
  })

  test('bad input gets one sentence and nothing of it is saved', async () => {
    await using given = await withClip()
    const { desk, clip } = given
    const good = landmark(clip.id, 0)
    const refuse = async (bad: Digitised, message: RegExp) => {
      await expect(desk.call('digitising.apply', { diff: diffOf([good, bad]) })).rejects.toMatchObject({ fault: { kind: expect.stringMatching(/bad-input|not-found/) as string, message: expect.stringMatching(message) as string } })
      expect(await desk.call('digitising.list', { clipIds: [clip.id] })).toEqual([])
    }
    await refuse(landmark(clip.id, 1500, { at: [2000, 4] as never }), /lies off the picture of 1080 x 1920/)
    await refuse(landmark(clip.id, 9999), /outside the clip, which has 4 frames/)
    await refuse(landmark(clip.id, 1500, { at: [Number.NaN, 4] as never }), /at/)
    await refuse({ ...landmark(clip.id, 1500), id: 'x' } as Digitised, /does not say what the record is/)
    await refuse(landmark('no such clip', 1500), /not in the library any more/)
    await refuse({ kind: 'guide', id: guideId(clip.id, 'known'), clipId: clip.id, name: 'known', ends: [[1, 2], [300, 2]] as never, metres: 0, by: 'coach' }, /must be greater than 0/)
    await desk.call('digitising.apply', { diff: diffOf([position(clip.id, 'top', 3000)]) })
    await expect(desk.call('digitising.apply', { diff: diffOf([position(clip.id, 'impact', 1500)]) })).rejects.toMatchObject({ fault: { message: 'Positions are out of order: impact (frame 2) must come after top (frame 3).' } })
    expect(await desk.call('digitising.list', { clipIds: [clip.id] })).toHaveLength(1)
  })

  test('sets of marks under a name: the newer of one name stands, and can be removed', async () => {
    await using given = await withClip()
    const { desk, clip } = given
    const mark = { id: 'm', clipId: clip.id, shape: 'line' as const, meaning: 'shaft-line' as const, points: [[1, 2], [3, 4]] as never, text: '', span: null, ink: 'club' as const, weight: 3, dashed: false, hidden: false, order: 1 }
    const set = { id: null, name: 'Set-up', width: 1080, height: 1920, handedness: 'right' as const, points: { ball: [5, 6] as never }, marks: [mark] }
    await desk.call('markSet.save', set)
    const kept = await desk.call('markSet.save', { ...set, name: 'set-up', points: {} })
    expect(await desk.call('markSet.list', {})).toEqual([kept])
    await expect(desk.call('markSet.save', { ...set, marks: [] })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(desk.call('markSet.save', { ...set, name: ' ' })).rejects.toMatchObject({ fault: { message: expect.stringContaining('a set needs a name') as string } })
    await desk.call('markSet.remove', { id: kept.id })
    expect(await desk.call('markSet.list', {})).toEqual([])
    await expect(desk.call('markSet.remove', { id: kept.id })).rejects.toMatchObject({ fault: { kind: 'not-found' } })
  })
})
