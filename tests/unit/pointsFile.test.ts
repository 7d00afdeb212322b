import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { mirrorPointsFile, parsePointsFile, parsePointsText } from '../../shared/contract/pointsFile.ts'

const good = () => ({
  format: 'crossbearing-points',
  version: 1,
  handedness: 'right',
  statureM: 1.8,
  club: { kind: '7-iron', lengthM: 0.94 },
  views: [
    {
      view: 'face-on', widthPx: 1080, heightPx: 1920, captureRate: 120, sigmaPx: 1.5,
      camera: { matrix: [[1597.7, 0, -540, 2106], [0, -1597.7, -960, 5501.5], [0, 0, -1, 3.9]] },
      guides: { plumb: [[80, 1500], [84, 420]] },
      frames: [0, 1, 2, 3].map((i) => ({ t: i / 120, points: { hands: [512.1, 930.4 + i], clubhead: [700.2, 1450, 4] } })),
    },
  ],
  positions: { takeaway: { t: 0.41 }, top: { t: 0.921 } },
})

/** The file with one value put at a path. */
function withAt(path: (string | number)[], value: unknown): unknown {
  const file = structuredClone(good()) as unknown as Record<string | number, unknown>
  let at: Record<string | number, unknown> = file
  for (const step of path.slice(0, -1)) at = at[step] as Record<string | number, unknown>
  at[path.at(-1)!] = value
  return file
}

const errorOf = (json: unknown): string => {
  const result = parsePointsFile(json)
  if (result.ok) throw new Error('expected a refusal')
  return result.error
}

