import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { mirroredView, mirroredWords } from '../../shared/camera/solve/mirrored.ts'
import { fitReference } from '../../shared/compare/fit.ts'
import { pictureHand } from '../../shared/contract/clip.ts'
import { asRightHanded, mirrorPointsFile, parsePointsFile, turnedBack, type PointsFile } from '../../shared/contract/pointsFile.ts'
import { apply } from '../../shared/geometry/affine.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { referenceTransform } from '../../shared/picture/layout.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { assembleSwing } from '../../shared/swing/assemble.ts'
import { bearingMarks } from '../../shared/swing/bearingMarks.ts'
import { measurePrepared, measureSwing, prepareSwing } from '../../shared/swing/measureSwing.ts'
import { armsInCorner, missesInCorner } from '../../shared/markup/armsMarks.ts'
import { allFrames, filmedSwing } from '../fixtures/digitisedSwing.ts'
import { batchOf, clipFile, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'
import { randomRig } from '../fixtures/rigs.ts'

/** The same film as files that show the world left for right in these views. */
const filmedInMirror = (file: PointsFile, which: readonly boolean[]): PointsFile => {
  const turned = mirrorPointsFile(file)
  return { ...file, views: file.views.map((view, i) => (which[i] ? { ...turned.views[i]!, mirrored: true } : view)) }
}

describe('a swing filmed mirrored', () => {
  test('turned back is the same file, and the measures see the same right-hander', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 400 }), fc.tuple(fc.boolean(), fc.boolean()), fc.constantFrom('right', 'left'), (seed, which, handedness) => {
      const plain: PointsFile = { ...randomRig(seededRandom(seed)).file, handedness: 'right' }
      const file: PointsFile = handedness === 'left' ? { ...mirrorPointsFile(plain), handedness } : plain
      const filmed = filmedInMirror(file, which)
      const back = turnedBack(filmed)
      expect(back.views.every(({ mirrored }) => mirrored === undefined)).toBe(true)
      const seen = (one: PointsFile) => asRightHanded(one).views.map(({ frames, guides }) => [frames, guides])
      const [a, b, c] = [seen(plain), seen(back), seen(filmed)].map((views) => JSON.stringify(views, (_, value: unknown) => (typeof value === 'number' ? Math.round(value * 1e6) / 1e6 : value)))
      expect(b).toBe(a)
      expect(c).toBe(a)
    }), { numRuns: 12 })
  }, 60_000)

  test.each([[true, false], [false, true], [true, true]])('gives every number that it gives unmirrored: %s, %s', (one, two) => {
    const { file } = randomRig(seededRandom(31))
    const plain = measureSwing(file)
    const filmed = measureSwing(filmedInMirror(file, [one, two]))
    expect(filmed.measures.map(({ id, view, at }) => [id, view, at])).toEqual(plain.measures.map(({ id, view, at }) => [id, view, at]))
    filmed.measures.forEach((measure, i) => expect(Math.abs(measure.value - plain.measures[i]!.value), measure.id).toBeLessThan(1e-3 * plain.measures[i]!.sigma + 1e-9))
  })

  test('that nobody says is mirrored does not come to the same, or is refused', () => {
    const { file } = randomRig(seededRandom(31))
    const unsaid = filmedInMirror(file, [false, true]).views.map(({ mirrored: _said, ...view }) => view)
    const told = measureSwing({ ...file, views: unsaid })
    const azimuth = told.measures.find(({ id }) => id === 'shaft-azimuth')
    expect(azimuth).toBeUndefined()
    const why = told.missing.find(({ id, at }) => id === 'shaft-azimuth' && at === 'top')!.why
    expect(mirroredView(why)).toBe('down-the-line')
  })

  test('may be a points file, and a camera matrix of its picture goes with it', () => {
    const film = randomRig(seededRandom(5))
    const cameras = { ...film.file, views: film.file.views.map((view, i) => ({ ...view, camera: { matrix: film.cameras[i]!.matrix } })) } as unknown as PointsFile
    const filmed = filmedInMirror(cameras, [true, false])
    expect(parsePointsFile(JSON.parse(JSON.stringify(filmed))).ok).toBe(true)
    const unsaid = { ...filmed, views: filmed.views.map(({ mirrored: _said, ...view }) => view) }
    expect(parsePointsFile(JSON.parse(JSON.stringify(unsaid)))).toMatchObject({ ok: false, error: expect.stringContaining('disagrees on handedness') })
    const near = measureSwing(filmed).measures.find(({ id, at }) => id === 'shaft-azimuth' && at === 'top')!
    expect(near.value).toBeCloseTo(measureSwing(cameras).measures.find(({ id, at }) => id === 'shaft-azimuth' && at === 'top')!.value, 6)
  })

  test('has what is drawn of it on the same pixels of its own file', () => {
    const film = filmedSwing(9)
    const both = [...allFrames(film, 0), ...allFrames(film, 1)]
    const turned = both.map((record) => (record.kind === 'landmark' && record.clipId === film.clips[1]!.id ? { ...record, at: [film.clips[1]!.width - record.at[0], record.at[1]] as unknown as typeof record.at } : record))
    const draw = (list: typeof both, mirrored: boolean) => {
      const clips = film.clips.map((clip, i) => (i === 1 ? { ...clip, mirrored } : clip))
      const assembled = assembleSwing({ ...film.swing(list), clips })
      if (!assembled.ok) throw new Error(assembled.reasons.join(' '))
      const swing = prepareSwing(assembled.file)
      return bearingMarks('is', swing, measurePrepared(swing), clips.map((clip) => ({ clip, from: 0, to: 0 })), 0)
    }
    const [plain, mirrored] = [draw(both, false), draw(turned, true)]
    expect(mirrored.map(({ id }) => id)).toEqual(plain.map(({ id }) => id))
    const fans = (marks: typeof plain) => marks.filter(({ shape }) => shape === 'fan')
    expect(fans(plain).length).toBe(2)
    fans(plain).forEach((fan, i) => {
      const own = film.clips.find(({ id }) => id === fan.clipId)!
      const isTurned = own.id === film.clips[1]!.id
      fan.points.forEach(([x, y], k) => {
        expect(fans(mirrored)[i]!.points[k]![0]).toBeCloseTo(isTurned ? own.width - x : x, 0)
        expect(fans(mirrored)[i]!.points[k]![1]).toBeCloseTo(y, 0)
      })
    })
    // The view from above agrees with the picture as the file has it, and turns with it.
    expect(plain.find(({ shape }) => shape === 'plan')!.reading!.handedness).toBe('right')
    expect(mirrored.find(({ shape }) => shape === 'plan')!.reading!.handedness).toBe('left')
  })

  test('shows the other hand in its file, and plates that lie on it are turned with it', () => {
    expect(pictureHand({ handedness: 'right', mirrored: true })).toBe('left')
    expect(pictureHand({ handedness: 'left', mirrored: true })).toBe('right')
    expect(pictureHand({ handedness: 'left' })).toBe('left')
    const clip = { id: 'c', width: 1080, height: 1920, handedness: 'right' } as const
    const misses = { handedness: 'right' } as never
    expect(missesInCorner(clip, null, misses, 0, []).misses!.handedness).toBe('right')
    expect(missesInCorner({ ...clip, mirrored: true }, null, misses, 0, []).misses!.handedness).toBe('left')
    expect(armsInCorner(clip, { from: 0, to: 0 }, () => null, [], {} as never, 0, [])).toBeNull()
  })

  test('is named by the solve in words that name the view', () => {
    const views = ['face-on', 'down-the-line'] as const
    expect(mirroredView(mirroredWords(views, [true, false], 1.2, 9, null))).toBe('face-on')
    expect(mirroredView(mirroredWords(views, [false, true], 1.2, null, 'No.'))).toBe('down-the-line')
    expect(mirroredView(mirroredWords(views, [true, true], 1.2, 9, null))).toBeNull()
  })
})

