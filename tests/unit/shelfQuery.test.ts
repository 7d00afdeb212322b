import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { carriedTick, framesBefore } from '../../shared/shelf/frames.ts'
import { isoSpan, parseShelfQuery, queryText, shelfFacts, shelfFields, type ShelfTerm } from '../../shared/shelf/query.ts'

const words = (text: string, more: object = {}): ShelfTerm => ({ kind: 'words', text, whole: false, not: false, ...more })
const field = (name: (typeof shelfFields)[number], text: string, more: object = {}): ShelfTerm => ({ kind: 'field', field: name, text, whole: false, not: false, ...more })

describe('what is typed on the Shelf', () => {
  test.each<[string, ShelfTerm[]]>([
    ['', []],
    ['rowan', [words('rowan')]],
    ['  rowan   iron ', [words('rowan'), words('iron')]],
    ['club:7-iron', [field('club', '7-iron')]],
    ['Club:"pitching wedge" -view:face-on', [field('club', 'pitching wedge', { whole: true }), field('view', 'face-on', { not: true })]],
    ['"slow hands" -late', [words('slow hands', { whole: true }), words('late', { not: true })]],
    ['tag:"slow ha', [field('tag', 'slow ha', { whole: true })]],
    // Still being typed, or nothing that can be found.
    ['club:', []],
    ['club: x', [words('x')]],
    ['is:', []],
    ['is:fav', []],
    ['date:2026-1', []],
    ['- -- " ""', []],
    ['is:favourite -is:reference', [{ kind: 'is', fact: 'favourite', not: false }, { kind: 'is', fact: 'reference', not: true }]],
    ['what:ever', [words('what:ever')]],
    ['2026', [words('2026')]],
    ['2026-02', [{ kind: 'dates', from: '2026-02-01', to: '2026-02-28' }]],
    ['2024-02-29', [{ kind: 'dates', from: '2024-02-29', to: '2024-02-29' }]],
    ['2026-02-29', [words('2026-02-29')]],
    ['date:2026', [{ kind: 'dates', from: '2026-01-01', to: '2026-12-31' }]],
    ['date:2026-01..2026-03', [{ kind: 'dates', from: '2026-01-01', to: '2026-03-31' }]],
    ['date:2026-01..', [{ kind: 'dates', from: '2026-01-01', to: null }]],
    ['from:2026-03 to:2026-04-02', [{ kind: 'dates', from: '2026-03-01', to: null }, { kind: 'dates', from: null, to: '2026-04-02' }]],
  ])('%j', (text, terms) => expect(parseShelfQuery(text)).toEqual(terms))

  test('a term is read back as it was written', () => {
    const text = fc.stringMatching(/^[a-z0-9:.,äß]([a-z0-9 :.,äß-]{0,12}[a-z0-9äß])?$/).filter((one) => /[\p{L}\p{N}]/u.test(one))
    const isoDay = fc.integer({ min: 0, max: 40_000 }).map((n) => new Date(n * 86_400_000).toISOString().slice(0, 10))
    const term: fc.Arbitrary<ShelfTerm> = fc.oneof(
      fc.record({ kind: fc.constant('words' as const), text, whole: fc.constant(true), not: fc.boolean() }),
      fc.record({ kind: fc.constant('field' as const), field: fc.constantFrom(...shelfFields), text, whole: fc.constant(true), not: fc.boolean() }),
      fc.record({ kind: fc.constant('field' as const), field: fc.constantFrom(...shelfFields), text: fc.stringMatching(/^[a-z0-9]{1,8}$/), whole: fc.constant(false), not: fc.boolean() }),
      fc.record({ kind: fc.constant('is' as const), fact: fc.constantFrom(...shelfFacts), not: fc.boolean() }),
      fc.tuple(isoDay, isoDay).map(([a, b]) => ({ kind: 'dates' as const, from: a < b ? a : b, to: a < b ? b : a })),
      isoDay.map((from) => ({ kind: 'dates' as const, from, to: null })),
      isoDay.map((to) => ({ kind: 'dates' as const, from: null, to })),
    )
    fc.assert(fc.property(fc.array(term, { maxLength: 5 }), (terms) => {
      expect(parseShelfQuery(queryText(terms))).toEqual(terms)
    }))
  })

  test('never fails, and every term it gives can be found or is a bound', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 40 }), (typed) => {
      for (const one of parseShelfQuery(typed)) if (one.kind === 'words' || one.kind === 'field') expect(one.text).toMatch(/[\p{L}\p{N}]/u)
    }))
  })

  test('spans of dates are the calendar\'s', () => {
    expect([isoSpan('1900-02'), isoSpan('2000-02'), isoSpan('2026-04')]).toEqual([{ from: '1900-02-01', to: '1900-02-28' }, { from: '2000-02-01', to: '2000-02-29' }, { from: '2026-04-01', to: '2026-04-30' }])
    for (const text of ['2026-13', '2026-00', '2026-04-31', '26-04', '2026-4', '2026-04-00']) expect(isoSpan(text)).toBeNull()
  })
})

describe('the same frames in two files', () => {
  const from = { timescale: 90_000, ticks: [0, 1500, 4500, 6000], endTick: 7500 }
  test('are found where some come before and after, and in another counting', () => {
    expect(framesBefore(from, from)).toBe(0)
    const milli = { timescale: 1000, ticks: [0, 10, 40, 57, 90, 107, 123], endTick: 140 }
    expect(framesBefore(from, milli)).toBe(2)
    expect(framesBefore(from, { ...milli, ticks: [0, 17, 40] })).toBeNull()
    expect(framesBefore(from, { ...milli, ticks: [0, 17, 55, 67] })).toBeNull()
  })
  test('carry a tick to the same share of the same frame', () => {
    const to = { timescale: 1000, ticks: [5, 22, 55, 72], endTick: 89 }
    expect([0, 750, 1500, 3000, 7500, -9, 9999].map((tick) => carriedTick(from, to, 0, tick))).toEqual([5, 13.5, 22, 38.5, 89, 5, 89])
  })
})
