import * as z from 'zod'

/**
 * The points file: the open format in which digitised swings come in and go out.
 * JSON, versioned. Times are seconds of real time, picture points are pixels as filmed (display space,
 * top-left corner (0,0), the first pixel's centre (.5,.5)), lengths are metres.
 */

export const pointNames = [
  'head', 'crown', 'leadShoulder', 'trailShoulder', 'leadElbow', 'trailElbow', 'leadWrist', 'trailWrist',
  'leadHip', 'trailHip', 'leadKnee', 'trailKnee', 'leadAnkle', 'trailAnkle', 'spineTop', 'spineBase',
  'hands', 'butt', 'shaftEnd', 'clubhead', 'ball',
] as const
export type PointName = (typeof pointNames)[number]

/** In the order of the swing. */
export const positionNames = [
  'address', 'takeaway', 'shaft-level-back', 'lead-arm-level-back', 'top',
  'lead-arm-level-down', 'shaft-level-down', 'impact', 'shaft-level-through', 'finish',
] as const
export type PositionName = (typeof positionNames)[number]

export const viewNames = ['face-on', 'down-the-line'] as const
export type ViewName = (typeof viewNames)[number]

/** What a scale can be taken from. */
export const scaleSources = ['ball', 'club', 'stature', 'known'] as const
export type ScaleSource = (typeof scaleSources)[number]

/** Used where a file does not say how well its points were placed, in pixels. */
export const defaultSigmaPx = 2
/** How far apart the clocks of two views of one swing may be where the file does not say, in seconds. */
export const defaultSyncSigmaS = 0.002

const finite = z.number({ error: (issue) => (issue.input === undefined ? 'is missing' : 'is not a finite number') })
const positive = finite.gt(0, { error: 'must be greater than 0' })
const text = (what: string) => z.string({ error: `must be ${what}` })
const picturePoint = z.tuple([finite, finite], { error: 'must be two numbers, x and y' })
const guide = z.tuple([picturePoint, picturePoint], { error: 'must be two picture points' })
const mat = z.object(
  {
    /** In order around it. */
    corners: z.tuple([picturePoint, picturePoint, picturePoint, picturePoint], { error: 'must be four picture points in order around the mat' }),
    /** From the first corner to the second, and from the second to the third, metres. */
    lengthM: positive,
    widthM: positive,
  },
  { error: 'must be an object with corners, lengthM and widthM' },
)
const digitisedPoint = z.union([z.tuple([finite, finite]), z.tuple([finite, finite, positive])], {
  error: 'must be [x, y] or [x, y, sigmaPx], finite numbers with sigmaPx greater than 0',
})
const matrixRow = z.tuple([finite, finite, finite, finite], { error: 'must be a row of four numbers' })

const handedness = z.enum(['right', 'left'], { error: 'must be "right" or "left"' })
const position = z.object(
  { t: finite, sigma: finite.min(0, { error: 'must not be negative' }).optional() },
  { error: 'must be an object with a time t' },
)
const positions = z.partialRecord(z.enum(positionNames), position, { error: 'must be positions by name' })

const frame = z.object(
  { t: finite, points: z.record(z.string(), digitisedPoint, { error: 'must be points by name' }) },
  { error: 'must be an object with t and points' },
)

const view = z.object(
  {
    view: z.enum(viewNames, { error: 'must be "face-on" or "down-the-line"' }),
    widthPx: positive,
    heightPx: positive,
    captureRate: positive,
    sigmaPx: positive.optional(),
    readoutS: finite.min(0, { error: 'must not be negative' }).optional(),
    ballDiameterPx: positive.optional(),
    /** Two picture points a known distance apart on the measured plane, metres. */
    knownLength: z.object({ ends: guide, lengthM: positive }, { error: 'must be an object with ends and lengthM' }).optional(),
    /** What is not to be used for scale although it is there. */
    scaleWithout: z.array(z.enum(scaleSources, { error: 'must be "ball", "club", "stature" or "known"' })).optional(),
    handedness: handedness.optional(),
    /** Whether the picture shows the world left for right; its points, guides and camera are then those of that picture. */
    mirrored: z.boolean({ error: 'must be true or false' }).optional(),
    camera: z
      .object({ matrix: z.tuple([matrixRow, matrixRow, matrixRow], { error: 'must be three rows of four numbers' }) })
      .optional(),
    guides: z
      .object({ targetLine: guide.optional(), plumb: guide.optional(), horizon: guide.optional(), stanceLine: guide.optional(), mat: mat.optional() })
      .optional(),
    frames: z.array(frame, { error: 'must be a list of frames' }).min(3, { error: 'has fewer than 3 frames, too few to measure' }),
    positions: positions.optional(),
  },
  { error: 'must be an object' },
)