describe('a clip that was filmed mirrored, in the library', () => {
  test('is said to be, on the Shelf and in a bundle too, and goes with the clip', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(join(folder.path, 'library'))
    const student = await desk.call('student.save', studentOf('Ada'))
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'a.mp4')], { studentId: student.id }))
    await settled(desk)
    const [clip] = await desk.call('clip.list', {})
    expect(clip!.mirrored).toBe(false)
    expect(await desk.call('clip.update', { id: clip!.id, patch: { mirrored: true } })).toMatchObject({ mirrored: true, handedness: clip!.handedness })
    await desk.call('clip.update', { id: clip!.id, patch: { mirrored: true, note: 'front camera' } })
    expect((await desk.call('clip.list', {}))[0]).toMatchObject({ mirrored: true, note: 'front camera' })
    expect((await desk.call('clip.get', { id: clip!.id })).mirrored).toBe(true)
    const { items } = await desk.call('shelf.search', { text: '', order: 'newest', offset: 0, limit: 10 })
    expect(items[0]!.clips[0]!.mirrored).toBe(true)
    await desk.call('clip.update', { id: clip!.id, patch: { mirrored: false } })
    expect((await desk.call('clip.list', {}))[0]!.mirrored).toBe(false)
    await desk.call('clip.update', { id: clip!.id, patch: { mirrored: true } })
    await desk.call('clip.remove', { id: clip!.id })
    expect(await desk.call('clip.list', {})).toEqual([])
    await desk.close()
  })
})

