import { execFile } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { promisify } from 'node:util'
import { afterAll, describe, expect, it } from 'vitest'
import { runMeasure } from '../../electron/cli/measure.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { digitise, parametricSwing, randomCamera } from '../fixtures/swingSim.ts'
import { trueTimes } from '../fixtures/swingTruth.ts'

const folder = mkdtempSync(join(tmpdir(), 'measure-'))
afterAll(() => rmSync(folder, { recursive: true }))

const random = seededRandom(4)
const motion = parametricSwing(random)
const times = trueTimes(motion)
const cameras = [randomCamera('face-on', random), randomCamera('down-the-line', random)]
const file = digitise(motion, cameras, random, { sigmaPx: 1.5, fps: 120, syncSigma: 0.002, matrices: true, positionSigma: null }, times)

const put = (name: string, text: string): string => {
  const path = join(folder, name)
  writeFileSync(path, text)
  return path
}

async function run(...args: string[]): Promise<{ code: number; out: string; err: string }> {
  let out = ''
  let err = ''
  const code = await runMeasure(args, { out: (text) => (out += text), err: (text) => (err += text) })
  return { code, out, err }
}

describe('crossbearing measure', () => {
  it('gives the result JSON and 0', async () => {
    const { code, out, err } = await run(put('good.json', JSON.stringify(file)))
    expect(code).toBe(0)
    expect(err).toBe('')
    const result = JSON.parse(out) as { positions: Record<string, { t: number; sigma: number }>; measures: Record<string, unknown>[]; missing: Record<string, unknown>[] }
    expect(Math.abs(result.positions['top']!.t - times.top!)).toBeLessThan(3 * result.positions['top']!.sigma)
    for (const m of result.measures) {
      expect(Object.keys(m).toSorted()).toEqual(['at', 'basis', 'hi', 'id', 'lo', 'sigma', 'unit', 'value', 'view'])
      expect(m['lo']).toBeLessThanOrEqual(m['value'] as number)
      expect(m['hi']).toBeGreaterThanOrEqual(m['value'] as number)
      expect(m['sigma']).toBeGreaterThanOrEqual(0)
      expect(m['basis']).not.toBe('')
    }
    for (const m of result.missing) expect(Object.keys(m).toSorted()).toEqual(['at', 'id', 'view', 'why'])
    expect(result.measures.find((m) => m['id'] === 'shaft-azimuth')!['view']).toBeNull()
  })

  it('gives the same for the same file', async () => {
    const path = put('again.json', JSON.stringify(file))
    expect((await run(path)).out).toBe((await run(path)).out)
  })

  it.each<[string, string, RegExp]>([
    ['not JSON', '{"format":', /^The file is not JSON: .*\n$/],
    ['an empty file', '', /^The file is not JSON: .*\n$/],
    ['NaN', JSON.stringify(file).replace(/"hands":\[[^,]+,/, '"hands":[NaN,'), /^views\[0\]\.frames\[\d+\]\.points\.hands: .*\n$/],
    ['two frames', JSON.stringify({ ...file, views: [{ ...file.views[0], frames: file.views[0]!.frames.slice(0, 2) }] }), /^views\[0\]\.frames: has fewer than 3 frames.*\n$/],
    ['two hands', JSON.stringify({ ...file, views: [{ ...file.views[0], handedness: 'left' }] }), /^views\[0\]\.handedness: is left.*\n$/],
    ['a zero scale', JSON.stringify({ ...file, statureM: 0 }), /^statureM: must be greater than 0\.\n$/],
    ['positions out of order', JSON.stringify({ ...file, positions: { top: { t: 1 }, impact: { t: 0.9 } } }), /^positions\.impact: positions are out of order.*\n$/],
  ])('refuses %s with one sentence and 2', async (name, text, message) => {
    const { code, out, err } = await run(put(`${name}.json`, text))
    expect(code).toBe(2)
    expect(out).toBe('')
    expect(err).toMatch(message)
    expect(err.trim().split('\n')).toHaveLength(1)
  })

  it('says what is wrong with its arguments', async () => {
    expect(await run(join(folder, 'nowhere.json'))).toMatchObject({ code: 2, err: `There is no file ${join(folder, 'nowhere.json')}.\n` })
    expect((await run(folder)).err).toMatch(/is a folder/)
    expect((await run()).code).toBe(2)
    expect((await run('a', 'b')).err).toMatch(/^Usage: /)
  })

  it('stays calm with next to nothing: three frames, no points', async () => {
    const bare = { format: 'crossbearing-points', version: 1, handedness: 'left', views: [{ view: 'face-on', widthPx: 100, heightPx: 100, captureRate: 30, frames: [0, 1, 2].map((i) => ({ t: i / 30, points: {} })) }] }
    const { code, out } = await run(put('bare.json', JSON.stringify(bare)))
    expect(code).toBe(0)
    const result = JSON.parse(out) as { measures: unknown[]; missing: { why: string }[] }
    expect(result.measures).toEqual([])
    expect(result.missing.length).toBeGreaterThan(40)
    for (const m of result.missing) expect(m.why.length).toBeGreaterThan(10)
  })

  it('reads a swing marked on a few frames only, at given positions', async () => {
    const view = file.views[0]!
    const near = (t: number) => view.frames.reduce((best, f) => (Math.abs(f.t - t) < Math.abs(best.t - t) ? f : best))
    const kept = (['address', 'top', 'impact'] as const).map((name) => [name, near(times[name]!)] as const)
    const sparse = {
      ...file, positions: Object.fromEntries(kept.map(([name, f]) => [name, { t: f.t }])),
      views: [{ ...view, camera: undefined, guides: { plumb: [[80, 1500], [84, 420]] }, frames: kept.map(([, f]) => f) }],
    }
    const { code, out } = await run(put('sparse.json', JSON.stringify(sparse)))
    expect(code).toBe(0)
    const result = JSON.parse(out) as { measures: { id: string; at: string }[] }
    expect(result.measures.some((m) => m.id === 'lead-arm-to-vertical' && m.at === 'top')).toBe(true)
    expect(result.measures.some((m) => m.id === 'hip-shift' && m.at === 'impact')).toBe(true)
    expect(result.measures.some((m) => m.id === 'downswing-time')).toBe(true)
  })

  it('runs from a terminal, and sets the exit code', async () => {
    const command = fileURLToPath(new URL('../../electron/cli/measure.ts', import.meta.url))
    const done = await promisify(execFile)(process.execPath, [command, put('terminal.json', JSON.stringify(file))], { maxBuffer: 1e8 })
    expect(JSON.parse(done.stdout)).toHaveProperty('measures')
    await expect(promisify(execFile)(process.execPath, [command, 'nowhere.json'])).rejects.toMatchObject({ code: 2, stderr: 'There is no file nowhere.json.\n' })
  })
})
