import { describe, expect, test } from 'vitest'
import { usualInput } from '../../renderer/arms/face/faceState.ts'
import { missesOf } from '../../renderer/arms/face/misses.ts'
import type { LoadedSwing } from '../../renderer/arms/load.ts'
import { fitKeyOf, saidKeyOf, staleOf } from '../../renderer/arms/stale.ts'
import { forward } from '../../shared/arms/forward.ts'
import { createArms } from '../../shared/arms/model.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import { isArmsRefusal, type FitResult } from '../../shared/arms/types.ts'
import type { FigureFrom } from '../../shared/markup/figure.ts'
import { missesInCorner } from '../../shared/markup/armsMarks.ts'
import type { Mark } from '../../shared/markup/mark.ts'

const model = createArms(standardArms())
if (isArmsRefusal(model)) throw new Error(model.why)
const pose = forward(model, model.swivelDeg)
if (isArmsRefusal(pose)) throw new Error(pose.why)
const clip = { id: 'c', width: 1080, height: 1920, handedness: 'right' } as const
const loaded = (more: Partial<FitResult> | null, tick = 7): Pick<LoadedSwing, 'fit' | 'statureM' | 'clips'> => ({
  statureM: 1.8, clips: [{ clip, tick }] as unknown as LoadedSwing['clips'],
  fit: more && ({ pose, sigma: { azimuthDeg: 1, azimuthAtLevelDeg: null, elevationDeg: 1, swivelDeg: 2, elbowOutCm: 0.5 }, ...more } as FitResult),
})
const figure = (from: FigureFrom | undefined): Mark => ({ id: 'c/arms-room/arms', clipId: 'c', shape: 'arms', figure: { from } }) as unknown as Mark

describe('the fit that a mark came from', () => {
  test('is the same for the same fit and told from any other', () => {
    const key = fitKeyOf(loaded({}))
    expect(fitKeyOf(loaded({}))).toBe(key)
    const moved = { ...pose, trail: { ...pose.trail, elbow: pose.trail.elbow.map((x, i) => x + (i === 1 ? 0.004 : 0)) as unknown as typeof pose.trail.elbow } }
    const others = [loaded({ pose: moved }), loaded({ sigma: { azimuthDeg: 4, azimuthAtLevelDeg: null, elevationDeg: 1, swivelDeg: 2, elbowOutCm: 0.5 } }), loaded({}, 8), loaded(null)].map(fitKeyOf)
    expect(new Set([key, ...others]).size).toBe(5)
  })

  test('is earlier where it is another, or was not kept; marks of other clips and of the coach are left alone', () => {
    const now = loaded({})
    const from = { fit: fitKeyOf(now), swivelDeg: null, ghost: null, eye: null }
    const own = { ...figure(from), figure: undefined } as unknown as Mark
    const marks = [figure(from), figure({ ...from, fit: 'other' }), figure(undefined), { ...figure(undefined), clipId: 'x' }, own]
    expect(staleOf(marks, now, usualInput)).toEqual([marks[1], marks[2]])
  })

  test('a fan is of other numbers once something else is said', () => {
    const fan = missesInCorner(clip, null, missesOf(usualInput, 'right'), 0, [])
    expect(staleOf([fan], loaded(null), { ...usualInput })).toEqual([])
    const other = { ...usualInput, path: { value: 2, sigma: 1 } }
    expect(staleOf([fan], loaded(null), other)).toEqual([fan])
    expect(saidKeyOf(other)).not.toBe(saidKeyOf(usualInput))
    // Another order of the same words says the same.
    expect(saidKeyOf(Object.fromEntries(Object.entries(usualInput).toReversed()) as typeof usualInput)).toBe(saidKeyOf(usualInput))
  })
})