describe('a points file', () => {
  it('is taken as it stands, with its defaults', () => {
    const result = parsePointsFile(good())
    if (!result.ok) throw new Error(result.error)
    expect(result.file.sameSwing).toBe(true)
    expect(result.file.views[0]!.frames).toHaveLength(4)
    expect(result.ignored).toEqual([])
  })

  it.each<[string, (string | number)[], unknown, RegExp]>([
    ['another format', ['format'], 'x', /^format: must be "crossbearing-points"\.$/],
    ['a later version', ['version'], 2, /^version: must be 1/],
    ['an odd handedness', ['handedness'], 'both', /^handedness: must be "right" or "left"\.$/],
    ['a zero scale', ['club', 'lengthM'], 0, /^club\.lengthM: must be greater than 0\.$/],
    ['a zero stature', ['statureM'], 0, /^statureM: must be greater than 0\.$/],
    ['a ball of no size', ['views', 0, 'ballDiameterPx'], 0, /^views\[0\]\.ballDiameterPx: must be greater than 0\.$/],
    ['a picture of no width', ['views', 0, 'widthPx'], 0, /^views\[0\]\.widthPx: must be greater than 0\.$/],
    ['no capture rate', ['views', 0, 'captureRate'], undefined, /^views\[0\]\.captureRate: is missing\.$/],
    ['a time that is no number', ['views', 0, 'frames', 1, 't'], Number.NaN, /^views\[0\]\.frames\[1\]\.t: is not a finite number\.$/],
    ['a point that is no number', ['views', 0, 'frames', 1, 'points', 'hands'], [Number.NaN, 3], /^views\[0\]\.frames\[1\]\.points\.hands: must be \[x, y\]/],
    ['a point off the picture', ['views', 0, 'frames', 2, 'points', 'hands'], [1300, 3], /^views\[0\]\.frames\[2\]\.points\.hands: \(1300, 3\) lies off the picture of 1080 x 1920 px\.$/],
    ['a clip of two frames', ['views', 0, 'frames'], good().views[0]!.frames.slice(0, 2), /^views\[0\]\.frames: has fewer than 3 frames/],
    ['frames out of order', ['views', 0, 'frames', 2, 't'], 0, /^views\[0\]\.frames\[2\]\.t: frames are out of order/],
    ['positions out of order', ['positions', 'top'], { t: 0.2 }, /^positions\.top: positions are out of order: top at 0\.2 s does not come after takeaway at 0\.41 s\.$/],
    ['a position nobody knows', ['positions', 'halfway'], { t: 0.2 }, /^positions: does not know "halfway"\.$/],
    ['a guide without direction', ['views', 0, 'guides', 'plumb'], [[1, 1], [1, 1]], /^views\[0\]\.guides\.plumb: its two points coincide/],
    ['a flat camera', ['views', 0, 'camera', 'matrix', 1], [0, 0, 0, 0], /^views\[0\]\.camera\.matrix: is singular/],
    ['no views', ['views'], [], /^views: must hold at least one view\.$/],
    ['the same view twice', ['views'], [good().views[0], good().views[0]], /^views\[1\]\.view: is face-on again/],
    ['a view of the other hand', ['views', 0, 'handedness'], 'left', /^views\[0\]\.handedness: is left, but the file's handedness is right\.$/],
  ])('refuses %s in one sentence that names the field', (_what, path, value, message) => {
    const error = errorOf(withAt(path, value))
    expect(error).toMatch(message)
    expect(error.split('\n')).toHaveLength(1)
  })

  it('refuses two cameras of which one sees the world mirrored', () => {
    const other = { ...good().views[0]!, view: 'down-the-line', camera: { matrix: [[-540, 0, 1597.7, 1460.8], [-960, -1597.7, 0, 5405.5], [-1, 0, 0, 3.8]] } }
    expect(errorOf(withAt(['views'], [good().views[0], other]))).toMatch(/^views\[1\]\.camera\.matrix: disagrees on handedness/)
  })

  it('refuses what is not an object, and what is not JSON', () => {
    expect(errorOf(3)).toMatch(/one JSON object\.$/)
    const result = parsePointsText('{')
    expect(result.ok ? '' : result.error).toMatch(/^The file is not JSON: /)
  })

  it('names the field of a NaN that a writer left in the text', () => {
    const result = parsePointsText(JSON.stringify(good()).replace('[512.1,932.4]', '[NaN,932.4]'))
    expect(result.ok ? '' : result.error).toMatch(/^views\[0\]\.frames\[2\]\.points\.hands: /)
  })

  it('passes over points it does not know, and says so', () => {
    const result = parsePointsFile(withAt(['views', 0, 'frames', 0, 'points', 'leadToe'], [1, 2]))
    expect(result.ok && result.ignored).toEqual(['views[0]: leadToe'])
  })
})

describe('mirroring', () => {
  const parsed = parsePointsFile(good())
  if (!parsed.ok) throw new Error(parsed.error)
  const file = parsed.file

  it('given twice is the file itself', () => {
    const twice = mirrorPointsFile(mirrorPointsFile(file))
    expect(twice.views[0]!.frames[0]!.points['hands']![0]).toBeCloseTo(512.1, 9)
    twice.views[0]!.camera!.matrix.flat().forEach((value, i) => expect(value).toBeCloseTo(file.views[0]!.camera!.matrix.flat()[i]!, 9))
  })

  it('takes a camera along: a world point is seen at width - x', () => {
    const image = (m: readonly (readonly number[])[], p: readonly number[]) => {
      const [u, v, w] = m.map((row) => row[0]! * p[0]! + row[1]! * p[1]! + row[2]! * p[2]! + row[3]!) as [number, number, number]
      return [u / w, v / w] as const
    }
    const mirrored = mirrorPointsFile(file).views[0]!.camera!.matrix
    fc.assert(
      fc.property(fc.double({ min: -1, max: 1, noNaN: true }), fc.double({ min: 0, max: 2, noNaN: true }), fc.double({ min: -1, max: 1, noNaN: true }), (x, y, z) => {
        const there = image(file.views[0]!.camera!.matrix, [x, y, z])
        const back = image(mirrored, [x, y, z])
        expect(back[0]).toBeCloseTo(1080 - there[0], 6)
        expect(back[1]).toBeCloseTo(there[1], 6)
      }),
    )
  })
})
