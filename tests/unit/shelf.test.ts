import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import type { OpenDesk } from '../../electron/desk/createDesk.ts'
import { openDatabase, type Sqlite } from '../../electron/library/database.ts'
import { migrations } from '../../electron/library/migrations/index.ts'
import { searchShelf } from '../../electron/library/shelfSearch.ts'
import { slips } from '../../electron/library/shelfSpelling.ts'
import { batchOf, clipFile, headerOf, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'

const day = (text: string): number => new Date(`${text}T12:00:00`).getTime()
const titles = async (desk: OpenDesk, text: string, order: 'newest' | 'oldest' | 'best' = 'newest'): Promise<string[]> =>
  (await desk.call('shelf.search', { text, order, offset: 0, limit: 50 })).items.map(({ student, clips }) => `${student || '-'}: ${clips.map(({ fileName }) => fileName).join(' + ')}`)

/** Two students; Ada with a pair and a single clip, Bo left-handed with one; a clip of nobody. */
async function filled(folder: string, outside: string): Promise<{ desk: OpenDesk; ada: string; bo: string }> {
  let at = day('2026-03-02')
  const desk = openFakeDesk(folder, { now: () => (at += 1000) })
  const ada = await desk.call('student.save', studentOf('Ada Lindqvist'))
  const bo = await desk.call('student.save', studentOf('Bo Réné', { handedness: 'left' }))
  const take = async (files: readonly [string, 'face-on' | 'down-the-line'][], more: object): Promise<void> => {
    const batch = batchOf(files.map(([name]) => clipFile(outside, name)), more)
    await desk.call('takeIn.start', { ...batch, items: batch.items.map((item, i) => ({ ...item, view: files[i]![1] })) })
    await settled(desk)
  }
  await take([['a-front.mp4', 'face-on'], ['a-line.mp4', 'down-the-line']], { studentId: ada.id, pair: 'one-swing', question: 'Why does it slice?', feel: 'Stuck behind me' })
  at = day('2026-04-10')
  await take([['a-driver.mp4', 'face-on']], { studentId: ada.id, club: 'driver' })
  await take([['b-front.mp4', 'face-on']], { studentId: bo.id, club: 'pitching wedge' })
  at = day('2026-05-20')
  await take([['nobody.mp4', 'down-the-line']], { club: '' })
  return { desk, ada: ada.id, bo: bo.id }
}

describe('the Shelf', () => {
  test('finds by words anywhere and by place, as one types, in order of time', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk } = await filled(folder.path, outside.path)
    const pair = 'Ada Lindqvist: a-front.mp4 + a-line.mp4'
    const [driver, bo, nobody] = ['Ada Lindqvist: a-driver.mp4', 'Bo Réné: b-front.mp4', '-: nobody.mp4']
    expect(await titles(desk, '')).toEqual([nobody, bo, driver, pair])
    expect(await titles(desk, '', 'oldest')).toEqual([pair, driver, bo, nobody])
    expect(await titles(desk, 'lind')).toEqual([driver, pair])
    expect(await titles(desk, 'ada slice')).toEqual([pair])
    expect(await titles(desk, 'rene')).toEqual([bo])
    expect(await titles(desk, 'club:7-iron')).toEqual([pair])
    expect(await titles(desk, 'club:7-i')).toEqual([pair])
    expect(await titles(desk, 'view:dtl')).toEqual([nobody, pair])
    expect(await titles(desk, 'view:down-the-line -student:ada')).toEqual([nobody])
    expect(await titles(desk, 'asked:stuck')).toEqual([pair])
    expect(await titles(desk, 'file:b-front')).toEqual([bo])
    expect(await titles(desk, 'is:pair')).toEqual([pair])
    expect(await titles(desk, 'is:left-handed')).toEqual([bo])
    expect(await titles(desk, '-is:left-handed')).toEqual([nobody, driver, pair])
    expect(await titles(desk, 'date:2026-04')).toEqual([bo, driver])
    expect(await titles(desk, '2026-03-02')).toEqual([pair])
    expect(await titles(desk, 'from:2026-04-11')).toEqual([nobody])
    expect(await titles(desk, 'to:2026-04-10 march')).toEqual([pair])
    expect(await titles(desk, 'april')).toEqual([bo, driver])
    expect(await titles(desk, 'collection:none')).toEqual([])
    await desk.close()
  })

  test('finds in spite of slips of the hand and says what it looked for', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk } = await filled(folder.path, outside.path)
    const page = await desk.call('shelf.search', { text: 'lidnqvist drvier', order: 'best', offset: 0, limit: 10 })
    expect(page.corrected).toEqual([{ from: 'lidnqvist', to: 'lindqvist' }, { from: 'drvier', to: 'driver' }])
    expect(page.items.map(({ clips }) => clips[0]!.fileName)).toEqual(['a-driver.mp4'])
    // Quoted words are meant as they stand; what resembles nothing finds nothing.
    for (const text of ['"drvier"', 'qqxyzzy', 'a1']) expect(await desk.call('shelf.search', { text, order: 'best', offset: 0, limit: 10 })).toMatchObject({ total: 0, corrected: [] })
    await desk.close()
  })

  test('never trips over what is typed', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk } = await filled(folder.path, outside.path)
    await fc.assert(
      fc.asyncProperty(fc.oneof(fc.string({ maxLength: 30 }), fc.stringMatching(/^[-"*:(){}^ anorOTANDNEAR.+]{0,24}$/), fc.string({ unit: 'binary', maxLength: 8 })), async (text) => {
        const { total, items } = await desk.call('shelf.search', { text, order: 'best', offset: 0, limit: 10 })
        expect(items.length).toBe(Math.min(10, total))
      }),
      { numRuns: 300 },
    )
    await desk.close()
  })

  test('the index stays in step with whatever changes', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, ada, bo } = await filled(folder.path, outside.path)
    const driver = (await desk.call('clip.list', {})).find(({ fileName }) => fileName === 'a-driver.mp4')!
    await desk.call('clip.update', { id: driver.id, patch: { note: 'Laid off at the top', club: '3-wood', studentId: bo } })
    expect(await titles(desk, 'laid off')).toEqual(['Bo Réné: a-driver.mp4'])
    expect(await titles(desk, 'driver student:ada')).toEqual([])
    const [student] = (await desk.call('student.list', {})).filter(({ id }) => id === bo)
    await desk.call('student.save', { ...student!, name: 'Cy' })
    expect(await titles(desk, 'student:cy')).toHaveLength(2)
    expect(await titles(desk, 'student:bo')).toEqual([])
    const [delivery] = (await desk.call('delivery.list', {})).filter(({ question }) => question !== '')
    await desk.call('delivery.save', { ...delivery!, question: 'Why does it hook?' })
    expect([await titles(desk, 'slice'), await titles(desk, 'hook')].map((list) => list.length)).toEqual([0, 1])
    // A pair taken apart is two again, and what was noted of it stays with both.
    const [pair] = (await desk.call('shelf.search', { text: 'is:pair', order: 'newest', offset: 0, limit: 1 })).items
    await desk.call('shelf.tag', { keys: [pair!.key], add: ['slow hands'], remove: [] })
    await desk.call('swing.remove', { id: pair!.swingId! })
    expect(await titles(desk, 'tag:"slow hands"')).toHaveLength(2)
    const removed = await desk.call('clip.remove', { id: pair!.clips[0]!.id })
    expect(removed.clips).toBe(1)
    expect(await titles(desk, 'tag:slow')).toEqual(['Ada Lindqvist: a-line.mp4'])
    await desk.call('student.remove', { id: ada })
    expect(await titles(desk, '')).toHaveLength(3)
    await desk.close()
    consistent(folder.path)
    // Nothing of a student who was removed can be found in the file.
    const db = openDatabase({ file: join(folder.path, 'library.sqlite'), backups: folder.path })
    const terms = db.prepare<[], { term: string }>('SELECT term FROM shelfWords').all().map(({ term }) => term)
    expect(terms).not.toContain('lindqvist')
    db.close()
  })

  test('favourites, references, tags and collections', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk } = await filled(folder.path, outside.path)
    const { items } = await desk.call('shelf.search', { text: '', order: 'newest', offset: 0, limit: 50 })
    const [nobody, , , pair] = items
    // A reference of which nothing was said is for lessons only; what was said stays.
    expect((await desk.call('shelf.note', { keys: [nobody!.key], patch: { reference: true, favourite: true } }))[0]).toMatchObject({ reference: true, favourite: true, permission: 'lessons-only' })
    expect((await desk.call('shelf.note', { keys: [pair!.key], patch: { permission: 'may-be-sent' } }))[0]).toMatchObject({ permission: 'may-be-sent' })
    expect((await desk.call('shelf.note', { keys: [pair!.key], patch: { reference: true, source: 'A friend', licence: 'By word of mouth' } }))[0]).toMatchObject({ permission: 'may-be-sent', source: 'A friend', licence: 'By word of mouth' })
    expect(await titles(desk, 'is:reference is:favourite')).toHaveLength(1)
    expect(await titles(desk, 'is:may-be-sent')).toHaveLength(1)
    expect(await titles(desk, 'is:lessons-only')).toHaveLength(1)
    expect(await titles(desk, 'is:not-said')).toHaveLength(2)
    expect(await titles(desk, 'file:"word of mouth"')).toHaveLength(1)

    expect((await desk.call('shelf.tag', { keys: items.map(({ key }) => key), add: ['Tops', 'slow hands'], remove: [] }))[0]!.tags).toEqual(['slow hands', 'Tops'])
    expect((await desk.call('shelf.tag', { keys: [nobody!.key], add: ['TOPS'], remove: ['slow hands'] }))[0]!.tags).toEqual(['Tops'])
    expect(await titles(desk, 'tag:tops')).toHaveLength(4)
    // No phrase reaches from one tag into the next.
    expect(await titles(desk, 'tag:"hands tops"')).toEqual([])
    expect((await desk.call('shelf.words', {})).tags).toEqual(['Tops', 'slow hands'])

    const good = await desk.call('collection.save', { id: null, name: 'Good tops' })
    expect(await desk.call('collection.put', { id: good.id, keys: [nobody!.key, pair!.key], on: true })).toMatchObject({ count: 2 })
    expect(await titles(desk, 'collection:"good tops"')).toHaveLength(2)
    await expect(desk.call('collection.save', { id: null, name: 'GOOD TOPS' })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await desk.call('collection.save', { id: good.id, name: 'Tops' })
    expect(await titles(desk, '-collection:tops')).toHaveLength(2)
    const gone = await desk.call('collection.remove', { id: good.id })
    expect(gone.keys.toSorted()).toEqual([nobody!.key, pair!.key].toSorted())
    expect(await titles(desk, 'collection:tops')).toEqual([])
    await expect(desk.call('shelf.note', { keys: ['not there'], patch: { favourite: true } })).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    await desk.close()
    consistent(folder.path)
  })

  test('what is for lessons only cannot get into a hand-off, and says why', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk } = await filled(folder.path, outside.path)
    const [pair] = (await desk.call('shelf.search', { text: 'is:pair', order: 'newest', offset: 0, limit: 1 })).items
    const clips = await Promise.all(pair!.clips.map(({ id }) => desk.call('clip.get', { id })))
    const walkthrough = await desk.call('walkthrough.begin', { swingId: pair!.swingId, studentId: pair!.studentId, title: 'Talk', sampleRate: 48_000, header: headerOf(clips) })
    await desk.call('walkthrough.append', { id: walkthrough.id, at: 0, sound: new Uint8Array(9600), rows: [] })
    await desk.call('walkthrough.finish', { id: walkthrough.id })
    const start = () => desk.call('handoff.start', { walkthroughId: walkthrough.id, settings: { size: '720p', orientation: 'landscape', fps: 30, title: '' }, to: null })
    expect(await desk.call('shelf.gaps', { walkthroughId: walkthrough.id })).toEqual([])
    await desk.call('shelf.note', { keys: [pair!.key], patch: { permission: 'lessons-only' } })
    const [gap] = await desk.call('shelf.gaps', { walkthroughId: walkthrough.id })
    expect(gap).toEqual({ key: pair!.key, why: 'Ada Lindqvist, 7-iron is marked on the Shelf as for your lessons only, so nothing that shows it may be handed off.' })
    await expect(start()).rejects.toMatchObject({ fault: { kind: 'may-not-be-sent', message: gap!.why } })
    expect(await desk.call('handoff.list', {})).toEqual([])
    await desk.call('shelf.note', { keys: [pair!.key], patch: { permission: 'may-be-sent' } })
    await start()
    await settled(desk)
    await desk.close()
  })

  test('rows of the layout before are on the Shelf afterwards', () => {
    using folder = temporaryFolder()
    const options = { file: join(folder.path, 'library.sqlite'), backups: join(folder.path, 'backups') }
    const old = openDatabase({ ...options, known: migrations.slice(0, 4) })
    old.exec(`
      INSERT INTO students VALUES ('s', 'Ada', 'left', 1.7, '[]', '', '', '', 0, '{}', 5);
      INSERT INTO deliveries VALUES ('d', 's', 'Why?', 'Stuck', 9, 'none', 1);
      INSERT INTO swings VALUES ('w', 's', 'd', 'Best one', NULL, NULL, 'one-swing', NULL, NULL, 9);
      INSERT INTO jobs (id, kind, title, state, step, payload, createdAt) VALUES ('j', 'take-in', 'x', 'done', 'Taken in', '{}', 3)`)
    for (const [i, swing] of [`'w'`, `'w'`, 'NULL', 'NULL'].entries()) {
      const hash = String(i).repeat(64)
      // All at one instant, as a batch of files without dates is.
      old.exec(`INSERT INTO originals VALUES ('${hash}', 10, 5);
        INSERT INTO clips VALUES ('c${i}', 's', ${swing}, 'd', 'face-on', 'driver', 'left', 'c${i}.mp4', '${hash}', 2, 2, 60, 'tag', 60, 0, 0, 'h264', 2, 2, 1767225600000, NULL, '');
        INSERT INTO frameIndexes VALUES ('c${i}', 90000, '[0,1500]', 2, 3000, '{}')`)
    }
    old.exec(`UPDATE swings SET leftClipId = 'c0', rightClipId = 'c1'`)
    old.close()
    const db = openDatabase(options)
    const { items } = searchShelf(db, { text: 'ada best', order: 'newest', offset: 0, limit: 9 })
    expect(items).toMatchObject([{ key: 'w', title: 'Best one', clips: [{ id: 'c0', seconds: 3000 / 90_000 }, { id: 'c1' }], permission: 'not-said' }])
    expect(searchShelf(db, { text: 'student:ada', order: 'newest', offset: 0, limit: 9 }).total).toBe(3)
    expect(db.prepare(`SELECT id, state, place FROM jobs`).all()).toEqual([{ id: 'j', state: 'done', place: 1 }])
    db.prepare(`INSERT INTO jobs (id, kind, title, state, step, payload, createdAt) VALUES ('k', 'unbundle', 'x', 'done', '', '{}', 3)`).run()
    db.close()
    consistent(folder.path)
  })
})

