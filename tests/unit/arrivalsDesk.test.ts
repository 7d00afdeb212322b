import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { ArrivalBoard } from '../../electron/library/arrivals.ts'
import { listClips } from '../../electron/library/clips.ts'
import { openDatabase, type Sqlite } from '../../electron/library/database.ts'
import { footprintOfClips, footprintOfStudent } from '../../electron/library/footprint.ts'
import { listHandoffs } from '../../electron/library/handoffs.ts'
import { layoutOf } from '../../electron/library/layout.ts'
import { removeClip, removeStudent } from '../../electron/library/removal.ts'
import { listDeliveries, listStudents } from '../../electron/library/students.ts'
import { listSwings } from '../../electron/library/swings.ts'
import { listWalkthroughs, pageOfWalkthroughs } from '../../electron/library/walkthroughs.ts'
import { arrivalPage, studentsInOrder, type Lists } from '../fixtures/arrivalLists.ts'
import { temporaryFolder } from '../fixtures/desk.ts'

/** A small library of drawn rows, a layer of everything that hangs on clips among them. */
const librarySchema = fc.record({
  clips: fc.array(fc.record({ student: fc.integer({ min: -1, max: 3 }), delivery: fc.integer({ min: -1, max: 5 }), club: fc.constantFrom('7-iron', 'Driver', ''), view: fc.constantFrom('face-on', 'down-the-line', 'other'), note: fc.constantFrom('', 'Steep') }), { minLength: 1, maxLength: 12 }),
  pairs: fc.array(fc.tuple(fc.nat(11), fc.nat(11)), { maxLength: 4 }),
  lessons: fc.array(fc.record({ swing: fc.integer({ min: -1, max: 3 }), student: fc.integer({ min: -1, max: 3 }), shows: fc.nat(11), finished: fc.constantFrom(0, 1), at: fc.nat(2000), edited: fc.boolean() }), { maxLength: 5 }),
})
type Drawn = typeof librarySchema extends fc.Arbitrary<infer T> ? T : never

const consent = JSON.stringify({ student: { given: true, on: null }, guardian: { given: false, name: '', on: null }, purpose: '', until: null })

function fill(db: Sqlite, { clips, pairs, lessons }: Drawn): void {
  const put = (table: string, ...values: (string | number | null)[]): void => void db.prepare(`INSERT INTO ${table} VALUES (${values.map(() => '?').join(', ')})`).run(...values)
  const student = (n: number): string | null => (n < 0 ? null : `s${n}`)
  for (const n of [0, 1, 2, 3]) put('students', `s${n}`, ['Ada', 'Bo', 'Cleo', 'Dan'][n]!, 'right', null, '[]', '', '', '', 0, consent, 0)
  for (const n of [0, 1, 2, 3, 4, 5]) put('deliveries', `d${n}`, student((n % 4) - 1), n % 2 ? 'Why does it slice?' : '', 'Stuck', 1000 - 37 * n, 'none', 1)
  clips.forEach((clip, i) => {
    const hash = i.toString(16).padStart(64, '0')
    put('originals', hash, 100 + i, 0)
    put('clips', `c${i}`, student(clip.student), null, clip.delivery < 0 ? null : `d${clip.delivery}`, clip.view, clip.club, 'right', `IMG_${i}.mov`, hash, 10, 10, 30, 'file', 30, 0, 0, 'h264', 10, 10, 500 + 11 * i, null, clip.note)
    put('frameIndexes', `c${i}`, 1000, '[0,40]', 2, 80, '{}')
    put('marks', `m${i}`, `c${i}`, '{}')
    put('digitised', `p${i}`, `c${i}`, '{}')
    put('findings', `f${i}`, `c${i}`, null, '', '{}', 1, 'aside', 0, 0)
  })
  const clip = (n: number): string => `c${n % clips.length}`
  pairs.forEach(([left, right], i) => {
    if (clip(left) !== clip(right)) put('swings', `w${i}`, student(clips[left % clips.length]!.student), null, '', clip(left), clip(right), 'one-swing', null, null, i)
  })
  const swings = new Set(listSwings(db).map(({ id }) => id))
  lessons.forEach(({ swing, student: whose, shows, finished, at, edited }, i) => {
    put('walkthroughs', `l${i}`, swings.has(`w${swing}`) ? `w${swing}` : null, student(whose), `Lesson ${i}`, 48_000, 48_000, 'whole', at)
    put('walkthroughClips', `l${i}`, clip(shows))
    put('handoffs', `h${i}`, `l${i}`, '', '{}', '/nowhere.mp4', finished, finished ? 1 : null, at)
    put('plans', `l${i}`, '{}')
    if (edited) put('lessons', `l${i}`, '{}', 0, 0)
    put('prescriptions', `r${i}`, student(whose), `l${i}`, 'card', '{}', '{}', '', null, 0, null, 0)
  })
}

