import { describe, expect, it } from 'vitest'
import { mirrorPointsFile, type PointsFile } from '../../shared/contract/pointsFile.ts'
import { measureSwing, type SwingResult } from '../../shared/swing/measureSwing.ts'
import { renderedPoints, renderedTruth, type RenderedTruth } from '../fixtures/renderedSwing.ts'

const truth = renderedTruth()

const reading = (result: SwingResult, id: string, at: string, view: string | null = null) => {
  const m = result.measures.find((r) => r.id === id && r.at === at && r.view === view)
  if (!m) throw new Error(`${id} at ${at} is missing: ${result.missing.find((r) => r.id === id && r.at === at)?.why}`)
  return m
}

/** Degrees of the shaft in the world on one frame. */
function shaftOfFrame(given: RenderedTruth, index: number): Record<'shaft-azimuth' | 'shaft-elevation', number> {
  const { grip, clubhead } = given.frames[index]!
  const [x, y, z] = [0, 1, 2].map((i) => clubhead[i]! - grip[i]!) as [number, number, number]
  return { 'shaft-azimuth': (Math.atan2(z, x) * 180) / Math.PI, 'shaft-elevation': (Math.atan2(y, Math.hypot(x, z)) * 180) / Math.PI }
}

// A rendered swing whose cameras, events and shaft are given with it; its motion is a recorded one, retimed.
describe.skipIf(!truth)('a rendered swing with a known answer', () => {
  const t = truth!
  it.each([0, 1, 2, 3, 4])('gives its events, tempo and shaft back within three errors, noise seed %d (0: none)', (seed) => {
    const result = measureSwing(renderedPoints(t, { sigmaPx: seed ? 1.5 : 0, seed }))
    // Its events stand on frames, and so are themselves known to the frame.
    const frame = 1 / t.fps
    for (const name of ['takeaway', 'top', 'impact'] as const) {
      const p = result.positions[name]!
      expect(p.sigma).toBeLessThan(0.02)
      expect(Math.abs(p.t - t.events[name]), `${name} ${p.t} +- ${p.sigma}`).toBeLessThan(3 * p.sigma + frame / 2)
    }
    // Last still frame: anywhere in the stillness before the takeaway.
    expect(result.positions.address!.t).toBeGreaterThan(t.events.address - 0.05)
    expect(result.positions.address!.t).toBeLessThan(t.events.takeaway)
    const wanted = { 'backswing-time': t.events.top - t.events.takeaway, 'downswing-time': t.events.impact - t.events.top }
    for (const [id, value] of Object.entries(wanted)) {
      const m = reading(result, id, 'swing')
      expect(Math.abs(m.value - value), `${id} ${m.value} +- ${m.sigma}`).toBeLessThan(3 * m.sigma + frame / 2)
    }
    const tempo = reading(result, 'tempo-ratio', 'swing')
    const ratio = wanted['backswing-time'] / wanted['downswing-time']
    expect(Math.abs(tempo.value - ratio)).toBeLessThan(3 * tempo.sigma + (ratio * frame) / (2 * wanted['downswing-time']))
    expect(tempo.sigma).toBeLessThan(0.1)
    const top = t.frames.findIndex(({ t: at }) => at >= t.events.top - 1e-6)
    for (const [id, value] of [['shaft-azimuth', t.shaftAtTop.azimuthDeg], ['shaft-elevation', t.shaftAtTop.elevationDeg]] as const) {
      const m = reading(result, id, 'top')
      const half = Math.abs(shaftOfFrame(t, top + 1)[id] - shaftOfFrame(t, top - 1)[id]) / 4
      expect(Math.abs(m.value - value), `${id} ${m.value} +- ${m.sigma}`).toBeLessThan(Math.max(3 * m.sigma, 0.25) + half)
    }
  })

  it('with its events given, gives the shaft at the top', () => {
    const result = measureSwing(renderedPoints(t, { sigmaPx: 1, seed: 9, positions: true }))
    for (const [id, value] of [['shaft-azimuth', t.shaftAtTop.azimuthDeg], ['shaft-elevation', t.shaftAtTop.elevationDeg]] as const) {
      const m = reading(result, id, 'top')
      expect(Math.abs(m.value - value)).toBeLessThan(3 * m.sigma)
      expect(m.sigma).toBeLessThan(0.5)
    }
    expect(reading(result, 'tempo-ratio', 'swing').value).toBeCloseTo((1.85 - 0.9) / (2.2 - 1.85), 6)
  })

  it('knows where its cameras stand', () => {
    const result = measureSwing(renderedPoints(t))
    for (const view of ['face-on', 'down-the-line'] as const) {
      const [x, y, z] = t.cameras[view]!.position
      expect(reading(result, 'camera-height', 'swing', view).value).toBeCloseTo(1000 * y, 0)
      expect(reading(result, 'camera-distance', 'swing', view).value).toBeCloseTo(1000 * Math.hypot(x, z), 0)
      expect(reading(result, 'camera-yaw', 'swing', view).value).toBeCloseTo(0, 3)
    }
    const ball = t.frames[60]!.ball
    const offset = reading(result, 'camera-offset', 'swing', 'down-the-line')
    expect(Math.abs(offset.value - 1000 * (0.37 - ball[2]!))).toBeLessThan(5)
    expect(Math.abs(reading(result, 'camera-offset-hand-line', 'swing', 'down-the-line').value - 1000 * (0.37 - t.frames[104]!.grip[2]!))).toBeLessThan(5)
  })

  it('from one view alone still tells the tempo, and says why it has no azimuth', () => {
    const result = measureSwing(renderedPoints(t, { sigmaPx: 1.5, seed: 2, cameras: false, views: ['face-on'] }))
    const tempo = reading(result, 'tempo-ratio', 'swing', 'face-on')
    expect(Math.abs(tempo.value - 0.95 / 0.35)).toBeLessThan(3 * tempo.sigma)
    expect(result.missing.find((m) => m.id === 'shaft-azimuth')!.why).toMatch(/needs both views/)
  })

  it('reads a left-hander, filmed in the mirror, the same to the last digit that matters', () => {
    const right = renderedPoints(t, { sigmaPx: 1, seed: 5 })
    const left: PointsFile = { ...mirrorPointsFile(right), handedness: 'left' }
    const a = measureSwing(right)
    const b = measureSwing(left)
    expect(b.measures).toHaveLength(a.measures.length)
    a.measures.forEach((m, i) => {
      expect(b.measures[i]!.id).toBe(m.id)
      expect(b.measures[i]!.value).toBeCloseTo(m.value, 5)
      expect(b.measures[i]!.sigma).toBeCloseTo(m.sigma, 5)
    })
  })
})
