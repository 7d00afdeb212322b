import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Delivery, Student, Swing } from '../../shared/contract/student.ts'
import type { Desk } from '../../shared/contract/operations.ts'
import type { Handoff, Walkthrough } from '../../shared/contract/walkthrough.ts'
import { arrivals, clipsOf, pairOf, sides, studentsInOrder } from '../../renderer/arrivals/groups.ts'
import { footprint, goesWithClips, goesWithStudent, shows } from '../../renderer/arrivals/removal.ts'
import { rateFault, readRate } from '../../renderer/arrivals/clubs.ts'
import { secondsLeftOf, jobsSummary } from '../../renderer/ui/jobTimes.ts'
import { withJob } from '../../renderer/ui/libraryStore.ts'
import { byteWords, countWords, durationWords, isoDay, rateWords, timeLeft, waited } from '../../renderer/ui/words.ts'
import { encodeHeader } from '../../shared/walkthrough/log.ts'
import { emptyStage, type StageClip } from '../../shared/walkthrough/stage.ts'
import { emptyState, fullState } from '../fixtures/fakeDesk.ts'

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

const stageClip = (id: string): StageClip => ({ id, view: 'face-on', handedness: 'right', width: 10, height: 10, frames: { timescale: 1, ticks: [0], endTick: 1 }, captureRate: 1, playRate: 1 })

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
  it('names each clip, its marks and its pairing', () => {
    const { clips, swings } = fullState(now)
    const lesson = walkthrough('Your slice', 'w1', 's1')
    expect(goesWithClips(clips.slice(0, 1), { marks: 2, walkthroughs: [lesson] }, { swings, handoffs: [handoff('Your slice', now, '/out.mp4')] })).toEqual([
      'wedge-front.mov, 18.4 MB, and its review copy', '2 marks drawn on it', '1 pairing', '1 walkthrough: Your slice', '1 hand-off, with the video on this machine: /out.mp4',
    ])
  })
  it('names everything of a student and nothing of another', () => {
    const state = lists({ walkthroughs: [walkthrough('Your slice', 'w1', 's1'), walkthrough('Not hers', null, 's2')], handoffs: [handoff('Your slice', now, '/out.mp4')] })
    const goes = goesWithStudent(state.students[0]!, { marks: 0, walkthroughs: [] }, state)
    expect(goes).toEqual([
      'The record of Ines Falk: goals, clubs, injuries, consent', 'The question and the feel that came with the clips', '3 clips (55.2 MB): wedge-front.mov, wedge-line.mov, driver-line.mov',
      '1 walkthrough: Your slice', '1 hand-off, with the video on this machine: /out.mp4', 'Copies of the database that an earlier upgrade has kept, if there are any',
    ])
  })
  it('finds the walkthroughs that show a clip in their logs, and reads none from before the clip came in', async () => {
    const log = (...ids: string[]): string => encodeHeader({ format: 'crossbearing-walkthrough', version: 1, clips: Object.fromEntries(ids.map((id) => [id, stageClip(id)])), initial: emptyStage })
    expect(shows(log('a', 'b'), new Set(['b']))).toBe(true)
    expect(shows(log('a'), new Set(['b']))).toBe(false)
    expect(shows('', new Set(['b']))).toBe(false)
    const texts: Record<string, string> = { one: log('a'), two: log('b'), old: log('a') }
    const read: string[] = []
    const call = async (name: string, input: { id?: string }): Promise<unknown> => {
      if (name === 'marks.list') return [{ id: 'm' }]
      read.push(input.id!)
      return { text: texts[input.id!] }
    }
    const desk = { call, listen: () => () => undefined } as unknown as Desk
    const walkthroughs = [walkthrough('one', null, null), walkthrough('two', null, null), { ...walkthrough('old', null, null), createdAt: now - 2 * day }]
    const found = await footprint(desk, [{ id: 'a', takenInAt: now - day }], walkthroughs)
    expect(found).toEqual({ marks: 1, walkthroughs: [walkthroughs[0]] })
    expect(read).toEqual(['one', 'two'])
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
