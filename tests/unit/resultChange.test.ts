import { expect, it } from 'vitest'
import type { MeasureResult, SwingResult } from '../../shared/swing/measureSwing.ts'
import { resultChange } from '../../shared/swing/resultChange.ts'

const row = (id: string, value: number, sigma: number): MeasureResult => ({ id, view: 'face-on', at: 'top', value, unit: 'mm', sigma, lo: value - sigma, hi: value + sigma, basis: '' })
const result = (...measures: MeasureResult[]): SwingResult => ({ format: 'crossbearing-measures', version: 1, positions: {}, measures, missing: [] })

it('what moved is told in the errors it had, the most first; what went and what came apart', () => {
  const before = result(row('hip-shift', 100, 10), row('hand-depth', 50, 2), row('hand-height', 7, 1), row('gone', 1, 1))
  const after = result(row('hip-shift', 105, 11), row('hand-depth', 53, 2), row('hand-height', 7.001, 1), row('come', 2, 1))
  const { moved, gained, lost } = resultChange(before, after)
  expect(moved.map(({ before: one, errors }) => [one.id, errors])).toEqual([['hand-depth', 1.5], ['hip-shift', 0.5]])
  expect(gained.map(({ id }) => id)).toEqual(['come'])
  expect(lost.map(({ id }) => id)).toEqual(['gone'])
  expect(resultChange(before, before)).toEqual({ moved: [], gained: [], lost: [] })
})
