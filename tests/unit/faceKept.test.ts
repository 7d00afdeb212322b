import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest'
import { FaceKept } from '../../renderer/arms/face/faceKept.ts'
import { createFaceState, usualInput } from '../../renderer/arms/face/faceState.ts'
import type { Bridge } from '../../renderer/bridge/index.ts'
import { onDisk } from '../../renderer/playback/board.ts'
import type { FaceInput } from '../../shared/contract/faceInput.ts'
import { batchOf, clipFile, openFakeDesk, settled, temporaryFolder } from '../fixtures/desk.ts'

const drawn: FaceInput = { ...usualInput, face: { value: 2, sigma: 0.5 }, closureRate: { value: 1800, sigma: 200 }, closureBasis: 'the coach’s own' }

test('what is said of face and path is kept with every clip of the swing, the newest counts, and it goes with the clip', async () => {
  using folder = temporaryFolder()
  using outside = temporaryFolder()
  let at = 1000
  const desk = openFakeDesk(folder.path, { now: () => ++at })
  for (const name of ['face.mp4', 'line.mp4']) {
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, name)]))
    await settled(desk)
  }
  const [one, two] = (await desk.call('clip.list', {})).map(({ id }) => id) as [string, string]
  const kept = async (...clipIds: string[]): Promise<FaceInput | null> => (await desk.call('face.kept', { clipIds })).input
  expect(await kept(one, two)).toBeNull()
  expect(await desk.call('face.keep', { clipIds: [one, two], input: drawn })).toEqual({ kept: 2 })
  expect(await kept(two)).toEqual(drawn)
  expect(await desk.call('face.keep', { clipIds: [one], input: usualInput })).toEqual({ kept: 1 })
  expect(await kept(one, two)).toEqual(usualInput)
  await expect(desk.call('face.keep', { clipIds: [one], input: { ...drawn, path: { value: 0, sigma: -1 } } })).rejects.toThrow()
  await desk.call('clip.remove', { id: one })
  expect(await kept(one, two)).toEqual(drawn)
  expect(await desk.call('face.keep', { clipIds: [two], input: null })).toEqual({ kept: 1 })
  expect(await kept(one, two)).toBeNull()
  await desk.close()
})

describe('the room', () => {
  beforeEach(() => void vi.useFakeTimers())
  afterEach(() => void vi.useRealTimers())

  const made = () => {
    const disk = new Map<string, FaceInput | null>()
    const call = (async (name: string, { clipIds, input }: { clipIds: string[]; input?: FaceInput | null }) => {
      if (name === 'face.kept') return { input: disk.get(clipIds[0]!) ?? null }
      for (const id of clipIds) disk.set(id, input ?? null)
      return { kept: clipIds.length }
    }) as unknown as Bridge['call']
    const face = createFaceState()
    const kept = new FaceKept({ call }, face)
    return { disk, face, kept, stop: kept.start() }
  }

  test('has it on disk within a second, brings it again, and keeps two swings apart', async () => {
    const { disk, face, kept, stop } = made()
    await kept.open(['a', 'b'])
    expect(kept.state.getState().isOwn).toBe(false)
    face.setState({ path: { value: -3, sigma: 1 } })
    await vi.advanceTimersByTimeAsync(1000)
    expect(disk.get('a')?.path.value).toBe(-3)
    expect(disk.get('b')).toEqual(disk.get('a'))
    // What was said a moment ago goes to its own swing, not to the next one.
    face.setState({ path: { value: -4, sigma: 1 } })
    await kept.open(['c'])
    expect(disk.get('a')?.path.value).toBe(-4)
    expect(face.getState()).toEqual(usualInput)
    await vi.advanceTimersByTimeAsync(2000)
    expect(disk.has('c')).toBe(false)
    await kept.open(['a', 'b'])
    expect(face.getState().path.value).toBe(-4)
    stop()
  })

  test('undoes in steps, a slider’s way as one, back to nothing said; also on disk', async () => {
    const { disk, face, kept, stop } = made()
    await kept.open(['a'])
    face.setState({ timingMs: { value: 3, sigma: 1 } })
    await vi.advanceTimersByTimeAsync(1500)
    for (const value of [0.7, 0.72, 0.74]) {
      face.setState({ share: { value, sigma: 0.05 }, shareOf: 'own' })
      await vi.advanceTimersByTimeAsync(100)
    }
    await vi.advanceTimersByTimeAsync(1500)
    kept.undo()
    expect(face.getState().share).toEqual(usualInput.share)
    expect(face.getState().timingMs.value).toBe(3)
    kept.undo()
    expect(face.getState()).toEqual(usualInput)
    expect(kept.state.getState()).toEqual({ canUndo: false, canRedo: true, isOwn: false })
    await onDisk()
    expect(disk.get('a')).toBeNull()
    kept.redo()
    kept.redo()
    expect(face.getState().share.value).toBe(0.74)
    await onDisk()
    expect(disk.get('a')?.share.value).toBe(0.74)
    stop()
  })

  test('keeps nothing where no swing is open', async () => {
    const { disk, face, kept, stop } = made()
    await kept.open([])
    face.setState({ distance: 150 })
    await vi.advanceTimersByTimeAsync(2000)
    expect(disk.size).toBe(0)
    kept.undo()
    expect(face.getState().distance).toBe(usualInput.distance)
    stop()
  })
})