/** The rows are what they would be if they were made now, and the index holds what the rows say. */
function consistent(folder: string): void {
  const db: Sqlite = openDatabase({ file: join(folder, 'library.sqlite'), backups: folder })
  const columns = 'key, swingId, firstClipId, secondClipId, student, club, view, tags, notes, words, source, day, flags'
  expect(db.prepare(`SELECT ${columns} FROM shelf ORDER BY key`).all()).toEqual(db.prepare(`SELECT ${columns} FROM shelfNow ORDER BY key`).all())
  db.prepare(`INSERT INTO shelfText (shelfText, rank) VALUES ('integrity-check', 1)`).run()
  db.close()
}

test('slips are counted as a hand makes them', () => {
  for (const [from, to, many] of [['driver', 'driver', 0], ['drvier', 'driver', 1], ['dirver', 'driver', 1], ['drive', 'driver', 1], ['driverr', 'driver', 1], ['drqver', 'driver', 1], ['wegde', 'wedge', 1], ['putter', 'butler', 2]] as const)
    expect([from, slips(from, to, 2)]).toEqual([from, many])
  expect(slips('iron', 'driver', 2)).toBe(3)
  // The same both ways, nothing only between equals, and never more than letters changed one by one.
  const word = fc.stringMatching(/^[a-d]{0,7}$/)
  fc.assert(fc.property(word, word, (a, b) => {
    const many = slips(a, b, 9)
    expect(many).toBe(slips(b, a, 9))
    expect(many === 0).toBe(a === b)
    expect(many).toBeLessThanOrEqual(Math.max(a.length, b.length))
  }))
})
