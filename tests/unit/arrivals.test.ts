import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Delivery, Student, Swing } from '../../shared/contract/student.ts'
import type { Handoff, Walkthrough } from '../../shared/contract/walkthrough.ts'
import { arrivalOf, clipsOf, pairOf, sides } from '../../renderer/arrivals/groups.ts'
import { goesWithClips, goesWithStudent } from '../../renderer/arrivals/removal.ts'
import { rateFault, readRate } from '../../renderer/arrivals/clubs.ts'
import { secondsLeftOf, jobsSummary } from '../../renderer/ui/jobTimes.ts'
import { withJob } from '../../renderer/ui/libraryStore.ts'
import { byteWords, countWords, durationWords, isoDay, rateWords, removedCounts, timeLeft, waited } from '../../renderer/ui/words.ts'
import { arrivalPage, arrivals, studentsInOrder } from '../fixtures/arrivalLists.ts'
import { emptyState, fullState, noFootprint } from '../fixtures/fakeDesk.ts'

const now = Date.UTC(2026, 4, 20, 12)
const day = 86_400_000

function lists(more: { walkthroughs?: Walkthrough[]; handoffs?: Handoff[]; swings?: Swing[]; deliveries?: Delivery[]; students?: Student[] } = {}) {
  return { ...fullState(now), walkthroughs: [], handoffs: [], ...more }
}
const all = { studentId: null, text: '', show: 'all' } as const
const names = (found: ReturnType<typeof arrivals>): (string | null)[] => found.map((arrival) => arrival.student?.name ?? null)

const walkthrough = (id: string, swingId: string | null, studentId: string | null): Walkthrough =>
  ({ id, swingId, studentId, title: id, durationMs: 1000, sampleRate: 48_000, state: 'whole', createdAt: now })
const handoff = (walkthroughId: string, createdAt: number, path: string | null): Handoff =>
  ({ id: `h-${walkthroughId}`, walkthroughId, jobId: '', settings: { size: '720p', orientation: 'portrait', fps: 30, title: '' }, path, bytes: null, createdAt })

describe('arrivals', () => {
  it('stand in the order of the wait, the longest on top', () => {
    expect(names(arrivals(lists(), all))).toEqual(['Lio Marten', 'Ines Falk', null, 'Tobias Renner'])
  })
  it('are answered by a finished hand-off about one of their swings, and then stand last', () => {
    const answered = lists({ walkthroughs: [walkthrough('a', 'w1', 's1')], handoffs: [handoff('a', now, '/out.mp4')] })
    expect(names(arrivals(answered, all)).at(-1)).toBe('Ines Falk')
    expect(arrivals(answered, { ...all, studentId: 's1' })[0]!.answeredAt).toBe(now)
    expect(names(arrivals(answered, { ...all, show: 'waiting' }))).not.toContain('Ines Falk')
  })
  it('of no delivery, as a reference swing has none, wait for nobody', () => {
    const clips = lists().clips.map((clip) => (clip.studentId === 's2' ? { ...clip, deliveryId: null } : clip))
    const reference = { ...lists(), clips, deliveries: lists().deliveries.filter(({ studentId }) => studentId !== 's2') }
    expect(names(arrivals(reference, { ...all, show: 'waiting' }))).toEqual(['Lio Marten', 'Ines Falk', null])
    expect(arrivals(reference, all).at(-1)).toMatchObject({ student: { id: 's2' }, answeredAt: null, waits: false })
    expect(studentsInOrder(reference).map(({ student, waitsSince, answered }) => [student.id, waitsSince !== null, answered])).toEqual([
      ['s3', true, true], ['s1', true, true], ['s4', false, false], ['s2', false, false],
    ])
  })
  it('are not answered by what is unfinished, older, or about another swing', () => {
    for (const more of [
      { walkthroughs: [walkthrough('a', 'w1', 's1')], handoffs: [handoff('a', now, null)] },
      { walkthroughs: [walkthrough('a', 'w1', 's1')], handoffs: [handoff('a', now - 30 * day, '/out.mp4')] },
      { walkthroughs: [walkthrough('a', 'other', 's1')], handoffs: [handoff('a', now, '/out.mp4')] },
      { walkthroughs: [walkthrough('a', null, 's2')], handoffs: [handoff('a', now, '/out.mp4')] },
    ]) expect(arrivals(lists(more), { ...all, studentId: 's1' })[0]!.answeredAt).toBeNull()
  })
  it('hold each clip once, pairs together', () => {
    const found = arrivals(lists(), all)
    const ids = found.flatMap((arrival) => arrival.units.flatMap(clipsOf)).map((clip) => clip.id)
    expect(ids.toSorted()).toEqual(fullState(now).clips.map((clip) => clip.id).toSorted())
    const units = found.find((arrival) => arrival.student?.id === 's1')!.units
    expect(units.map((unit) => clipsOf(unit).map((clip) => clip.id))).toEqual([['wedge-front', 'wedge-line'], ['driver-line']])
  })
  it('are found by words in any of their texts, all of them needed', () => {
    expect(names(arrivals(lists(), { ...all, text: 'STUCK driver' }))).toEqual(['Ines Falk'])
    expect(names(arrivals(lists(), { ...all, text: 'img_2240' }))).toEqual(['Tobias Renner'])
    expect(names(arrivals(lists(), { ...all, text: 'down the line' }))).toEqual(['Ines Falk'])
    expect(arrivals(lists(), { ...all, text: 'stuck nowhere' })).toEqual([])
  })
  it('come from the desk by pages and lie on the table as they did', () => {
    const whole = arrivals(lists(), all)
    const pages = [0, 2].flatMap((offset) => arrivalPage(lists(), all, offset, 2).items.map((item) => arrivalOf(item, lists().students)))
    expect(pages).toEqual(whole)
  })
  it('lists students by their wait, then by name, and those who wait for nothing last', () => {
    expect(studentsInOrder(lists()).map(({ student, clips }) => [student.id, clips])).toEqual([['s3', 1], ['s1', 3], ['s2', 1], ['s4', 0]])
    expect(studentsInOrder({ ...emptyState(), walkthroughs: [], handoffs: [] })).toEqual([])
  })
})

