import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { main } from '../../electron/cli/crossbearing.ts'
import { demoShots } from '../../electron/desk/demo/plan.ts'
import { clipTruth, pointsFile } from '../../electron/desk/demo/truth.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import type { PointsFile } from '../../shared/contract/pointsFile.ts'
import type { ForwardResult, InverseResult, SweepResult } from '../../shared/arms/types.ts'

const folder = mkdtempSync(join(tmpdir(), 'arms-'))
afterAll(() => rmSync(folder, { recursive: true }))
const put = (name: string, value: unknown): string => {
  const path = join(folder, name)
  writeFileSync(path, typeof value === 'string' ? value : JSON.stringify(value))
  return path
}
async function run(...args: string[]): Promise<{ code: number; out: string; err: string }> {
  let out = ''
  let err = ''
  const code = await main(['arms', ...args], { out: (line) => (out += `${line}\n`), say: (line) => (err += `${line}\n`), signal: new AbortController().signal })
  return { code, out, err }
}
const shots = demoShots().filter((shot) => shot.student === 'rowan')
const points = pointsFile(shots.map((shot) => clipTruth(shot, 1)), true) as PointsFile
const rowan = put('rowan.json', points)
const head = { format: 'crossbearing-arms', version: 1 }

describe('crossbearing arms', () => {
  it('sweeps a standard body of 1.80 m without a file: the shaft goes across as the elbow goes out', async () => {
    const { code, out, err } = await run('--sweep', '--json')
    expect([code, err]).toEqual([0, ''])
    const { kind, rows, now } = JSON.parse(out) as SweepResult
    expect(kind).toBe('sketch')
    expect(Object.keys(rows[0]!).toSorted()).toEqual(['azimuthAtLevelDeg', 'azimuthDeg', 'elbowOutCm', 'reachable', 'swivelDeg'])
    const reachable = rows.filter((row) => row.reachable)
    expect(reachable.length).toBeGreaterThan(20)
    for (let i = 1; i < reachable.length; i++) {
      expect(reachable[i]!.elbowOutCm).toBeGreaterThan(reachable[i - 1]!.elbowOutCm)
      expect(reachable[i]!.azimuthDeg).toBeGreaterThan(reachable[i - 1]!.azimuthDeg)
    }
    expect(now.reachable).toBe(true)
    expect((await run('--sweep', '--json')).out).toBe(out)
  })

  it('goes forward and back to the same elbow', async () => {
    const there = JSON.parse((await run('--forward', '--swivel', '55', '--json')).out) as ForwardResult
    expect(there.readings.swivelDeg).toBe(55)
    expect(there.gapM).toBeLessThan(1e-4)
    const back = JSON.parse((await run('--inverse', '--azimuth', String(there.readings.azimuthDeg), '--json')).out) as InverseResult
    expect(back.found && back.pose.readings.swivelDeg).toBeCloseTo(55, 3)
  })

  it('fits a points file first', async () => {
    const { code, out } = await run(rowan, '--fit', '--json')
    expect(code).toBe(0)
    const fit = JSON.parse(out) as { pose: ForwardResult; sigma: { azimuthDeg: number }; input: unknown }
    expect(fit.pose.readings.azimuthDeg).toBeCloseTo(18, 0)
    const swept = JSON.parse((await run(rowan, '--sweep', '--json')).out) as SweepResult
    expect(swept.kind).toBe('anchored')
    expect(swept).not.toHaveProperty('contradictions')
    expect(swept.now.azimuthDeg).toBeCloseTo(fit.pose.readings.azimuthDeg, 6)
    // What a fit gives is itself an arms file's input.
    const again = JSON.parse((await run(put('again.json', { ...head, input: fit.input }), '--forward', '--json')).out) as ForwardResult
    expect(again.readings.azimuthDeg).toBeCloseTo(fit.pose.readings.azimuthDeg, 6)
  })

  it('tells of marks that contradict the body, whatever is asked of it', async () => {
    const path = put('off.json', { ...points, views: points.views.map((view, i) => (i > 0 ? view : { ...view, frames: view.frames.map((frame) => {
      const at = frame.points.trailElbow
      return at ? { ...frame, points: { ...frame.points, trailElbow: [at[0] + 110, at[1]] } } : frame
    }) })) })
    expect(JSON.parse((await run(path, '--forward', '--json')).out)).toMatchObject({ contradictions: expect.arrayContaining([expect.stringMatching(/^The trail elbow as marked face on lies/)]) })
  })

  it('is for reading without --json', async () => {
    expect((await run('--forward')).out).toMatch(/^Trail elbow at a swivel of 40\.0 degrees/)
    expect((await run('--inverse', '--azimuth', '-5')).out).toMatch(/cm out behind, .* cm up the shaft is 5\.0 degrees laid off/)
    expect((await run('--sweep')).out).toMatch(/A centimetre in is \d\.\d ± \d\.\d degrees less across/)
    const fit = (await run(rowan, '--fit')).out
    expect(fit).toMatch(/^Fitted at top from face-on and down-the-line: \d+ points/)
  })

  it.each<[string, () => string[], RegExp]>([
    ['no way', () => [], /^Say one of --forward, --inverse, --fit and --sweep/],
    ['two ways', () => ['--fit', '--sweep'], /^Say one of/],
    ['a fit of nothing', () => ['--fit'], /^--fit needs a points file/],
    ['no such file', () => [join(folder, 'nowhere.json'), '--sweep'], /^There is no file/],
    ['not JSON', () => [put('bad.json', '{'), '--sweep'], /is not JSON/],
    ['another format', () => [put('other.json', { format: 'x' }), '--sweep'], /^format: must be/],
    ['a bad points file', () => [put('points.json', { format: 'crossbearing-points', version: 1, handedness: 'up', views: [] }), '--sweep'], /^handedness: must be "right" or "left"\.$/],
    ['a forearm without length', () => [put('zero.json', { ...head, forearmM: 0 }), '--sweep'], /^forearmM: must be longer than nothing/],
    ['hands out of reach', () => [put('far.json', { ...head, hands: [2, 1, 0] }), '--forward'], /out of reach .*; the nearest that holds: the hands .* cm nearer/],
    ['hands that are nowhere near', () => [put('nowhere near.json', { ...head, hands: [1e300, 1, 0] }), '--sweep'], /^hands\[0\]: must be within 10 m\.$/],
    ['a club that nobody could swing', () => [put('long.json', { ...head, clubLengthM: 1000 }), '--sweep'], /^clubLengthM: must be at most 2 m\.$/],
    ['a chest turned past itself', () => [put('turned.json', { ...head, trunk: { turnDeg: 400 } }), '--sweep'], /^trunk\.turnDeg: must be from -180 to 180 degrees\.$/],
    ['hands and a shaft that they would give', () => [put('both.json', { ...head, hands: [-0.4, 1.8, 0.1], shaft: { atLevelDeg: 5 } }), '--sweep'], /^hands: with them elbow and shaft are found, and shaft would set them too/],
    ['a whole body with a stature beside it', () => [put('beside.json', { ...head, statureM: 1.7, input: standardArms() }), '--sweep'], /^input: is a whole body and pose, which leaves no room for statureM/],
    ['an elbow off its branch', () => ['--forward', '--swivel', '-100'], /^The elbow cannot go to -100\.0 degrees .*; the nearest is the elbow at/],
    ['no number', () => ['--forward', '--swivel', 'far'], /^--swivel needs a number of degrees, not far\.$/],
    ['no position', () => [rowan, '--fit', '--at', 'tea'], /^--at needs one of/],
    ['both directions', () => ['--inverse', '--azimuth', '0', '--at-level', '0'], /not both/],
  ])('refuses %s with one sentence and 2', async (_, args, message) => {
    const { code, out, err } = await run(...args())
    expect(code).toBe(2)
    expect(out).toBe('')
    expect(err.trim()).toMatch(message)
    expect(err.trim().split('\n')).toHaveLength(1)
  })
})
