import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { addChapter, moveChapter, removeChapter, renameChapter, takeIn } from '../../shared/walkthrough/editHeadings.ts'
import { addFix, changeFix, runOfMark, spansOfFix } from '../../shared/walkthrough/editFixes.ts'
import {
  cutSpan, cutSpans, insertAt, moveSpan, pauseAt, replaceSpan, setCard, setLasts, stretchesOf, unusedStretches, within, withPieces,
} from '../../shared/walkthrough/editPieces.ts'
import { applyChange, changeBetween, EditConflict, isNoChange, reverseChange } from '../../shared/walkthrough/editSteps.ts'
import { asRecorded, editsSchema, lengthOf, lengthOfAll, toMs, toSamples, untouched, wholePiece, type CardPiece, type Edits, type Piece, type Take } from '../../shared/walkthrough/edits.ts'
import { encodeRows, stateAt, type LogRow } from '../../shared/walkthrough/log.ts'
import { editedReplay, joinFade } from '../../shared/walkthrough/programme.ts'
import type { StageEvent } from '../../shared/walkthrough/events.ts'
import type { StageClip } from '../../shared/walkthrough/stage.ts'
import { lesson, mark } from '../fixtures/lesson.ts'

let named = 0
const newId = (): string => `n${++named}`

const clip: StageClip = {
  id: 'clip', view: 'face-on', handedness: 'right', width: 1080, height: 1920, captureRate: 240, playRate: 30,
  frames: { timescale: 600, ticks: Array.from({ length: 200 }, (_, i) => i * 20), endTick: 4000 },
}
const events: fc.Arbitrary<StageEvent> = fc.oneof(
  fc.integer({ min: 0, max: 5000 }).map((tick): StageEvent => ({ type: 'seek', ticks: [tick, tick] })),
  fc.constantFrom(0.25, 1).map((rate): StageEvent => ({ type: 'play', motion: { rate, moving: 0, loop: null } })),
  fc.constant<StageEvent>({ type: 'stop' }),
  fc.constantFrom('m', 'n').chain((id) => fc.integer({ min: 0, max: 90 }).map((x): StageEvent => ({ type: 'marks', diff: { added: { [id]: mark(id, 'clip', { order: x }) }, updated: {}, removed: {} } }))),
  fc.constantFrom('m', 'n').map((id): StageEvent => ({ type: 'marks', diff: { added: {}, updated: {}, removed: { [id]: mark(id, 'clip') } } })),
)
const takeOf = (id: string, rows: readonly LogRow[], durationMs: number): Take => ({ id, log: lesson([clip], rows), durationMs })
const rowsOver = (durationMs: number): fc.Arbitrary<LogRow[]> =>
  fc.array(fc.tuple(fc.double({ min: 0, max: durationMs, noNaN: true }), events), { maxLength: 30 }).map((rows) => rows.toSorted((a, b) => a[0] - b[0]))
const someTake = (id: string): fc.Arbitrary<Take> => fc.integer({ min: 200, max: 4000 }).chain((durationMs) => rowsOver(durationMs).map((rows) => takeOf(id, rows, durationMs)))

/** Any list of pieces over takes `a` and `b` of a hundred samples: small enough to be written out sample by sample. */
const smallPiece: fc.Arbitrary<Piece> = fc.oneof(
  { weight: 4, arbitrary: fc.tuple(fc.constantFrom('a', 'b'), fc.integer({ min: 0, max: 99 }), fc.integer({ min: 1, max: 60 })).map(([takeId, from, length]): Piece => ({ id: newId(), kind: 'take', takeId, from, to: Math.min(100, from + length) })) },
  fc.tuple(fc.constantFrom('a', 'b'), fc.integer({ min: 0, max: 99 }), fc.integer({ min: 1, max: 20 })).map(([takeId, at, lasts]): Piece => ({ id: newId(), kind: 'hold', takeId, at, lasts })),
)
const smallPieces = fc.array(smallPiece, { maxLength: 8 })
const written = (pieces: readonly Piece[]): string[] =>
  pieces.flatMap((piece) => Array.from({ length: lengthOf(piece) }, (_, i) => (piece.kind === 'take' ? `${piece.takeId}${piece.from + i}` : piece.kind === 'hold' ? `${piece.takeId}${piece.at} held` : piece.title)))
const place = fc.integer({ min: 0, max: 260 })
const span = fc.tuple(place, fc.integer({ min: 0, max: 120 })).map(([from, length]) => ({ from, to: from + length }))