describe('a pair', () => {
  it('has the face-on clip at the left and the down-the-line clip at the right, else the order of choosing', () => {
    const view = fc.constantFrom('face-on' as const, 'down-the-line' as const, 'other' as const)
    fc.assert(fc.property(view, view, (a, b) => {
      const [left, right] = sides({ view: a, n: 1 }, { view: b, n: 2 })
      expect([left.n, right.n].toSorted()).toEqual([1, 2])
      if (right.view === 'face-on') expect(left.view).toBe('face-on')
      if (left.view === 'down-the-line') expect(right.view).toBe('down-the-line')
      if (a === b) expect(left.n).toBe(1)
    }))
  })
  it('is told from a swing of one clip', () => {
    const { swings } = fullState(now)
    expect(pairOf('wedge-line', swings)?.id).toBe('w1')
    expect(pairOf('driver-line', swings)).toBeNull()
    expect(pairOf('a', [{ ...swings[0]!, leftClipId: 'a', rightClipId: null }])).toBeNull()
  })
})

describe('what goes', () => {
  const hanging = { walkthroughs: 1, titles: ['Your slice'], handoffs: 1, videos: ['/out.mp4'] }
  it('names each clip, its marks and its pairing', () => {
    const { clips } = fullState(now)
    expect(goesWithClips(clips.slice(0, 1), { ...noFootprint, ...hanging, clips: 1, marks: 2, pairings: 1, points: 1, findings: 3, lessons: 1, plans: 2 })).toEqual([
      'wedge-front.mov, 18.4 MB, and its review copy', '2 marks drawn on it', '1 pairing', '1 placed point', '3 findings', '1 walkthrough: Your slice', '1 edited lesson', '2 practice plans',
      '1 hand-off, with the video on this machine: /out.mp4',
    ])
  })
  it('names everything of a student, and says how many more there are of a long list', () => {
    const [student] = fullState(now).students
    const goes = goesWithStudent(student!, { ...noFootprint, ...hanging, students: 1, clips: 25, bytes: 55_200_000, deliveries: 2, prescriptions: 1, fileNames: Array.from({ length: 25 }, (_, i) => `${i}.mov`) })
    expect(goes).toEqual([
      'The record of Ines Falk: goals, clubs, injuries, consent', 'The questions and feels of 2 deliveries', `25 clips (55.2 MB): ${Array.from({ length: 20 }, (_, i) => `${i}.mov`).join(', ')}, 5 more`,
      '1 prescribed drill', '1 walkthrough: Your slice', '1 hand-off, with the video on this machine: /out.mp4', 'Copies of the database that an earlier upgrade has kept, if there are any',
    ])
  })
  it('is told afterwards in words, one or more of each', () => {
    expect(removedCounts({ ...noFootprint, clips: 2, points: 12, findings: 1, prescriptions: 2, plans: 1, walkthroughs: 1, lessons: 1, handoffs: 2 })).toBe('2 clips, 12 placed points, 1 finding, 2 prescribed drills, 1 plan, 1 walkthrough, 1 edited lesson and 2 hand-offs')
    expect(removedCounts({ ...noFootprint, clips: 1, points: 1 })).toBe('1 clip and 1 placed point')
  })
})

