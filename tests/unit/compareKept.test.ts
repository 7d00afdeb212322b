import { expect, test } from 'vitest'
import type { KeptComparison } from '../../shared/contract/comparison.ts'
import { batchOf, clipFile, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'

test('what stood beside a clip is kept with it, the newest counts, and it goes with either clip', async () => {
  using folder = temporaryFolder()
  using outside = temporaryFolder()
  let at = 1000
  const desk = openFakeDesk(folder.path, { now: () => ++at })
  const { id: studentId } = await desk.call('student.save', studentOf('Ada'))
  for (const name of ['own face.mp4', 'own line.mp4', 'one.mp4', 'two.mp4']) {
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, name)], { studentId }))
    await settled(desk)
  }
  const clips = await desk.call('clip.list', {})
  const idOf = (name: string): string => clips.find(({ fileName }) => fileName === name)!.id
  const [face, line, one, two] = ['own face.mp4', 'own line.mp4', 'one.mp4', 'two.mp4'].map(idOf) as [string, string, string, string]
  const comparison = (clipId: string): KeptComparison => ({
    reference: { clipId }, title: 'Ada, spring', sizeBy: 'stature', alignOn: 'feet', tieBy: 'time', pairs: { [face]: [1500, 3000] },
    look: { look: 'ghost', amount: 0.7, aligned: true, picture: true, skeleton: true, shaft: false, traces: false },
  })
  const kept = async (...clipIds: string[]): Promise<KeptComparison | null> => (await desk.call('comparison.kept', { clipIds })).comparison
  expect(await kept(face, line)).toBeNull()
  expect(await desk.call('comparison.keep', { clips: [{ clipId: face, referenceClipId: one }, { clipId: line, referenceClipId: one }], comparison: comparison(one) })).toEqual({ kept: 2 })
  expect(await kept(line)).toEqual(comparison(one))
  expect(await desk.call('comparison.keep', { clips: [{ clipId: face, referenceClipId: two }], comparison: comparison(two) })).toEqual({ kept: 1 })
  expect(await kept(face, line)).toEqual(comparison(two))
  // What has gone is passed over, and takes along what it stood beside.
  await desk.call('clip.remove', { id: two })
  expect(await kept(face)).toBeNull()
  expect(await kept(face, line)).toEqual(comparison(one))
  expect(await desk.call('comparison.keep', { clips: [{ clipId: face, referenceClipId: two }], comparison: comparison(two) })).toEqual({ kept: 0 })
  await desk.call('clip.remove', { id: line })
  expect(await kept(face, line)).toBeNull()
  await desk.close()
})