describe('editing pieces', () => {
  it('cuts, puts in and replaces just what a list of samples would', () => {
    fc.assert(fc.property(smallPieces, span, smallPieces, (pieces, { from, to }, others) => {
      const all = written(pieces)
      expect(written(cutSpan(pieces, { from, to }, newId))).toEqual([...all.slice(0, from), ...all.slice(to)])
      expect(written(insertAt(pieces, from, others, newId))).toEqual([...all.slice(0, from), ...written(others), ...all.slice(from)])
      expect(written(replaceSpan(pieces, { from, to }, others, newId))).toEqual([...all.slice(0, from), ...written(others), ...all.slice(to)])
      expect(written(within(pieces, { from, to }, newId))).toEqual(all.slice(from, to))
    }), { numRuns: 400 })
  })

  it('cuts many spans at once as if each sample had been marked', () => {
    fc.assert(fc.property(smallPieces, fc.array(span, { maxLength: 6 }), (pieces, spans) => {
      expect(written(cutSpans(pieces, spans, newId))).toEqual(written(pieces).filter((_, i) => !spans.some(({ from, to }) => i >= from && i < to)))
    }), { numRuns: 300 })
  })

  it('moves a span without losing or doubling a sample', () => {
    fc.assert(fc.property(smallPieces, span, place, (pieces, raw, to) => {
      const all = written(pieces)
      const { from, to: end } = { from: Math.min(raw.from, all.length), to: Math.min(raw.to, all.length) }
      const at = Math.min(to, all.length)
      const moved = written(moveSpan(pieces, { from, to: end }, at, newId))
      if (at >= from && at <= end) expect(moved).toEqual(all)
      else if (at < from) expect(moved).toEqual([...all.slice(0, at), ...all.slice(from, end), ...all.slice(at, from), ...all.slice(end)])
      else expect(moved).toEqual([...all.slice(0, from), ...all.slice(end, at), ...all.slice(from, end), ...all.slice(at)])
    }), { numRuns: 300 })
  })

  it('puts back what was cut, and the list is as it was', () => {
    const whole: Piece[] = [wholePiece({ id: 'a', durationMs: 60_000 })]
    fc.assert(fc.property(fc.integer({ min: 0, max: 2_880_000 }), fc.integer({ min: 1, max: 500_000 }), (from, length) => {
      const cut = { from, to: from + length }
      const gone = within(whole, cut, newId)
      const back = insertAt(cutSpan(whole, cut, newId), Math.min(from, 2_880_000), gone, newId)
      expect(back.map((piece) => ({ ...piece, id: '' }))).toEqual(whole.map((piece) => ({ ...piece, id: '' })))
    }))
  })

  it('never cuts a card in two', () => {
    const card: CardPiece = { id: 'card', kind: 'card', title: 'Top', lines: [], lasts: 50 }
    const pieces: Piece[] = [card, { id: 'a', kind: 'take', takeId: 'a', from: 0, to: 100 }]
    expect(written(insertAt(pieces, 20, [{ id: 'b', kind: 'take', takeId: 'b', from: 0, to: 1 }], newId))[0]).toBe('b0')
    expect(insertAt(pieces, 40, [{ id: 'b', kind: 'take', takeId: 'b', from: 0, to: 1 }], newId).map(({ id }) => id)).toEqual(['card', 'b', 'a'])
    expect(cutSpan(pieces, { from: 10, to: 70 }, newId).map(lengthOf)).toEqual([80])
  })

  it('holds the picture for a pause, grows it, shortens it and lets it go', () => {
    const whole: Piece[] = [{ id: 'a', kind: 'take', takeId: 'a', from: 0, to: 100 }]
    const paused = pauseAt(whole, 40, 10, newId)
    expect(written(paused)).toEqual([...written(whole).slice(0, 40), ...Array<string>(10).fill('a40 held'), ...written(whole).slice(40)])
    expect(written(pauseAt(paused, 45, 5, newId))).toHaveLength(115)
    expect(pauseAt(paused, 50, 5, newId)).toHaveLength(3)
    const hold = paused.find(({ kind }) => kind === 'hold')!
    expect(lengthOfAll(setLasts(paused, hold.id, 3))).toBe(103)
    expect(setLasts(paused, hold.id, 0)).toEqual(whole)
  })

  it('sets, changes and takes away the cards at both ends, and a lesson of one card is no closing card', () => {
    const whole: Piece[] = [{ id: 'a', kind: 'take', takeId: 'a', from: 0, to: 100 }]
    const title: CardPiece = { id: 't', kind: 'card', title: 'Title', lines: ['for you'], lasts: 30 }
    const end: CardPiece = { ...title, id: 'e', title: 'End' }
    const both = setCard(setCard(whole, 'opening', title), 'closing', end)
    expect(both.map(({ id }) => id)).toEqual(['t', 'a', 'e'])
    expect(setCard(both, 'opening', { ...title, title: 'Other' })[0]).toMatchObject({ title: 'Other' })
    expect(setCard(setCard(both, 'opening', null), 'closing', null)).toEqual(whole)
  })

  it('knows what of the takes is not in the lesson', () => {
    fc.assert(fc.property(smallPieces, (pieces) => {
      const used = new Set(pieces.flatMap((piece) => (piece.kind === 'take' ? written([piece]) : [])))
      const all = ['a', 'b'].flatMap((id) => written([{ id, kind: 'take', takeId: id, from: 0, to: 100 }]))
      const unused = unusedStretches(pieces, [{ id: 'a', length: 100 }, { id: 'b', length: 100 }])
      expect(unused.flatMap(({ takeId, from, to }) => written([{ id: '', kind: 'take', takeId, from, to }]))).toEqual(all.filter((one) => !used.has(one)))
    }))
  })
})

