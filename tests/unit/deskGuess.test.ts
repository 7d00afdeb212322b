import { describe, expect, test } from 'vitest'
import { guessFromName } from '../../electron/desk/guess.ts'
import { pairsOf } from '../../electron/desk/pairing.ts'
import { TimeLeft } from '../../electron/desk/timeLeft.ts'

const students = [
  { id: '1', name: 'Ada Lind' },
  { id: '2', name: 'Bo Lindqvist' },
  { id: '3', name: 'Zoé' },
  { id: '4', name: 'Caddie Lineman' },
]

describe('what a file name tells', () => {
  test.each([
    ['face on.mp4', 'face-on'],
    ['FaceOn_2.MOV', 'face-on'],
    ['swing-FO-3.mp4', 'face-on'],
    ['IMG_2041 front.mov', 'face-on'],
    ['fo1.mp4', 'face-on'],
    ['7i dtl.mp4', 'down-the-line'],
    ['DTL2.mov', 'down-the-line'],
    ['down the line.mp4', 'down-the-line'],
    ['DownTheLine.mp4', 'down-the-line'],
    ['from_behind.mp4', 'down-the-line'],
    ['side view.mp4', 'down-the-line'],
    ['side-on front.mp4', 'face-on'],
    ['IMG_2041.MOV', null],
    ['food.mp4', null],
    ['outline.mp4', null],
    ['frontier.mp4', null],
    ['face and dtl.mp4', null],
    ['VID_20260501_101112.mp4', null],
    ['', null],
  ])('%s is %s', (name, view) => expect(guessFromName(name, students).view).toBe(view))

  test.each([
    ['ada lind dtl.mp4', '1'],
    ['AdaLind-1.mp4', '1'],
    ['adalind.mp4', '1'],
    ['Ada 7i.mov', '1'],
    ['zoe face.mp4', '3'],
    ['ZOÉ.mp4', '3'],
    ['bo lindqvist.mp4', '2'],
    ['lindqvist_2.mp4', '2'],
    ['/sdcard/ada/IMG_1.mp4', null],
    ['bo.mp4', null],
    ['IMG_1.mp4', null],
    ['adamant.mp4', null],
  ])('%s is of student %s', (name, id) => expect(guessFromName(name, students).studentId).toBe(id))

  test('a name is not taken for a view', () => {
    expect(guessFromName('Caddie Lineman dtl.mp4', students)).toEqual({
      view: 'down-the-line',
      studentId: '4',
      studentName: 'Caddie Lineman',
    })
    expect(guessFromName('Caddie Lineman.mp4', students).view).toBe(null)
  })
  test('two who share a name are told apart by the whole of it only', () => {
    const twins = [
      { id: '1', name: 'Ada Lind' },
      { id: '2', name: 'Ada Moss' },
    ]
    expect(guessFromName('ada.mp4', twins).studentId).toBe(null)
    expect(guessFromName('ada moss.mp4', twins).studentId).toBe('2')
  })
})

describe('pairs of a batch', () => {
  const clip = (
    id: string,
    view: 'face-on' | 'down-the-line' | 'other',
    filmedAt: number | null = null,
    swingId: string | null = null,
  ) => ({ id, view, club: '', swingId, studentId: null, takenInAt: 1, filmedAt })
  const ids = (clips: readonly ReturnType<typeof clip>[]) => pairsOf(clips).map(([left, right]) => `${left.id}${right.id}`)

  test('face-on with down the line, in the order they came', () =>
    expect(ids([clip('a', 'face-on'), clip('b', 'face-on'), clip('x', 'down-the-line'), clip('y', 'down-the-line')])).toEqual(['ax', 'by']))
  test('by the time of filming where the phone says it of all', () =>
    expect(
      ids([clip('a', 'face-on', 30), clip('b', 'face-on', 10), clip('x', 'down-the-line', 12), clip('y', 'down-the-line', 31)]),
    ).toEqual(['bx', 'ay']))
  test('one date missing: as they came', () =>
    expect(ids([clip('a', 'face-on', 30), clip('b', 'face-on'), clip('x', 'down-the-line', 12)])).toEqual(['ax']))
  test('what has no counterpart, or a swing already, stays alone', () =>
    expect(ids([clip('a', 'face-on', null, 's'), clip('b', 'other'), clip('x', 'down-the-line')])).toEqual([]))
})

describe('time left', () => {
  test('says nothing before it can know', () => {
    const left = new TimeLeft(0)
    expect(left.seconds(500, 0.4)).toBe(null)
    expect(left.seconds(5000, 0.01)).toBe(null)
  })
  test('is right for a steady pace', () => {
    const left = new TimeLeft(0)
    for (let ms = 1000; ms < 20_000; ms += 1000) expect(left.seconds(ms, ms / 20_000)).toBeCloseTo((20_000 - ms) / 1000, 5)
    expect(left.seconds(20_000, 1)).toBe(0)
  })
  test('follows a change of pace', () => {
    const left = new TimeLeft(0)
    let share = 0
    for (let ms = 1000; ms <= 10_000; ms += 1000) left.seconds(ms, (share += 0.05))
    let told = 0
    for (let ms = 11_000; ms <= 20_000; ms += 1000) told = left.seconds(ms, (share += 0.01))!
    // 40 s at the new pace; the plain average would say 13.
    expect(told).toBeGreaterThan(18)
  })
})