describe('a reference beside a clip of which one was filmed mirrored', () => {
  const size = { width: 400, height: 800 }
  const own = { rect: { x: 0, y: 0, width: 200, height: 400 }, clip: size }
  const rect = { x: 200, y: 0, width: 200, height: 400 }
  const bare = { aligned: false, transform: { scale: 1, turn: 0, mirror: false, shift: [0, 0] } } as const
  const pane = (mirror: boolean, zoom = 1, centre: ReturnType<typeof imagePoint> | null = null) => ({ zoom, centre, mirror })
  /** Where the world's left side of the reference is drawn. */
  const leftOf = (of: boolean, own_: boolean, mirror: boolean): number => {
    const clip = { ...size, mirrored: of }
    return apply(referenceTransform(rect, { ...own, clip: { ...size, mirrored: own_ }, pane: pane(mirror) }, bare, clip), [of ? size.width : 0, 0])[0]
  }

  test('stands as the world is while the pane shows the student so, and turns with the pane', () => {
    for (const reference of [false, true])
      for (const student of [false, true]) {
        expect(leftOf(reference, student, student)).toBe(200)
        expect(leftOf(reference, student, !student)).toBe(400)
      }
  })

  test('zoomed, both look at the same side of the player', () => {
    const seen = (of: boolean): number => {
      const clip = { ...size, mirrored: of }
      const map = referenceTransform(rect, { ...own, pane: pane(false, 4, imagePoint(100, 400)) }, bare, clip)
      return apply(map, [of ? size.width - 100 : 100, 400])[0]
    }
    expect(seen(false)).toBeCloseTo(300, 6)
    expect(seen(true)).toBeCloseTo(300, 6)
  })

  test('is laid over the student turned where one of them looks like the other hand', () => {
    const side = (mirrored: boolean) => ({ ...size, handedness: pictureHand({ handedness: 'right', mirrored }), points: {}, roll: null, statureM: null, metresPerPx: null })
    const wish = { sizeBy: 'stature', alignOn: 'feet' } as const
    expect([[false, false], [true, false], [false, true], [true, true]].map(([a, b]) => fitReference(side(a!), side(b!), wish).transform.mirror)).toEqual([false, true, true, false])
  })
})