describe('an edited lesson', () => {
  it('is the raw replay where nothing was edited', () => {
    fc.assert(fc.property(someTake('a'), fc.double({ min: 0, max: 1, noNaN: true }), (take, share) => {
      const programme = editedReplay([take], untouched(take))
      const ms = share * take.durationMs
      expect(programme.lengthMs).toBeCloseTo(take.durationMs, 1)
      expect(programme.at(ms)).toEqual({ kind: 'stage', stage: stateAt(take.log, Math.min(ms, programme.lengthMs)), clips: take.log.header.clips })
      expect(programme.toTake(ms)).toEqual({ takeId: 'a', ms: Math.min(ms, programme.lengthMs) })
    }))
  })

  const edited = fc.tuple(someTake('a'), someTake('b')).chain(([a, b]) => {
    const stretch = ({ id, durationMs }: Take) => fc.tuple(fc.integer({ min: 0, max: toSamples(durationMs) - 1 }), fc.integer({ min: 1, max: toSamples(durationMs) })).map(([from, length]): Piece => ({ id: newId(), kind: 'take', takeId: id, from, to: Math.min(toSamples(durationMs), from + length) }))
    const hold = ({ id, durationMs }: Take) => fc.tuple(fc.integer({ min: 0, max: toSamples(durationMs) }), fc.integer({ min: 1, max: 90_000 })).map(([at, lasts]): Piece => ({ id: newId(), kind: 'hold', takeId: id, at, lasts }))
    return fc.array(fc.oneof(stretch(a), stretch(b), hold(a), hold(b), fc.constant<Piece>({ id: 'card', kind: 'card', title: 'Card', lines: [], lasts: 48_000 })), { minLength: 1, maxLength: 7 })
      .map((pieces) => ({ takes: [a, b], edits: { version: 1, pieces, chapters: [], fixes: [], sound: asRecorded } as Edits }))
  })

  it('shows at each time the instant of the take that the time is mapped to', () => {
    fc.assert(fc.property(edited, fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 12 }), ({ takes, edits }, shares) => {
      const programme = editedReplay(takes, edits)
      for (const share of shares) {
        const ms = share * programme.lengthMs
        const seen = programme.at(ms)!
        const mapped = programme.toTake(ms)
        if (seen.kind === 'card') expect(mapped).toBeNull()
        else {
          const { log } = takes.find(({ id }) => id === mapped!.takeId)!
          const held = programme.pieceAt(ms)!.piece.kind === 'hold'
          const stage = stateAt(log, mapped!.ms)
          expect(seen.stage).toEqual(held ? { ...stage, motion: null } : stage)
          if (!held) expect(programme.toLesson(mapped!.takeId, mapped!.ms).some((back) => Math.abs(back - ms) < 1e-6)).toBe(programme.pieceAt(ms)!.at + programme.pieceAt(ms)!.length > toSamples(ms))
        }
      }
    }), { numRuns: 150 })
  })

  it('runs forward in each take while the lesson runs forward, never back inside a piece', () => {
    fc.assert(fc.property(edited, ({ takes, edits }) => {
      const programme = editedReplay(takes, edits)
      let last = null as { piece: Piece; ms: number } | null
      for (let i = 0; i <= 200; i++) {
        const ms = (programme.lengthMs * i) / 200
        const mapped = programme.toTake(ms)
        const { piece } = programme.pieceAt(ms)!
        if (mapped && last?.piece === piece) expect(mapped.ms).toBeGreaterThanOrEqual(last.ms)
        last = mapped ? { piece, ms: mapped.ms } : null
      }
    }), { numRuns: 60 })
  })

  it('sounds as long as it is seen, without gaps, and fades only where sounds do not go on from each other', () => {
    fc.assert(fc.property(edited, ({ takes, edits }) => {
      const programme = editedReplay(takes, edits)
      const sounds = programme.soundPieces()
      let at = 0
      for (const [i, sound] of sounds.entries()) {
        expect(sound.at).toBe(at)
        const length = sound.kind === 'take' ? sound.to - sound.from : sound.length
        at += length
        if (sound.kind !== 'take') continue
        expect(sound.fadeIn + sound.fadeOut).toBeLessThanOrEqual(length)
        const before = sounds[i - 1]
        const goesOn = before?.kind === 'take' && before.takeId === sound.takeId && before.to === sound.from
        expect(sound.fadeIn).toBe(i === 0 || goesOn ? 0 : Math.min(joinFade, length >> 1))
      }
      expect(at).toBe(programme.length)
    }))
  })

  it('passes over the pieces of a take that has gone', () => {
    const [a, b] = [takeOf('a', [], 1000), takeOf('b', [], 1000)]
    const edits = withPieces(untouched(a), [wholePiece(a), wholePiece(b)])
    expect(editedReplay([a, b], edits).lengthMs).toBe(2000)
    expect(editedReplay([a], edits).lengthMs).toBe(1000)
    expect(editedReplay([], edits).at(0)).toBeNull()
  })

  it('leaves the recording as it is, whatever is done to the list', () => {
    fc.assert(fc.property(someTake('a'), span, (take, { from, to }) => {
      const before = encodeRows(take.log.rows)
      const edits = untouched(take)
      const next = withPieces(edits, cutSpan(edits.pieces, { from: from * 100, to: to * 100 }, newId))
      editedReplay([take], next).at(10)
      expect(encodeRows(take.log.rows)).toBe(before)
      expect(editsSchema.safeParse(next).success).toBe(true)
    }), { numRuns: 40 })
  })
})

