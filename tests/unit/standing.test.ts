import { describe, expect, it } from 'vitest'
import type { PointName, ViewName } from '../../shared/contract/pointsFile.ts'
import { buildProblem } from '../../shared/camera/solve/problem.ts'
import { standSigma } from '../../shared/camera/solve/standing.ts'

/** What the usual places say against a player who stands nearer to the ball by standSigma, in squares of standard deviations. */
function against(view: ViewName, names: readonly PointName[]): number {
  const seen = [{ x: 500, y: 900, sigma: 1.5, rate: [0, 0] as const }]
  const problem = buildProblem({ views: [{ view, width: 1080, height: 1920, sigmaPx: 1.5 }], address: new Map(names.map((name) => [name, seen])), instants: [], clubM: 0.94, syncSigmaS: 0 })
  const [r, js, jp] = [new Float64Array(3), new Float64Array(60), new Float64Array(60)]
  const cost = (nearer: number): number => {
    const places = Float64Array.from(problem.points.flatMap(({ name }) => [0, 0, /Ankle|head$/.test(name) && name !== 'clubhead' ? 0 : nearer]))
    return problem.terms.filter(({ shared }) => shared.length === 0).reduce((sum, term) => {
      // Each term reads its points by their numbers in the whole.
      term.evaluate(problem.sharedStart, places, r, js, jp)
      return sum + r.subarray(0, term.size).reduce((all, v) => all + v * v, 0)
    }, 0)
  }
  return (cost(standSigma) + cost(-standSigma) - 2 * cost(0)) / 2
}

describe('how far a player stands to the ball', () => {
  it.each([
    ['ball, club and hands', ['ball', 'clubhead', 'butt', 'hands']], ['ball and club', ['ball', 'clubhead', 'butt']],
    ['club and hands', ['clubhead', 'hands']], ['every point of the club', ['ball', 'clubhead', 'shaftEnd', 'butt', 'hands']],
  ] as const)('is one unknown to one camera, though it shows %s', (_, names) => {
    for (const view of ['face-on', 'down-the-line'] as const) {
      const told = against(view, ['leadAnkle', 'trailAnkle', 'head', ...names])
      expect(told).toBeGreaterThan(0.95)
      expect(told).toBeLessThan(1.25)
    }
  })
})
