import { describe, expect, test } from 'vitest'
import { bodyParts, drillAreas, starterCardSchema, type BodyPart } from '../../shared/contract/drill.ts'
import { clearSpace, notMedical, partsNamed, partsToMind, safetyOf, safetyOfAll } from '../../shared/plan/safety.ts'
import { doseWords } from '../../shared/plan/words.ts'
import { starterCards } from '../../electron/library/starterCards.ts'

const cards = starterCards()
const wordsOf = (card: (typeof cards)[number]): string => [card.title, card.changes, ...card.needs, ...card.how, card.feel, card.film, card.mistake].join(' ')

describe('starter cards', () => {
  test('are at least 24, three for every part of the swing, each with a title of its own', () => {
    expect(cards.length).toBeGreaterThanOrEqual(24)
    for (const area of drillAreas) expect(cards.filter((card) => card.area === area).length, area).toBeGreaterThanOrEqual(3)
    expect(new Set(cards.map(({ title }) => title)).size).toBe(cards.length)
    expect(cards.map(({ area }) => drillAreas.indexOf(area))).toEqual(cards.map(({ area }) => drillAreas.indexOf(area)).toSorted((a, b) => a - b))
  })

  test.each(cards.map((card) => [card.id, card] as const))('%s serves both hands, says how to do, feel, dose and film it', (_, card) => {
    expect(wordsOf(card)).not.toMatch(/\b(left|right)\b/i)
    expect(card.how.length).toBeGreaterThanOrEqual(3)
    // The feel is one sentence.
    expect(card.feel.match(/[.!?](\s|$)/g)).toHaveLength(1)
    expect(card.film).toMatch(/face-on|down the line|view|phone|side|picture/i)
    for (const text of [card.changes, ...card.how, card.mistake, card.film]) expect(text, text).toMatch(/[.!?]$/)
    // What a swing at speed loads is said.
    if (card.swing === 'full') expect(card.loads.length).toBeGreaterThan(0)
  })

  test('a card that lacks something, or knows more than there is, is refused', () => {
    const { id: _id, origin: _origin, clipId: _clip, ...card } = cards[0]!
    expect(starterCardSchema.safeParse(card).success).toBe(true)
    for (const wrong of [{ ...card, how: [] }, { ...card, feel: ' ' }, { ...card, area: 'putting' }, { ...card, dose: { sets: 0, repetitions: 5, daysAWeek: 3 } }, { ...card, loads: ['soul'] }, { ...card, more: 1 }])
      expect(starterCardSchema.safeParse(wrong).success).toBe(false)
  })
})

describe('safety', () => {
  test('goes with every card: not medical advice, stop on pain, ask first where it loads, clear space where a club swings', () => {
    for (const card of cards) {
      const said = safetyOf(card)
      expect(said[0]).toBe(notMedical)
      expect(said.includes(clearSpace)).toBe(card.swing !== 'none')
      if (card.loads.length > 0) expect(said[1]).toMatch(/ask a doctor or physiotherapist/)
    }
    expect(notMedical).toMatch(/not medical advice.*Warm up.*slowly.*stop at the first pain/)
    // Figures: DESIGN's check values, section 10: about 3 m each way, more for a driver (common practice, no source).
    expect(clearSpace).toMatch(/3 m.*driver.*phone and other people/)
    const all = safetyOfAll(cards)
    expect(all).toHaveLength(3)
    expect(all[1]).toBe(`These drills load the hands, wrists, elbows, back, hips, knees, ankles, shoulders and neck: with a history there, ask a doctor or physiotherapist before you begin.`)
    expect(safetyOfAll([])).toEqual([])
  })

  test.each([
    ['Low back, after long sitting', ['back']],
    ['old shoulder injury (rotator cuff), L wrist', ['shoulder', 'wrist']],
    ['Tennis elbow', ['elbow']],
    ['slipped disc L4; cruciate ligament 2019', ['back', 'knee']],
    ['plantar fasciitis', ['ankle']],
    ['hay fever, background: office work', []],
    ['', []],
  ] as [string, BodyPart[]][])('a note "%s" names %j', (note, parts) => {
    expect([...partsNamed(note)].toSorted()).toEqual(parts.toSorted())
  })

  test('what a drill loads and a note names is to be minded', () => {
    expect(partsToMind(['back', 'hip'], 'Back pain; bad knee')).toEqual(['back'])
    expect(partsToMind([], 'Back pain')).toEqual([])
    expect(partsToMind(bodyParts, 'none')).toEqual([])
  })
})

test('a dose in words', () => {
  expect(doseWords({ sets: 3, repetitions: 8, daysAWeek: 5 })).toBe('3 sets of 8, 5 days a week')
  expect(doseWords({ sets: 1, repetitions: 4, daysAWeek: 7 })).toBe('1 set of 4, every day')
  expect(doseWords({ sets: 2, repetitions: 10, daysAWeek: 1 })).toBe('2 sets of 10, one day a week')
})