describe('headings', () => {
  const chapter = (at: number, title: string): LogRow => [at, { type: 'chapter', title }]
  const take = takeOf('a', [chapter(1000, 'Set-up'), chapter(4000, ''), chapter(8000, 'Finish')], 10_000)
  const edits = untouched(take)
  const shown = (of: Edits, takes: readonly Take[] = [take]) => editedReplay(takes, of).chapters().map(({ title, atMs }) => [title, Math.round(atMs)])

  it('stay on their content through a cut, a card and a move', () => {
    expect(shown(edits)).toEqual([['Set-up', 1000], ['Chapter 2', 4000], ['Finish', 8000]])
    expect(shown(withPieces(edits, cutSpan(edits.pieces, { from: toSamples(2000), to: toSamples(3500) }, newId)))).toEqual([['Set-up', 1000], ['Chapter 2', 2500], ['Finish', 6500]])
    const card: CardPiece = { id: 'c', kind: 'card', title: 'Hello', lines: [], lasts: toSamples(3000) }
    expect(shown(withPieces(edits, setCard(edits.pieces, 'opening', card)))).toEqual([['Set-up', 4000], ['Chapter 2', 7000], ['Finish', 11_000]])
    expect(shown(withPieces(edits, moveSpan(edits.pieces, { from: toSamples(8000), to: toSamples(10_000) }, 0, newId)))).toEqual([['Finish', 0], ['Set-up', 3000], ['Chapter 2', 6000]])
  })

  it('stand at what comes next where only their own instant was cut, and go where all under them was', () => {
    expect(shown(withPieces(edits, cutSpan(edits.pieces, { from: toSamples(3800), to: toSamples(4300) }, newId)))).toEqual([['Set-up', 1000], ['Chapter 2', 3800], ['Finish', 7500]])
    expect(shown(withPieces(edits, cutSpan(edits.pieces, { from: toSamples(4000), to: toSamples(8000) }, newId)))).toEqual([['Set-up', 1000], ['Finish', 4000]])
    expect(shown(withPieces(edits, cutSpan(edits.pieces, { from: toSamples(7000), to: toSamples(10_000) }, newId)))).toEqual([['Set-up', 1000], ['Chapter 2', 4000]])
  })

  it('are added, renamed, moved and deleted, on a card too', () => {
    const card: CardPiece = { id: 'c', kind: 'card', title: 'Hello', lines: [], lasts: toSamples(1000) }
    const base = withPieces(edits, setCard(edits.pieces, 'opening', card))
    const added = addChapter(addChapter(base, toSamples(500), 'Hello', newId), toSamples(3500), 'Grip', newId)
    expect(shown(added)).toEqual([['Hello', 0], ['Set-up', 2000], ['Grip', 3500], ['Chapter 2', 5000], ['Finish', 9000]])
    const { id } = added.chapters.find(({ title }) => title === 'Grip')!
    expect(shown(renameChapter(added, id, 'The grip'))).toContainEqual(['The grip', 3500])
    expect(shown(moveChapter(added, id, toSamples(6000)))).toContainEqual(['Grip', 6000])
    expect(shown(removeChapter(added, id)).map(([title]) => title)).not.toContain('Grip')
  })

  it('of a part taken again go with it, the one at its beginning stays, and those of the new take come', () => {
    const plain = takeOf('b', [], 2000)
    const over = { from: toSamples(3900), to: toSamples(9000) }
    expect(shown(takeIn(edits, plain, wholePiece(plain), over, newId), [take, plain])).toEqual([['Set-up', 1000], ['Chapter 2', 3900]])
    const titled = takeOf('b', [chapter(500, 'The top'), chapter(900, '')], 2000)
    expect(shown(takeIn(edits, titled, wholePiece(titled), over, newId), [take, titled])).toEqual([['Set-up', 1000], ['The top', 4400], ['Chapter 5', 4800]])
    expect(editedReplay([take, plain], takeIn(edits, plain, wholePiece(plain), over, newId)).lengthMs).toBe(6900)
  })
})