function filled(folder: string, drawn: Drawn): { db: Sqlite; lists: Lists } {
  const layout = layoutOf(folder)
  const db = openDatabase({ file: join(folder, 'library.sqlite'), backups: layout.backups })
  db.transaction(() => fill(db, drawn))()
  return { db, lists: { students: listStudents(db), deliveries: listDeliveries(db), clips: listClips(db), swings: listSwings(db), walkthroughs: listWalkthroughs(db), handoffs: listHandoffs(db) } }
}

describe('what came in, by pages', () => {
  test('is what working through whole lists gives, for every filter', () => {
    fc.assert(fc.property(librarySchema, fc.constantFrom(null, 's0', 's2'), fc.constantFrom('', 'ada', 'STUCK slice', 'down the line', 'steep driver', 'img_3', 'nowhere'), fc.constantFrom('waiting' as const, 'all' as const), (drawn, studentId, text, show) => {
      using folder = temporaryFolder()
      const { db, lists } = filled(folder.path, drawn)
      const board = new ArrivalBoard(db)
      const filter = { studentId, text, show }
      const plain = arrivalPage(lists, filter, 0, 100)
      const pages = [0, 3].map((offset) => board.page(filter, offset, offset === 0 ? 3 : 100))
      const bare = (items: typeof plain.items) => items.map(({ clips, swings, ...rest }) => ({ ...rest, clips: clips.map(({ id }) => id).toSorted(), swings: swings.map(({ id }) => id).toSorted() }))
      // Two groups of the same instant may stand either way round.
      const sorted = (items: ReturnType<typeof bare>) => items.toSorted((a, b) => JSON.stringify(a).localeCompare(JSON.stringify(b)))
      expect(pages.map(({ total }) => total)).toEqual([plain.total, plain.total])
      const got = bare(pages.flatMap(({ items }) => items))
      expect(sorted(got)).toEqual(sorted(bare(plain.items)))
      expect(got.map(({ waits, receivedAt }) => [waits, receivedAt])).toEqual(plain.items.map(({ waits, receivedAt }) => [waits, receivedAt]))
      expect(board.students()).toEqual(studentsInOrder(lists).map(({ student, ...told }) => ({ studentId: student.id, ...told })))
      db.close()
    }), { numRuns: 30 })
  })
})

describe('what would go', () => {
  const told = ['students', 'clips', 'swings', 'marks', 'points', 'findings', 'prescriptions', 'plans', 'walkthroughs', 'lessons', 'handoffs'] as const
  const only = (counts: Readonly<Record<(typeof told)[number], number>>) => told.map((what) => [what, counts[what]])
  test('is what goes, with a clip and with a student', () => {
    fc.assert(fc.property(librarySchema, fc.boolean(), fc.nat(3), (drawn, isStudent, n) => {
      using folder = temporaryFolder()
      const { db } = filled(folder.path, drawn)
      const layout = layoutOf(folder.path)
      const before = isStudent ? footprintOfStudent(db, `s${n}`) : footprintOfClips(db, ['c0'])
      const went = isStudent ? removeStudent(db, layout, `s${n}`) : removeClip(db, layout, 'c0')
      expect(only(before)).toEqual(only(went))
      db.close()
    }), { numRuns: 30 })
  })
})

test('lessons come by pages, newest first, found by title and student, without what was recorded to be put into another', () => {
  using folder = temporaryFolder()
  const lesson = { swing: -1, student: 0, shows: 0, finished: 0, edited: false } as const
  const { db } = filled(folder.path, { clips: [{ student: 0, delivery: -1, club: '', view: 'other', note: '' }], pairs: [], lessons: [1, 2, 3, 4, 5].map((at) => ({ ...lesson, student: at === 5 ? 1 : 0, at })) })
  db.prepare(`INSERT INTO lessonTakes VALUES ('l0', 'l3', 1, NULL)`).run()
  db.prepare(`UPDATE walkthroughs SET state = 'recording' WHERE id = 'l1'`).run()
  const ids = (asked: Parameters<typeof pageOfWalkthroughs>[1]) => [pageOfWalkthroughs(db, asked).total, ...pageOfWalkthroughs(db, asked).items.map(({ id }) => id)]
  expect(ids({ text: '', offset: 0, limit: 2 })).toEqual([3, 'l4', 'l2'])
  expect(ids({ text: '', offset: 2, limit: 2 })).toEqual([3, 'l0'])
  expect(ids({ text: 'ADA lesson', offset: 0, limit: 9 })).toEqual([2, 'l2', 'l0'])
  expect(ids({ text: '', studentId: 's1', offset: 0, limit: 9 })).toEqual([1, 'l4'])
  expect(ids({ text: '', studentId: null, offset: 0, limit: 9 })).toEqual([0])
  db.close()
})
