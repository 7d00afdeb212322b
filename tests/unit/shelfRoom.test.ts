import { describe, expect, test } from 'vitest'
import type { Desk, Input } from '../../shared/contract/operations.ts'
import type { ShelfItem } from '../../shared/contract/shelf.ts'
import { studentAndReference } from '../../renderer/shelf/open.ts'
import { mostPages, Pages, pageSize } from '../../renderer/shelf/pages.ts'
import { chipWords } from '../../renderer/shelf/shelfWords.ts'
import { suggestions } from '../../renderer/shelf/suggest.ts'
import { parseShelfQuery } from '../../shared/shelf/query.ts'

const item = (key: string, more: Partial<ShelfItem> = {}): ShelfItem => ({
  key, swingId: null, clips: [{ id: key, view: 'face-on', fileName: `${key}.mp4`, seconds: 1, captureRate: 60, width: 2, height: 2 }], title: '', studentId: null, student: '', club: '', handedness: 'right',
  date: 0, note: '', question: '', feel: '', tags: [], collections: [], favourite: false, reference: false, permission: 'not-said', source: '', licence: '', ...more,
})

type Search = Input<'shelf.search'>
/** A desk that holds `total` swings and answers when it is let. */
function slowDesk(total: number) {
  const waiting: { readonly asked: Search; answer(): void }[] = []
  const call = (_name: string, asked: Search) => new Promise((resolve) => {
    const items = Array.from({ length: Math.max(0, Math.min(asked.limit, total - asked.offset)) }, (_, i) => item(`${asked.text}${asked.offset + i}`))
    waiting.push({ asked, answer: () => resolve({ total, items, order: 'newest', corrected: [] }) })
  })
  return { desk: { call } as unknown as Desk, waiting }
}
const turn = () => new Promise((resolve) => setTimeout(resolve))

describe('what is found, by pages', () => {
  test('keeps the same number of pages however far it is scrolled, those last looked at', async () => {
    const { desk, waiting } = slowDesk(100_000)
    const pages = new Pages(desk, { found: () => {}, more: () => {}, failed: () => {} })
    void pages.ask({ text: '', order: 'newest' })
    waiting.shift()!.answer()
    await turn()
    for (let at = 0; at < 100_000; at += 5 * pageSize) {
      pages.need(at, at + 30)
      for (const { answer } of waiting.splice(0)) answer()
      await turn()
      expect(pages.at(at)?.key).toBe(String(at))
      expect(pages.kept).toBeLessThanOrEqual(mostPages)
    }
    expect(pages.at(0)).toBeUndefined()
    // What is on its way is not asked for twice.
    pages.need(0, 10)
    pages.need(5, 20)
    expect(waiting).toHaveLength(1)
  })

  test('the newest query wins, whichever answer comes last; until then the old finds stay', async () => {
    const { desk, waiting } = slowDesk(500)
    const found: string[] = []
    const pages = new Pages(desk, { found: ({ text }) => found.push(text), more: () => {}, failed: () => {} })
    void pages.ask({ text: 'a', order: 'best' })
    waiting.shift()!.answer()
    await turn()
    pages.need(60, 70)
    const late = waiting.shift()!
    void pages.ask({ text: 'b', order: 'best' })
    void pages.ask({ text: 'c', order: 'best' })
    expect(pages.at(0)?.key).toBe('a0')
    waiting[1]!.answer()
    await turn()
    waiting[0]!.answer()
    late.answer()
    await turn()
    expect(found).toEqual(['a', 'c'])
    expect([pages.at(0)?.key, pages.at(60)]).toEqual(['c0', undefined])
    pages.put([item('c0', { favourite: true })])
    expect(pages.at(0)?.favourite).toBe(true)
  })

  test('a fault is told, and a page that failed is asked for again', async () => {
    const faults: unknown[] = []
    let fails = true
    const desk = { call: async () => {
      if (fails) throw new Error('gone')
      return { total: 1, items: [item('x')], order: 'newest', corrected: [] }
    } } as unknown as Desk
    const pages = new Pages(desk, { found: () => {}, more: () => {}, failed: (error) => faults.push(error) })
    await pages.ask({ text: '', order: 'newest' })
    expect(faults).toHaveLength(1)
    fails = false
    await pages.ask({ text: '', order: 'newest' })
    expect(pages.at(0)?.key).toBe('x')
  })
})

describe('what could follow', () => {
  const known = { words: { tags: ['slow hands', 'Tops'], clubs: ['7-iron', 'pitching wedge'], students: ['Réné', 'Ada'], total: 3 }, collections: [{ id: 'k', name: 'Good tops', count: 1 }] }
  const texts = (typed: string): string[] => suggestions(typed, known).map(({ text }) => text)
  test.each<[string, string[]]>([
    ['cl', ['club:']],
    ['rowan -co', ['rowan -collection:']],
    ['club:', ['club:7-iron ', 'club:"pitching wedge" ']],
    ['x club:we', ['x club:"pitching wedge" ']],
    ['student:re', ['student:Réné ']],
    ['tag:"slow h', ['tag:"slow hands" ']],
    ['-is:fav', ['-is:favourite ']],
    ['collection:tops', ['collection:"Good tops" ']],
    ['', []],
    ['club:7-iron ', []],
    ['note:any', []],
    ['nothing like it', []],
  ])('%j', (typed, list) => expect(texts(typed)).toEqual(list))
  test('what is taken is read as a whole filter', () => {
    for (const typed of ['club:', 'tag:', 'is:', 'collection:', 'student:', 'view:'])
      for (const { text } of suggestions(typed, known)) expect(parseShelfQuery(text).map(({ kind }) => kind)).toEqual([typed === 'is:' ? 'is' : 'field'])
  })
})

test('of two swings the reference is held against the other; of two of one kind the older against the newer', () => {
  const [model, old, now] = [item('model', { reference: true, date: 9 }), item('old', { date: 1 }), item('now', { date: 5 })]
  for (const pair of [[model, now], [now, model]] as const) expect(studentAndReference(...pair).map(({ key }) => key)).toEqual(['now', 'model'])
  for (const pair of [[old, now], [now, old]] as const) expect(studentAndReference(...pair).map(({ key }) => key)).toEqual(['now', 'old'])
})

test('chips say what they filter', () => {
  const words = (text: string): string[] => parseShelfQuery(text).map(chipWords)
  expect(words('-club:7-iron is:lessons-only date:2026-03 from:2026-01-02 to:2026-02 -late')).toEqual(['not club: 7-iron', 'For my lessons only', '2026-03-01 to 2026-03-31', 'from 2026-01-02', 'until 2026-02-28', 'not late'])
})