describe('marks set right afterwards', () => {
  const added = (m: ReturnType<typeof mark>): StageEvent => ({ type: 'marks', diff: { added: { [m.id]: m }, updated: {}, removed: {} } })
  const m = mark('m', 'clip', { text: 'elbow' })
  const take = takeOf('a', [[1000, added(m)], [5000, added({ ...m, order: 9 })], [8000, { type: 'marks', diff: { added: {}, updated: {}, removed: { m: { ...m, order: 9 } } } }]], 10_000)
  const marksAt = (edits: Edits, ms: number) => {
    const seen = editedReplay([take], edits).at(ms)
    return seen?.kind === 'stage' ? seen.stage.marks : {}
  }
  const base = untouched(take)
  const fixed = addFix(base, { from: toSamples(2000), to: toSamples(6000) }, { kind: 'change', markId: 'm', patch: { text: 'trail elbow', ink: 'lead' } }, newId)

  it('hold over their span and nowhere else, and leave what they do not name', () => {
    expect(marksAt(fixed, 1999).m!.text).toBe('elbow')
    expect(marksAt(fixed, 2000).m).toEqual({ ...m, text: 'trail elbow', ink: 'lead' })
    expect(marksAt(fixed, 5500).m).toEqual({ ...m, order: 9, text: 'trail elbow', ink: 'lead' })
    expect(marksAt(fixed, 6000).m!.text).toBe('elbow')
  })

  it('stay on their content through a cut before them and inside them', () => {
    const cut = withPieces(fixed, cutSpan(fixed.pieces, { from: toSamples(500), to: toSamples(1500) }, newId))
    expect(marksAt(cut, 999).m!.text).toBe('elbow')
    expect(marksAt(cut, 1000).m!.text).toBe('trail elbow')
    expect(spansOfFix(editedReplay([take], cut), cut.fixes[0]!)).toEqual([{ from: toSamples(1000), to: toSamples(5000) }])
    const inside = withPieces(fixed, cutSpan(fixed.pieces, { from: toSamples(3000), to: toSamples(4000) }, newId))
    expect(spansOfFix(editedReplay([take], inside), inside.fixes[0]!)).toEqual([{ from: toSamples(2000), to: toSamples(5000) }])
    const paused = withPieces(fixed, pauseAt(fixed.pieces, toSamples(3000), 4800, newId))
    expect(marksAt(paused, 3050).m!.text).toBe('trail elbow')
  })

  it('take a mark away, put one there, and one that is not there stays away', () => {
    expect(marksAt(addFix(base, { from: 0, to: toSamples(3000) }, { kind: 'remove', markId: 'm' }, newId), 2000)).toEqual({})
    expect(Object.keys(marksAt(addFix(base, { from: 0, to: toSamples(3000) }, { kind: 'add', mark: mark('x', 'clip') }, newId), 2000)).sort()).toEqual(['m', 'x'])
    expect(marksAt(addFix(base, { from: 0, to: toSamples(3000) }, { kind: 'change', markId: 'm', patch: { text: 'x' } }, newId), 500)).toEqual({})
  })

  it('give the same objects again while nothing changes, so that layers need not redraw', () => {
    const programme = editedReplay([take], fixed)
    const [one, two] = [programme.at(3000), programme.at(3010)]
    expect(one?.kind === 'stage' && two?.kind === 'stage' && one.stage === two.stage).toBe(true)
    expect(one?.kind === 'stage' && one.stage.marks.m!.text).toBe('trail elbow')
  })

  it('know for how long a mark stays as it is', () => {
    expect(runOfMark(editedReplay([take], base), 3000, 'm')).toEqual({ from: toSamples(1000), to: toSamples(5000) })
    expect(runOfMark(editedReplay([take], base), 7000, 'm')).toEqual({ from: toSamples(5000), to: toSamples(8000) })
    expect(runOfMark(editedReplay([take], base), 500, 'm')).toEqual({ from: toSamples(500), to: toSamples(500) })
  })

  it('can be given another span and another change', () => {
    const { id } = fixed.fixes[0]!
    const changed = changeFix(fixed, id, { span: { from: toSamples(1000), to: toSamples(1500) }, change: { kind: 'remove', markId: 'm' } })
    expect(marksAt(changed, 1200)).toEqual({})
    expect(marksAt(changed, 2500).m!.text).toBe('elbow')
  })
})

