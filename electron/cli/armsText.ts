import type { ArmPose, FitResult, ForwardResult, InverseResult, JointAngles, SweepResult } from '../../shared/arms/types.ts'

/** The arms' results for reading in a terminal. */

const direction = (deg: number | null): string => (deg === null ? 'not to be told' : Math.abs(deg) < 0.05 ? 'on the line' : `${Math.abs(deg).toFixed(1)} degrees ${deg >= 0 ? 'across' : 'laid off'}`)
const out = (cm: number): string => `${Math.abs(cm).toFixed(1)} cm ${cm >= 0 ? 'behind' : 'before'} the body plane`

const jointWords: Readonly<Record<keyof JointAngles, string>> = {
  planeOfElevation: 'plane of elevation', elevation: 'elevation', axialRotation: 'axial rotation (Y-X-Y)', rotation: 'rotation (in +)', elbowFlexion: 'elbow flexion',
  pronation: 'pronation', wristFlexion: 'wrist flexion', ulnarDeviation: 'ulnar deviation',
}

function joints(name: string, { angles }: ArmPose): string {
  return `${name} arm: ${Object.entries(jointWords).map(([key, words]) => `${words} ${angles[key as keyof JointAngles].toFixed(0)}`).join(', ')}`
}

export function forwardText(pose: ForwardResult): string {
  const { readings, change } = pose
  const sigma = change.azimuthSigmaDeg === null ? '' : ` ± ${change.azimuthSigmaDeg.toFixed(1)}`
  return [
    `Trail elbow at a swivel of ${readings.swivelDeg.toFixed(1)} degrees, ${out(readings.elbowOutCm)}${pose.reachable ? '' : '; past a limit'}.`,
    `Shaft ${direction(readings.azimuthDeg)}, ${readings.elevationDeg.toFixed(1)} degrees up; at level ${direction(readings.azimuthAtLevelDeg)}.`,
    `Change from now: elbow ${change.swivelDeg.toFixed(1)} degrees, shaft ${change.azimuthDeg.toFixed(1)}${sigma} degrees.`,
    `Face against the lead forearm: ${Math.abs(readings.faceToForearmDeg).toFixed(0)} degrees ${readings.faceToForearmDeg >= 0 ? 'open' : 'closed'}.`,
    joints('Lead', pose.lead),
    joints('Trail', pose.trail),
    pose.limits.length > 0 ? `Limits touched: ${pose.limits.map((l) => l.words).join('; ')}.` : 'No limit is touched.',
    `Basis: ${pose.basis}.`,
  ].join('\n')
}

const span = ([low, high]: readonly [number | null, number | null], unit: string): string => `${low === null ? 'past what can be reached' : low.toFixed(1)} to ${high === null ? 'past what can be reached' : high.toFixed(1)} ${unit}`

export function inverseText(result: InverseResult): string {
  if (result.found)
    return [
      result.words,
      `Swivel ${result.pose.readings.swivelDeg.toFixed(1)} degrees (68 %: ${span(result.interval.swivelDeg, 'degrees')}), ${out(result.pose.readings.elbowOutCm)}.`,
      `Shaft there ${direction(result.pose.readings.azimuthDeg)}; at level ${direction(result.pose.readings.azimuthAtLevelDeg)}.`,
      `Basis: ${result.pose.basis}.`,
    ].join('\n')
  return [result.why, result.instead.length > 0 ? `What else would do it: ${result.instead.join('; or ')}.` : 'No other single change within reach does it either.'].join('\n')
}

export function fitText(fit: FitResult, at: string): string {
  const { readings } = fit.pose
  return [
    `Fitted at ${at} from ${fit.views.join(' and ')}: ${fit.residuals.length} points, off by ${fit.misfit.toFixed(1)} of their own error.`,
    `Trail elbow at a swivel of ${readings.swivelDeg.toFixed(1)} ± ${fit.sigma.swivelDeg.toFixed(1)} degrees, ${out(readings.elbowOutCm)} (± ${fit.sigma.elbowOutCm.toFixed(1)}).`,
    `Shaft ${direction(readings.azimuthDeg)} (± ${fit.sigma.azimuthDeg.toFixed(1)}), ${readings.elevationDeg.toFixed(1)} degrees up; at level ${direction(readings.azimuthAtLevelDeg)}${fit.sigma.azimuthAtLevelDeg === null ? '' : ` (± ${fit.sigma.azimuthAtLevelDeg.toFixed(1)})`}.`,
    joints('Lead', fit.pose.lead),
    joints('Trail', fit.pose.trail),
    ...fit.contradictions,
    ...(fit.assumptions.length > 0 ? [`Taken for granted: ${fit.assumptions.join('; ')}.`] : []),
    `Basis: ${fit.basis}.`,
  ].join('\n')
}

export function sweepText(result: SweepResult): string {
  const row = (cells: readonly string[]): string => cells.map((cell) => cell.padStart(12)).join('')
  const same = (a: number, b: number | undefined): boolean => b !== undefined && Math.abs(a - b) < 1e-6
  const mark = (swivel: number): string => [same(swivel, result.now.swivelDeg) ? 'now' : '', same(swivel, result.target?.swivelDeg) ? 'target' : ''].filter(Boolean).join(', ')
  const { target } = result
  const apart = target && result.rows.every((r) => Math.abs(r.swivelDeg - target.swivelDeg) > 1e-6)
  const rows = [...result.rows, ...(apart ? [target] : [])].toSorted((a, b) => a.swivelDeg - b.swivelDeg)
  return [
    row(['swivel', 'out cm', 'azimuth', 'at level', 'reachable', '']),
    ...rows.map((r) => row([r.swivelDeg.toFixed(1), r.elbowOutCm.toFixed(1), r.azimuthDeg.toFixed(1), r.azimuthAtLevelDeg?.toFixed(1) ?? '-', r.reachable ? 'yes' : 'no', mark(r.swivelDeg)])),
    ...(result.slope ? [result.slope.words] : []),
    ...result.turns.map(({ words }) => words),
    `Reachable from ${result.range.swivelDeg[0].toFixed(1)} degrees (${result.range.low}) to ${result.range.swivelDeg[1].toFixed(1)} (${result.range.high}).`,
    `Basis: ${result.basis}.`,
  ].join('\n')
}
