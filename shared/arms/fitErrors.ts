import { EigenvalueDecomposition, Matrix } from 'ml-matrix'
import type { ChainFit } from './fitChain.ts'
import { numbersOfBody } from './fitBody.ts'
import { forward } from './forward.ts'
import { createArms } from './model.ts'
import { isArmsRefusal, type ArmsInput, type FitResult, type Readings } from './types.ts'

/** The errors of what is read from the pose, from the covariance of the numbers. @param either the same body with its plane of motion a deviation flatter and steeper */
export function readingSigmas(
  build: (row: ArrayLike<number>) => ArmsInput | null, fit: ChainFit, roots: readonly Float64Array[], own: Readings, either: readonly (ArmsInput | null)[] = [],
): FitResult['sigma'] {
  const names = ['azimuthDeg', 'azimuthAtLevelDeg', 'elevationDeg', 'swivelDeg', 'elbowOutCm'] as const
  const sums = new Map<string, number>(names.map((name) => [name, 0]))
  const wrap = (d: number): number => d - 360 * Math.round(d / 360)
  const readingsOf = (input: ArmsInput | null): Readings | null => {
    const model = input && createArms(input)
    if (!model || isArmsRefusal(model)) return null
    const pose = forward(model, model.swivelDeg)
    return isArmsRefusal(pose) ? null : pose.readings
  }
  const read = (root: Float64Array, k: number): Readings | null => readingsOf(build(Float64Array.from(fit.row, (v, i) => v + k * root[i]!)))
  for (const root of roots) {
    const high = read(root, 1 / 3)
    const low = read(root, -1 / 3)
    for (const name of names) {
      const difference = high && low ? [high[name], low[name]] : high ? [high[name], own[name]] : [own[name], low?.[name] ?? own[name]]
      if (difference[0] === null || difference[1] === null) continue
      const part = (wrap((difference[0] ?? 0) - (difference[1] ?? 0)) * 3) / (high && low ? 2 : 1)
      sums.set(name, sums.get(name)! + part * part)
    }
  }
  const levels = either.flatMap((input) => readingsOf(input)?.azimuthAtLevelDeg ?? [])
  if (levels.length === 2) sums.set('azimuthAtLevelDeg', sums.get('azimuthAtLevelDeg')! + (wrap(levels[1]! - levels[0]!) / 2) ** 2)
  const sigma = (name: (typeof names)[number]): number => Math.sqrt(sums.get(name)!)
  return { azimuthDeg: sigma('azimuthDeg'), azimuthAtLevelDeg: own.azimuthAtLevelDeg === null ? null : sigma('azimuthAtLevelDeg'), elevationDeg: sigma('elevationDeg'), swivelDeg: sigma('swivelDeg'), elbowOutCm: sigma('elbowOutCm') }
}

/** Columns whose outer products add up to the covariance; those that say nothing are left out. */
export function rootsOfCovariance(covariance: Float64Array): Float64Array[] {
  const n = numbersOfBody
  const matrix = new Matrix(n, n)
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) matrix.set(i, j, (covariance[i * n + j]! + covariance[j * n + i]!) / 2)
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(matrix, { assumeSymmetric: true })
  return realEigenvalues.flatMap((value, k) => (value > 1e-16 ? [Float64Array.from({ length: n }, (_, i) => Math.sqrt(value) * eigenvectorMatrix.get(i, k))] : []))
}
