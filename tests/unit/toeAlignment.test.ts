import { describe, expect, it } from 'vitest'
import { mirrorPointsFile, type PointsFile } from '../../shared/contract/pointsFile.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { digitise, parametricSwing, randomCamera, toes } from '../fixtures/swingSim.ts'
import { trueTimes } from '../fixtures/swingTruth.ts'

const random = seededRandom(21)
const motion = parametricSwing(random)
const cameras = [randomCamera('face-on', random), randomCamera('down-the-line', random)]
const file = digitise(motion, cameras, random, { sigmaPx: 1.5, fps: 60, syncSigma: 0, matrices: true, positionSigma: 0.003 }, trueTimes(motion))
const truth = (Math.atan2(toes[1][2] - toes[0][2], toes[1][0] - toes[0][0]) * 180) / Math.PI
const found = (of: PointsFile) => measureSwing(of).measures.filter(({ id }) => id === 'toe-alignment')

describe('alignment of the toes', () => {
  it('is read on the ground in either view, closed positive, for both hands and whichever end is marked first', () => {
    expect(truth).toBeGreaterThan(4)
    const rows = found(file)
    expect(rows.map(({ view }) => view)).toEqual(['face-on', 'down-the-line'])
    for (const row of rows) expect(Math.abs(row.value - truth), `${row.view} ${row.value} +- ${row.sigma}`).toBeLessThan(3 * row.sigma)
    for (const row of rows) expect(row.sigma).toBeLessThan(3)
    const left = found({ ...mirrorPointsFile(file), handedness: 'left' })
    left.forEach((row, i) => expect(row.value).toBeCloseTo(rows[i]!.value, 6))
    const turned = found({ ...file, views: file.views.map((view) => ({ ...view, guides: { stanceLine: [view.guides!.stanceLine![1], view.guides!.stanceLine![0]] } })) })
    turned.forEach((row, i) => expect(row.value).toBeCloseTo(rows[i]!.value, 6))
  })

  it('says why it cannot be had: not marked, or standing in for the target line', () => {
    const why = (of: PointsFile) => measureSwing(of).missing.filter(({ id }) => id === 'toe-alignment').map((one) => one.why)
    const without = (name: 'camera' | 'guides') => file.views.map((view) => {
      const { [name]: _, ...rest } = view
      return rest
    })
    expect(why({ ...file, views: without('camera') })).toEqual(Array.from({ length: 2 }, () => expect.stringMatching(/stands in for the target line: mark the target line/)))
    expect(why({ ...file, views: without('guides') })[0]).toMatch(/is not marked in the face-on view/)
  })
})