describe('steps', () => {
  const someEdits: fc.Arbitrary<Edits> = fc.tuple(smallPieces, fc.array(fc.constantFrom('one', 'two', 'three'), { maxLength: 4 }), fc.boolean()).map(([pieces, titles, on]) => ({
    version: 1, pieces, chapters: titles.map((title, i) => ({ id: `c${i}`, title, on: { takeId: 'a', at: i } })), fixes: [], sound: { ...asRecorded, on },
  }))

  it('lead from one list to the other and back, however often', () => {
    fc.assert(fc.property(fc.array(someEdits, { minLength: 2, maxLength: 6 }), (lists) => {
      const changes = lists.slice(1).map((after, i) => changeBetween(lists[i]!, after))
      let edits = lists[0]!
      for (const [i, change] of changes.entries()) expect((edits = applyChange(edits, change))).toEqual(lists[i + 1])
      for (const [i, change] of [...changes.entries()].reverse()) expect((edits = applyChange(edits, reverseChange(change)))).toEqual(lists[i])
      expect(isNoChange(changeBetween(edits, lists[0]!))).toBe(true)
    }))
  })

  it('name no more than what changed', () => {
    const pieces = Array.from({ length: 300 }, (_, i): Piece => ({ id: `p${i}`, kind: 'take', takeId: 'a', from: i * 100, to: i * 100 + 50 }))
    const before: Edits = { version: 1, pieces, chapters: [], fixes: [], sound: asRecorded }
    const change = changeBetween(before, withPieces(before, cutSpan(pieces, { from: 7010, to: 7020 }, newId)))
    expect(change.pieces!.removed).toHaveLength(1)
    expect(change.pieces!.added).toHaveLength(2)
    expect(change.chapters).toBeUndefined()
  })

  it('refuse a list that they were not made to', () => {
    const before: Edits = { version: 1, pieces: [wholePiece({ id: 'a', durationMs: 1000 })], chapters: [], fixes: [], sound: asRecorded }
    const change = changeBetween(before, withPieces(before, cutSpan(before.pieces, { from: 10, to: 20 }, newId)))
    expect(() => applyChange(applyChange(before, change), change)).toThrow(EditConflict)
  })
})

describe('times', () => {
  it('are whole samples whose sums are exact', () => {
    expect(toMs(toSamples(1234.5))).toBe(1234.5)
    expect(lengthOfAll(Array.from({ length: 1000 }, (_, i): Piece => ({ id: `${i}`, kind: 'hold', takeId: 'a', at: 0, lasts: 1601 })))).toBe(1_601_000)
    expect(stretchesOf([{ id: 'a', kind: 'take', takeId: 'a', from: 10, to: 30 }], { from: 5, to: 8 })).toEqual([{ takeId: 'a', from: 15, to: 18 }])
  })
})
