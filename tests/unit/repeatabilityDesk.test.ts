import { describe, expect, test } from 'vitest'
import { join } from 'node:path'
import { migrations } from '../../electron/library/migrations/index.ts'
import { openDatabase } from '../../electron/library/database.ts'
import { getStudent, listStudents } from '../../electron/library/students.ts'
import { setRepeatability } from '../../electron/library/repeatability.ts'
import { landmarkId, positionId, type Digitised } from '../../shared/contract/digitising.ts'
import { parsePointsFile, type PointName } from '../../shared/contract/pointsFile.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { assembleSwing } from '../../shared/swing/assemble.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { readOwnClip, repeatsOf } from '../../shared/swing/repeats.ts'
import { allFrames, filmedSwing } from '../fixtures/digitisedSwing.ts'
import { batchOf, clipFile, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'
import { twoSwingRig } from '../fixtures/rigs.ts'

const own = { m: 0.03, from: { by: 'coach' } } as const
const found = { m: 0.031, from: { by: 'swings', swings: 4, sigmaM: 0.004 } } as const

describe('how a student repeats, in the library', () => {
  test('is set, corrected, forgotten, goes with the student, and is left alone by the record\u2019s sheet', async () => {
    using folder = temporaryFolder()
    const desk = openFakeDesk(join(folder.path, 'library'))
    const { id: studentId } = await desk.call('student.save', studentOf('Ada'))
    const now = async () => (await desk.call('student.list', {})).find(({ id }) => id === studentId)?.repeatability
    expect(await now()).toBeNull()
    await desk.call('repeatability.set', { studentId, figure: own })
    expect(await now()).toEqual(own)
    const saved = await desk.call('student.save', { ...studentOf('Ada Lind'), id: studentId })
    expect(saved).toMatchObject({ name: 'Ada Lind', repeatability: own })
    await desk.call('repeatability.set', { studentId, figure: found })
    expect(await now()).toEqual(found)
    for (const m of [0, -0.02, 0.4, Number.NaN])
      await expect(desk.call('repeatability.set', { studentId, figure: { m, from: { by: 'coach' } } })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(desk.call('repeatability.set', { studentId, figure: { m: 0.03, from: { by: 'swings', swings: 2, sigmaM: 0.01 } } })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    expect(await now()).toEqual(found)
    await desk.call('library.backup', { to: join(folder.path, 'backup') })
    await desk.call('repeatability.set', { studentId, figure: null })
    expect(await now()).toBeNull()
    await desk.call('student.remove', { id: studentId })
    await expect(desk.call('repeatability.set', { studentId, figure: own })).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    await expect(desk.call('repeatability.fromSwings', { studentId })).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    await desk.close()
    const restored = openFakeDesk(join(folder.path, 'backup'))
    expect(await restored.call('student.list', {})).toMatchObject([{ id: studentId, repeatability: found }])
    await restored.close()
  })

  test('is offered from three measured clips of one view and club, with how many they were', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    const { id: studentId } = await desk.call('student.save', studentOf('Ada'))
    expect(await desk.call('repeatability.fromSwings', { studentId })).toEqual([])
    await desk.call('takeIn.start', batchOf([1, 2, 3, 4].map((i) => clipFile(outside.path, `${i}.mp4`)), { studentId }))
    await settled(desk)
    const clips = await desk.call('clip.list', { studentId })
    const random = seededRandom(4)
    const body: Partial<Record<PointName, readonly [number, number]>> = {
      head: [540, 500], leadShoulder: [640, 700], trailShoulder: [440, 700], leadHip: [600, 1050], trailHip: [480, 1050], leadWrist: [560, 1080], trailWrist: [540, 1100],
      leadKnee: [630, 1300], trailKnee: [450, 1300], leadAnkle: [650, 1550], trailAnkle: [430, 1550],
    }
    const measure = async (clipId: string, strays: number) => {
      const records: Digitised[] = [0, 3000].flatMap((tick) => Object.entries(body).map(([name, [x, y]]): Digitised => {
        const point = name as PointName
        const off = (): number => (point.endsWith('Ankle') ? 0 : strays * random.normal())
        return { kind: 'landmark', id: landmarkId(clipId, tick, point), clipId, tick, point, at: imagePoint(x + off(), y + off()), sigmaPx: 1, placed: 1, by: 'coach' }
      }))
      records.push(...([['address', 0], ['top', 3000]] as const).map(([name, tick]): Digitised => ({ kind: 'position', id: positionId(clipId, name), clipId, name, tick, falls: 'on', sigmaS: 0, by: 'coach' })))
      await desk.call('clip.update', { id: clipId, patch: { view: 'face-on' } })
      await desk.call('digitising.apply', { diff: { added: Object.fromEntries(records.map((record) => [record.id, record])), updated: {}, removed: {} } })
    }
    for (const { id } of clips.slice(0, 2)) await measure(id, 20)
    expect(await desk.call('repeatability.fromSwings', { studentId })).toMatchObject([{ view: 'face-on', club: '7-iron', clips: 2, swings: 2, m: null, why: 'Two are measured so far.' }])
    await measure(clips[2]!.id, 20)
    // 20 px at 1.47 m from ankles to ears over 1050 px are 28 mm.
    const [told] = await desk.call('repeatability.fromSwings', { studentId })
    expect(told).toMatchObject({ clips: 3, swings: 3, why: null })
    expect(Math.abs(told!.m! - 0.028)).toBeLessThan(3 * told!.sigmaM!)
    expect(told!.sigmaM).toBeLessThan(0.01)
    // Another club is another swing.
    await measure(clips[3]!.id, 20)
    await desk.call('clip.update', { id: clips[3]!.id, patch: { club: 'driver' } })
    const both = await desk.call('repeatability.fromSwings', { studentId })
    expect(both.map(({ club, clips: n, m }) => [club, n, m !== null])).toEqual([['7-iron', 3, true], ['driver', 1, false]])
    await desk.close()
  })

  test('comes with a migration that leaves earlier students without one, and goes with a backup', () => {
    using folder = temporaryFolder()
    const files = { file: join(folder.path, 'library.sqlite'), backups: join(folder.path, 'backups') }
    const old = openDatabase({ ...files, known: migrations.slice(0, 12) })
    old.exec(`INSERT INTO students VALUES ('s', 'Ada', 'left', 1.7, '[]', 'g', 'draw', '', 0, '{}', 5)`)
    old.close()
    const db = openDatabase(files)
    expect(listStudents(db)).toMatchObject([{ id: 's', name: 'Ada', repeatability: null }])
    setRepeatability(db, 's', found)
    expect(getStudent(db, 's')!.repeatability).toEqual(found)
    // What a later program may have written and this one does not understand is as good as none.
    db.prepare(`UPDATE repeatability SET record = '{"m":"much"}'`).run()
    expect(getStudent(db, 's')!.repeatability).toBeNull()
    db.prepare(`DELETE FROM students WHERE id = 's'`).run()
    expect(db.prepare('SELECT * FROM repeatability').all()).toEqual([])
    db.close()
  })
})

describe('how a student repeats, in what is measured', () => {
  const film = filmedSwing(3)
  const both = [...allFrames(film, 0), ...allFrames(film, 1)]

  test('goes into the points file of two swings, not into that of one', () => {
    const two = assembleSwing(film.swing(both, { oneSwing: false, repeatability: found }))
    expect(two.ok && two.file).toMatchObject({ sameSwing: false, repeatabilityM: 0.031, repeatabilityFrom: found.from })
    expect(two.ok && parsePointsFile(JSON.parse(JSON.stringify(two.file))).ok).toBe(true)
    const one = assembleSwing(film.swing(both, { repeatability: found }))
    expect(one.ok && one.file.repeatabilityM).toBeUndefined()
    const unset = assembleSwing(film.swing(both, { oneSwing: false }))
    expect(unset.ok && unset.file.repeatabilityM).toBeUndefined()
  })

  test('a larger figure makes a larger error, and the basis says whose it is', () => {
    const rig = twoSwingRig(seededRandom(11), 0.02).file
    const azimuth = (more: object) => {
      const { repeatabilityM: _, ...file } = rig
      return measureSwing({ ...file, ...more }).measures.find(({ id, at }) => id === 'shaft-azimuth' && at === 'top')!
    }
    const [small, large] = [azimuth({ repeatabilityM: 0.01, repeatabilityFrom: { by: 'coach' } }), azimuth({ repeatabilityM: 0.06, repeatabilityFrom: { by: 'swings', swings: 4, sigmaM: 0.004 } })]
    expect(large.sigma).toBeGreaterThan(1.5 * small.sigma)
    expect(small.basis).toContain('repeatability 1.0 cm, set by the coach')
    expect(large.basis).toContain('repeatability 6.0 +- 0.4 cm, from 4 swings')
    expect(azimuth({ repeatabilityM: 0.03 }).basis).toContain('repeatability 3.0 cm, as the file gives it')
    const assumed = azimuth({})
    expect(assumed.basis).toContain('repeatability 2.5 cm, assumed: none is set for the student')
    expect(assumed.sigma).toBeCloseTo(azimuth({ repeatabilityM: 0.025 }).sigma, 9)
  })

  test('clips that lack what is needed are counted and told', () => {
    const about = (clip: (typeof film.clips)[number], records: typeof both) =>
      readOwnClip({ clip, statureM: 1.8, club: null, records: film.records(records), clickError: { squares: 0, freedom: 0 } })
    expect(repeatsOf([about(film.clips[0]!, [])])).toEqual({ clips: 0, swings: 0, m: null, sigmaM: null, why: 'None is measured so far.' })
    const noAnkles = allFrames(film, 0).filter((record) => record.kind !== 'landmark' || !record.point.endsWith('Ankle'))
    const lame = repeatsOf([noAnkles, noAnkles, allFrames(film, 0)].map((records) => about(film.clips[0]!, records)))
    expect(lame).toMatchObject({ clips: 3, swings: 1, m: null, why: expect.stringMatching(/^Of 3 that are measured only 1 can be used: .*(ankle|scale)/) })
    const told = repeatsOf([about(film.clips[0]!, allFrames(film, 0)), about(film.clips[0]!, allFrames(film, 0))])
    expect(told).toMatchObject({ clips: 2, m: null, why: 'Two are measured so far.' })
  })
})