describe('a capture rate', () => {
  it.each([['240', 240], ['59,94', 59.94], ['29.97', 29.97]])('%s is taken', (text, rate) => {
    expect(rateFault(text)).toBeNull()
    expect(readRate(text)).toBe(rate)
  })
  it.each(['', '0', '-30', 'fast', '1e9'])('"%s" is refused with a sentence', (text) => expect(rateFault(text)).toMatch(/frames a second/))
})

describe('jobs', () => {
  const { jobs } = fullState(now)
  it('that wait are counted as long as those that run', () => {
    // 42 % done with 38 s to go is 65.5 s for the whole.
    expect(secondsLeftOf(jobs)).toBeCloseTo(38 + 38 / 0.58, 6)
    expect(secondsLeftOf(jobs.filter((job) => job.state !== 'running'))).toBeNull()
    expect(secondsLeftOf([])).toBeNull()
  })
  it('are summed up in words', () => {
    expect(jobsSummary(jobs, timeLeft)).toBe('2 jobs, about 2 min left, 1 failed')
    expect(jobsSummary([], timeLeft)).toBe('No jobs')
  })
  it('are replaced in place, new ones put last', () => {
    const changed = { ...jobs[1]!, state: 'running' as const }
    expect(withJob(jobs, changed)).toEqual(jobs.with(1, changed))
    expect(withJob(jobs, { ...changed, id: 'new' }).at(-1)!.id).toBe('new')
  })
})

describe('words', () => {
  it.each([[null, 'time left not known yet'], [Infinity, 'time left not known yet'], [2, 'a few seconds left'], [38, 'about 40 s left'], [54.9, 'about 55 s left'], [57, 'about 1 min left'], [150, 'about 3 min left'], [3599, 'about 60 min left'], [5400, 'about 1 h 30 min left']])(
    '%s seconds: %s', (seconds, words) => expect(timeLeft(seconds)).toBe(words))
  it('say how long somebody waits', () => {
    expect(waited(now - 50 * 60_000, now)).toBe('less than an hour')
    expect(waited(now - 60 * 60_000, now)).toBe('1 hour')
    expect(waited(now - 47.5 * 3_600_000, now)).toBe('47 hours')
    expect(waited(now - 3 * day, now)).toBe('3 days')
    expect(waited(now + day, now)).toBe('less than an hour')
  })
  it('say rates, sizes, durations and counts', () => {
    expect(rateWords(240, 30)).toBe('filmed at 240, plays at 30')
    expect(rateWords(59.94, 59.9400599)).toBe('59.94 a second')
    expect(byteWords(0)).toBe('0 bytes')
    expect(byteWords(18_432_000)).toBe('18.4 MB')
    expect(byteWords(999_999_999)).toBe('1.0 GB')
    expect(durationWords(0.5)).toBe('0.50 s')
    expect(durationWords(72)).toBe('1 min 12 s')
    expect(countWords({ clip: 2, swing: 1, mark: 0, walkthrough: 3 })).toBe('2 clips, 1 swing and 3 walkthroughs')
    expect(countWords({ clip: 0 })).toBe('nothing')
    expect(isoDay(new Date(2026, 0, 5, 23, 59).getTime())).toBe('2026-01-05')
  })
})