const file = z.object(
  {
    format: z.literal('crossbearing-points', { error: 'must be "crossbearing-points"' }),
    version: z.literal(1, { error: 'must be 1, the only version there is' }),
    handedness,
    statureM: positive.optional(),
    club: z.object({ kind: text('the name of a club').optional(), lengthM: positive.optional() }).optional(),
    sameSwing: z.boolean({ error: 'must be true or false' }).default(true),
    syncSigmaS: finite.min(0, { error: 'must not be negative' }).default(defaultSyncSigmaS),
    /** How far a point comes back to its place from swing to swing, metres; used where the views show two swings. */
    repeatabilityM: positive.optional(),
    /** Whose figure that is: the coach's own, or the scatter of so many swings with its error, metres. */
    repeatabilityFrom: z.discriminatedUnion('by', [
      z.object({ by: z.literal('coach') }), z.object({ by: z.literal('swings'), swings: positive, sigmaM: positive }),
    ], { error: 'must say by "coach" or by "swings", with swings and sigmaM' }).optional(),
    views: z
      .array(view, { error: 'must be a list of one or two views' })
      .min(1, { error: 'must hold at least one view' })
      .max(2, { error: 'must hold one or two views' }),
    positions: positions.optional(),
  },
  { error: 'the file must be one JSON object' },
)

export type PointsFile = z.infer<typeof file>
export type PointsView = PointsFile['views'][number]
export type PointsFrame = PointsView['frames'][number]
export type FilePositions = z.infer<typeof positions>

export type PointsFileResult =
  | { readonly ok: true; readonly file: PointsFile; /** Points of names that are not known, passed over. */ readonly ignored: readonly string[] }
  | { readonly ok: false; readonly error: string }

/** views[0].frames[3].points.hands */
function fieldName(path: readonly PropertyKey[]): string {
  let name = ''
  for (const step of path) name += typeof step === 'number' ? `[${step}]` : name ? `.${String(step)}` : String(step)
  return name
}

const sentence = (path: readonly PropertyKey[], message: string): string => {
  const field = fieldName(path)
  return field ? `${field}: ${message}.` : `${message[0]!.toUpperCase()}${message.slice(1)}.`
}

type Finding = { readonly path: readonly PropertyKey[]; readonly message: string }

function findPositionsFault(given: FilePositions | undefined, path: readonly PropertyKey[]): Finding | null {
  let before: { name: PositionName; t: number } | null = null
  for (const name of positionNames) {
    const t = given?.[name]?.t
    if (t === undefined) continue
    if (before && t <= before.t)
      return { path: [...path, name], message: `positions are out of order: ${name} at ${t} s does not come after ${before.name} at ${before.t} s` }
    before = { name, t }
  }
  return null
}

/**
 * The determinant of a projection's left 3 x 3 part over the lengths of its rows: 0 for no camera at all. Its sign,
 * where the matrix is signed so that the player stands before the camera, is that of the world's triad.
 */
function chirality(m: readonly (readonly number[])[]): number {
  const [a, b, c] = m.map((row) => row.slice(0, 3)) as [number[], number[], number[]]
  const det =
    a[0]! * (b[1]! * c[2]! - b[2]! * c[1]!) - a[1]! * (b[0]! * c[2]! - b[2]! * c[0]!) + a[2]! * (b[0]! * c[1]! - b[1]! * c[0]!)
  const chest = m[2]![1]! + m[2]![3]!
  return (Math.sign(chest) * det) / (Math.hypot(...a) * Math.hypot(...b) * Math.hypot(...c))
}
const isSingular = (m: readonly (readonly number[])[]): boolean => !(Math.abs(chirality(m)) > 1e-9)

