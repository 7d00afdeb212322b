/** A swing that may only be looked at gets into no hand-off, whichever way it came into the lesson. */
import { describe, expect, test } from 'vitest'
import type { OpenDesk } from '../../electron/desk/createDesk.ts'
import type { Clip } from '../../shared/contract/clip.ts'
import { changeBetween } from '../../shared/walkthrough/editSteps.ts'
import { insertAt, withPieces } from '../../shared/walkthrough/editPieces.ts'
import type { StageEvent } from '../../shared/walkthrough/events.ts'
import type { LogRow } from '../../shared/walkthrough/log.ts'
import type { Reference } from '../../shared/walkthrough/reference.ts'
import { batchOf, clipFile, headerOf, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'

const settings = { size: '720p', orientation: 'landscape', fps: 30, title: '' } as const

async function recorded(desk: OpenDesk, title: string, clips: readonly Clip[], rows: readonly LogRow[] = []): Promise<string> {
  const { id } = await desk.call('walkthrough.begin', { swingId: null, studentId: clips[0]!.studentId, title, sampleRate: 48_000, header: headerOf(clips) })
  await desk.call('walkthrough.append', { id, at: 0, sound: new Uint8Array(96_000), rows: [...rows] })
  await desk.call('walkthrough.finish', { id })
  return id
}

/** Two students' clips; the second's is a model that the coach may show in lessons only. */
async function library(folder: string, outside: string): Promise<{ desk: OpenDesk; own: Clip; model: Clip; why: string }> {
  const desk = openFakeDesk(folder)
  const clips: Clip[] = []
  for (const name of ['Ada Lindqvist', 'Model']) {
    const { id: studentId } = await desk.call('student.save', studentOf(name))
    await desk.call('takeIn.start', batchOf([clipFile(outside, `${name} face-on.mp4`)], { studentId }))
    await settled(desk)
    const [clip] = await desk.call('clip.list', { studentId })
    clips.push(await desk.call('clip.get', { id: clip!.id }))
  }
  const [own, model] = clips as [Clip, Clip]
  await desk.call('shelf.note', { keys: [model.id], patch: { reference: true, permission: 'lessons-only' } })
  return { desk, own, model, why: 'Model, 7-iron is marked on the Shelf as for your lessons only, so nothing that shows it may be handed off.' }
}

/** Refused by the window's question and by the desk itself, with the same reason; once it is allowed it goes through. */
async function refusedUntilAllowed(desk: OpenDesk, walkthroughId: string, model: Clip, why: string): Promise<void> {
  const start = () => desk.call('handoff.start', { walkthroughId, settings, to: null })
  expect(await desk.call('shelf.gaps', { walkthroughId })).toEqual([{ key: model.id, why }])
  await expect(start()).rejects.toMatchObject({ fault: { kind: 'may-not-be-sent', message: why, remedy: expect.stringMatching(/Shelf/) as unknown } })
  expect(await desk.call('handoff.list', {})).toEqual([])
  await desk.call('shelf.note', { keys: [model.id], patch: { permission: 'may-be-sent' } })
  expect(await desk.call('shelf.gaps', { walkthroughId })).toEqual([])
  await start()
  expect((await settled(desk)).at(-1)).toMatchObject({ kind: 'handoff', state: 'done' })
}

describe('what is for lessons only', () => {
  test('refuses the hand-off where it was set beside while recording', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, own, model, why } = await library(folder.path, outside.path)
    const reference: Reference = {
      clipId: model.id, tie: [[0, 0]], tiedBy: 'time', transform: { scale: 1, turn: 0, mirror: false, shift: [0, 0] }, aligned: false, look: 'beside', amount: 0.5,
      picture: true, skeleton: false, shaft: false, traces: false, tracks: { own: null, reference: null },
    }
    const beside: StageEvent[] = [{ type: 'clips', clips: headerOf([model]).clips }, { type: 'reference', pane: 0, reference }]
    const plain = await recorded(desk, 'Alone', [own])
    expect(await desk.call('shelf.gaps', { walkthroughId: plain })).toEqual([])
    const id = await recorded(desk, 'Beside a model', [own], beside.map((event) => [300, event] as const))
    await refusedUntilAllowed(desk, id, model, why)
    await desk.close()
  })

  test('refuses the hand-off where it came in by a piece of another lesson, and no longer once that is cut', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const { desk, own, model, why } = await library(folder.path, outside.path)
    const id = await recorded(desk, 'Own', [own])
    const other = await recorded(desk, 'About a model', [model])
    const { edits, version } = await desk.call('lesson.get', { id })
    const shown = withPieces(edits, insertAt(edits.pieces, 24_000, [{ id: 'piece', kind: 'take', takeId: other, from: 0, to: 12_000 }], () => 'rest'))
    await desk.call('lesson.apply', { id, version, name: 'Put in', change: changeBetween(edits, shown) })
    expect(await desk.call('shelf.gaps', { walkthroughId: id })).toEqual([{ key: model.id, why }])
    await desk.call('lesson.step', { id, version: version + 1, to: 0 })
    expect(await desk.call('shelf.gaps', { walkthroughId: id })).toEqual([])
    await desk.call('lesson.step', { id, version: version + 2, to: 1 })
    await refusedUntilAllowed(desk, id, model, why)
    await desk.close()
  })
})

test('another student’s footage goes to nobody else while nothing says that it may, and their consent still counts once it does', async () => {
  using folder = temporaryFolder()
  using outside = temporaryFolder()
  const { desk, own, model: theirs } = await library(folder.path, outside.path)
  await desk.call('shelf.note', { keys: [theirs.id], patch: { permission: 'not-said' } })
  const why = 'Model, 7-iron is another student\'s swing, and nothing on the Shelf says that it may be shown to others, so nothing that shows it may be handed off.'
  const id = await recorded(desk, 'Own', [own])
  const other = await recorded(desk, 'About the other', [theirs])
  // To the one it shows it may go, whatever the Shelf says.
  expect(await desk.call('shelf.gaps', { walkthroughId: other })).toEqual([])
  const { edits, version } = await desk.call('lesson.get', { id })
  const shown = withPieces(edits, insertAt(edits.pieces, 24_000, [{ id: 'piece', kind: 'take', takeId: other, from: 0, to: 12_000 }], () => 'rest'))
  await desk.call('lesson.apply', { id, version, name: 'Put in', change: changeBetween(edits, shown) })
  await refusedUntilAllowed(desk, id, theirs, why)
  // Allowed on the Shelf, but the consent has run out since.
  const student = (await desk.call('student.list', {})).find((each) => each.id === theirs.studentId)!
  const { createdAt: _at, ...rest } = student
  await desk.call('student.save', { ...rest, consent: { ...student.consent, until: '2001-01-01' } })
  await expect(desk.call('handoff.start', { walkthroughId: id, settings, to: null })).rejects.toMatchObject({ fault: { kind: 'no-consent' } })
  await desk.close()
})
