import { describe, expect, it } from 'vitest'
import type { PointsFile } from '../../shared/contract/pointsFile.ts'
import { seededRandom } from '../../shared/signal/random.ts'
import { measureSwing } from '../../shared/swing/measureSwing.ts'
import { twoSwingRig } from '../fixtures/rigs.ts'

type Matrix = NonNullable<PointsFile['views'][number]['camera']>['matrix']

describe('two swings of one student', () => {
  it('miss each other at the clubhead by what the student repeats, however near the camera it stands', () => {
    const repeats = 0.025
    const { file, cameras } = twoSwingRig(seededRandom(7), repeats)
    const known = { ...file, views: file.views.map((v, i) => ({ ...v, sigmaPx: 0.05, camera: { matrix: cameras[i]!.matrix as Matrix } })) }
    const { measures } = measureSwing(known)
    const gap = measures.find((m) => m.id === 'ray-gap' && m.at === 'address')!
    // At address it stands still, so that its instant adds nothing, and a metre nearer to the face-on camera than the feet.
    const due = 1000 * repeats * Math.SQRT2
    expect(gap.sigma).toBeGreaterThan(0.92 * due)
    expect(gap.sigma).toBeLessThan(1.05 * due)
  })
})