type Corner = readonly [number, number]

/** Why four picture points are no rectangle's corners in order around it, or null: its picture turns the same way at each. */
export function matFault(corners: readonly [Corner, Corner, Corner, Corner]): string | null {
  const turns = corners.map((p, i) => {
    const [q, r] = [corners[(i + 1) % 4]!, corners[(i + 2) % 4]!]
    return (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0])
  })
  if (turns.every((turn) => Math.abs(turn) > 1) && turns.every((turn) => turn > 0 === turns[0]! > 0)) return null
  return 'its corners do not go around it: mark them one after another along its sides'
}

function findViewFault(v: PointsView, path: readonly PropertyKey[]): Finding | null {
  const off = (x: number, y: number): string | null =>
    x < 0 || x > v.widthPx || y < 0 || y > v.heightPx
      ? `(${x}, ${y}) lies off the picture of ${v.widthPx} x ${v.heightPx} px`
      : null
  let last = -Infinity
  for (const [i, f] of v.frames.entries()) {
    if (f.t <= last) return { path: [...path, 'frames', i, 't'], message: `frames are out of order: ${f.t} s does not come after ${last} s` }
    last = f.t
    for (const [name, p] of Object.entries(f.points)) {
      const message = off(p[0], p[1])
      if (message) return { path: [...path, 'frames', i, 'points', name], message }
    }
  }
  const { mat: rectangle, ...lines } = v.guides ?? {}
  const crooked = rectangle && matFault(rectangle.corners)
  if (crooked) return { path: [...path, 'guides', 'mat', 'corners'], message: crooked }
  for (const [name, ends] of Object.entries(lines)) {
    if (!ends) continue
    if (Math.hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]) < 1)
      return { path: [...path, 'guides', name], message: 'its two points coincide, so it has no direction' }
  }
  const known = v.knownLength?.ends
  if (known && Math.hypot(known[1][0] - known[0][0], known[1][1] - known[0][1]) < 1)
    return { path: [...path, 'knownLength', 'ends'], message: 'its two points coincide, so they give no scale' }
  if (v.camera && isSingular(v.camera.matrix)) return { path: [...path, 'camera', 'matrix'], message: 'is singular, so it is no camera' }
  return findPositionsFault(v.positions, [...path, 'positions'])
}

function findFault(f: PointsFile): Finding | null {
  const seen = new Map<ViewName, number>()
  for (const [i, v] of f.views.entries()) {
    const path = ['views', i]
    if (v.handedness && v.handedness !== f.handedness)
      return { path: [...path, 'handedness'], message: `is ${v.handedness}, but the file's handedness is ${f.handedness}` }
    const first = seen.get(v.view)
    if (first !== undefined) return { path: [...path, 'view'], message: `is ${v.view} again, the same as views[${first}]` }
    seen.set(v.view, i)
    const fault = findViewFault(v, path)
    if (fault) return fault
  }
  const [one, two] = f.views
  const sideOf = (v: PointsView): number => chirality(v.camera!.matrix) * (v.mirrored ? -1 : 1)
  if (one?.camera && two?.camera && sideOf(one) * sideOf(two) < 0)
    return { path: ['views', 1, 'camera', 'matrix'], message: `disagrees on handedness with views[0].camera.matrix: one shows the world of a right-hander, the other a left-hander's` }
  return findPositionsFault(f.positions, ['positions'])
}

const known = new Set<string>(pointNames)

/** Checks a parsed JSON value. On failure one sentence that names the field. */
export function parsePointsFile(json: unknown): PointsFileResult {
  const parsed = file.safeParse(json)
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!
    return { ok: false, error: sentence(issue.path, describe(issue)) }
  }
  const fault = findFault(parsed.data)
  if (fault) return { ok: false, error: sentence(fault.path, fault.message) }
  const ignored = new Set<string>()
  for (const [i, v] of parsed.data.views.entries())
    for (const f of v.frames) for (const name of Object.keys(f.points)) if (!known.has(name)) ignored.add(`views[${i}]: ${name}`)
  return { ok: true, file: parsed.data, ignored: [...ignored] }
}

function describe(issue: z.core.$ZodIssue): string {
  if (issue.code === 'unrecognized_keys') return `does not know ${issue.keys.map((key) => `"${key}"`).join(', ')}`
  return issue.message
}

/**
 * Checks a file's text. JSON has no NaN or Infinity, but some writers put them there: they are read as
 * missing numbers, so that the sentence can name the field that holds one.
 */
export function parsePointsText(source: string): PointsFileResult {
  let json: unknown
  try {
    json = JSON.parse(source)
  } catch (error) {
    const mended = source.replace(/([[:,]\s*)-?(?:NaN|Infinity)\b/g, '$1null')
    if (mended === source) return { ok: false, error: `The file is not JSON: ${(error as Error).message}.` }
    try {
      json = JSON.parse(mended)
    } catch {
      return { ok: false, error: `The file is not JSON: ${(error as Error).message}.` }
    }
  }
  return parsePointsFile(json)
}

type Picture = readonly [number, number] | readonly [number, number, number]
const flip = <P extends Picture>(p: P, width: number): P => [width - p[0], ...p.slice(1)] as unknown as P

/**
 * The same swing seen in a mirror: every picture's x becomes width - x, and a camera's matrix follows.
 * The world is untouched: for a left-hander its axes form a left-handed triad, and the mirrored pictures
 * show it as a right-hander's. Applying it twice gives the file back.
 */
export function mirrorPointsFile(f: PointsFile): PointsFile {
  return { ...f, views: f.views.map(mirrorView) }
}

function mirrorView(v: PointsView): PointsView {
  const w = v.widthPx
  const out: PointsView = {
    ...v,
    frames: v.frames.map((fr) => ({
      t: fr.t,
      points: Object.fromEntries(Object.entries(fr.points).map(([name, p]) => [name, flip(p, w)])),
    })),
  }
  if (v.camera) {
    const [r0, r1, r2] = v.camera.matrix
    const row = r0.map((value, i) => w * r2[i]! - value) as typeof r0
    out.camera = { matrix: [row, r1, r2] }
  }
  if (v.knownLength) out.knownLength = { ...v.knownLength, ends: [flip(v.knownLength.ends[0], w), flip(v.knownLength.ends[1], w)] }
  if (v.guides) {
    const guides: NonNullable<PointsView['guides']> = {}
    for (const name of ['targetLine', 'plumb', 'horizon', 'stanceLine'] as const) {
      const ends = v.guides[name]
      if (ends) guides[name] = [flip(ends[0], w), flip(ends[1], w)]
    }
    const { mat: rectangle } = v.guides
    // The corners go the other way round in the mirror, as those of the mat itself do.
    if (rectangle) guides.mat = { ...rectangle, corners: rectangle.corners.map((corner) => flip(corner, w)) as typeof rectangle.corners }
    out.guides = guides
  }
  return out
}

/** Whether a view's picture shows a left-hander, as it lies in the file: by the hand that swings, or by a mirror. */
export const looksLeft = (handedness: PointsFile['handedness'], v: Pick<PointsView, 'mirrored'>): boolean => (handedness === 'left') !== (v.mirrored ?? false)

/** A swing as the measures see it: always a right-hander's, whoever swings and however it was filmed. */
export const asRightHanded = (f: PointsFile): PointsFile =>
  f.views.some((v) => looksLeft(f.handedness, v)) ? { ...f, views: f.views.map((v) => (looksLeft(f.handedness, v) ? mirrorView(v) : v)) } : f

/** The same file with every picture as the world is: what was mirrored is turned back, points, guides and camera with it. */
export const turnedBack = (f: PointsFile): PointsFile => ({
  ...f, views: f.views.map((v) => {
    const { mirrored: _turned, ...turned } = v.mirrored ? mirrorView(v) : v
    return turned
  }),
})
