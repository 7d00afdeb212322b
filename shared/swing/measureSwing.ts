import { frameTimeSigma } from '../camera/captureRate.ts'
import { asRightHanded, defaultSyncSigmaS, positionNames, viewNames, type FilePositions, type PointsFile, type PositionName, type ViewName } from '../contract/pointsFile.ts'
import { clockOf } from '../camera/solve/cameraErrors.ts'
import type { CameraSolve } from '../camera/solve/solveCameras.ts'
import { exact, measured, sigmaOf, Sources, type Uncertain } from '../signal/uncertain.ts'
import type { At, Measure, Unit } from './definition.ts'
import { findPositions, type Found } from './positions/find.ts'
import { isMissing, type Missing, type Position, type Positions, type Swing } from './reading.ts'
import { measures } from './registry.ts'
import { aloneViews, checkGiven, heldAlone, noneSolved, solvedViews, solveSwing, widenedSentence, withCamera, type SolvedViews } from './solved.ts'
import { scaleAtAddress } from './scaleAtAddress.ts'
import { sidesOf } from './sides/sides.ts'
import { sidesSentences } from './sides/sidesWords.ts'
import { checkTie, type TieCheck } from './tieCheck.ts'
import { buildView, type SwingView } from './viewOf.ts'

export interface MeasureResult {
  readonly id: string
  /** Null where both views were used, or where views do not matter and there are two. */
  readonly view: ViewName | null
  readonly at: At
  readonly value: number
  readonly unit: Unit
  /** One standard deviation, in the unit. */
  readonly sigma: number
  /** The 68 % interval. */
  readonly lo: number
  readonly hi: number
  readonly basis: string
}

export interface MissingResult {
  readonly id: string
  readonly view: ViewName | null
  readonly at: At
  readonly why: string
}

export type PositionResults = Partial<Record<PositionName, { readonly t: number; readonly sigma: number; readonly basis: string }>>

export interface SwingResult {
  readonly format: 'crossbearing-measures'
  readonly version: 1
  readonly positions: PositionResults
  /** Each view's own, where the views show two swings. */
  readonly viewPositions?: Partial<Record<ViewName, PositionResults>>
  readonly measures: readonly MeasureResult[]
  readonly missing: readonly MissingResult[]
  /** Sentences about points that surely stand on the wrong side, or do not meet from both views; only where there are such. */
  readonly warnings?: readonly string[]
}

/** Positions of the file, taken as they are; without an error of their own they are known to the frame. */
function given(positions: FilePositions | undefined, interval: number, sources: Sources, of = ''): Found {
  const found: Found = new Map()
  for (const name of positionNames) {
    const p = positions?.[name]
    if (p) found.set(name, { t: measured(p.t, p.sigma ?? frameTimeSigma(interval), sources.of(`given ${name}${of}`)), basis: 'given' })
  }
  return found
}

const asPositions = (found: Found): Positions => Object.fromEntries(found)

/**
 * Reads a checked points file, of either hand, into a swing with its positions; where it gives no cameras they are solved.
 * @param held the cameras as they came out a moment ago, to be kept while a point is dragged: solving takes most of the time
 */
export function prepareSwing(file: PointsFile, held: SolvedViews | null = null): Swing {
  const tie = tieOf(file)
  const right = asRightHanded(file)
  // Clocks that the positions contradict are let be as far apart as those say.
  return { ...prepared(tie ? { ...right, syncSigmaS: tie.syncSigmaS } : right, held), tie }
}

function prepared(right: PointsFile, held: SolvedViews | null): Swing {
  const isHeld = held !== null && right.views.every((v) => !v.camera)
  if (isHeld && held.solve && right.views.length === 2) return buildSwing(right, held.solve)
  const first = buildSwing(right, null)
  if (isHeld && !held.solve && (held.why !== undefined || held.alone.size > 0)) return { ...first, solved: heldAlone(held, first.sources) }
  if (first.views.every((v) => v.camera)) return { ...first, solved: checkGiven(first) }
  const solve = solveSwing(first)
  // Both cameras are used for all that is read; a single one says where it stands, and carries the top alone.
  if (isMissing(solve) || first.views.length < 2) return { ...first, solved: aloneViews(first, isMissing(solve) ? solve.why : undefined) }
  return buildSwing(right, solve)
}

/** What positions given in both views of one swing say of their clocks; null where they share none. */
export function tieOf(file: PointsFile): TieCheck | null {
  const [one, two] = file.views.map((v) => Object.fromEntries(Object.entries(v.positions ?? {}).map(([name, p]) => [name, { t: p.t, sigma: p.sigma ?? frameTimeSigma(1 / v.captureRate) }])))
  return file.sameSwing && one && two ? checkTie(one, two, file.syncSigmaS) : null
}

function buildSwing(right: PointsFile, solve: CameraSolve | null): Swing {
  const sources = new Sources()
  // Face-on leads: the shaft and the arm turn in its picture.
  const ordered = viewNames.flatMap((name) => right.views.filter((v) => v.view === name))
  const solved = solve ? solvedViews(solve, ordered.map((v) => v.view), sources) : noneSolved
  const clock = (i: number): Uncertain => {
    if (i === 0 || !right.sameSwing) return exact(0)
    return solve && solved.errors ? clockOf(solve, solved.errors) : measured(0, right.syncSigmaS ?? defaultSyncSigmaS, sources.of('clocks'))
  }
  const views = ordered.map((v, i) => withCamera(buildView(v, clock(i), sources), solve?.cameras[i]))
  const positions = new Map<ViewName, Positions>()
  const scales = new Map<ViewName, ReturnType<typeof scaleAtAddress>>()
  const swing: Swing = { file: right, sources, views, positions, scales, solved, read: new WeakMap() }
  if (right.sameSwing) {
    const interval = Math.min(...views.map((v) => v.interval))
    let found = given(right.positions, interval, sources)
    for (const view of views) {
      // A view's own positions are on the one clock too.
      for (const [name, p] of given(view.file.positions, view.interval, sources)) if (!found.has(name)) found.set(name, p)
    }
    for (const view of views) found = findPositions(swing, view, found)
    for (const view of views) positions.set(view.name, asPositions(inOrder(found)))
  } else
    for (const view of views) {
      const own = given(view.file.positions ?? (views.length === 1 ? right.positions : undefined), view.interval, sources, ` ${view.name}`)
      positions.set(view.name, asPositions(inOrder(findPositions(swing, view, own))))
    }
  for (const view of views) {
    const address = positions.get(view.name)?.address
    scales.set(view.name, scaleAtAddress(view, right, address ? address.t.value + view.clock.value : view.times[0]!))
  }
  return swing
}

/** Leaves out what was found out of the order of the swing: the points contradict it. */
function inOrder(found: Found): Found {
  const kept: Found = new Map()
  let last: Position | null = null
  for (const name of positionNames) {
    const p = found.get(name)
    if (!p || (p.basis !== 'given' && last && p.t.value <= last.t.value)) continue
    kept.set(name, p)
    last = p
  }
  return kept
}

const results = (positions: Positions): PositionResults =>
  Object.fromEntries(Object.entries(positions).map(([name, p]) => [name, { t: p.t.value, sigma: sigmaOf(p.t), basis: p.basis }]))

/** The views that a measure is read in, and the name that its result carries. */
function readings(m: Measure, swing: Swing): { view: SwingView; label: ViewName | null }[] {
  const first = swing.views[0]!
  // One view down the line gives some of them under assumptions, and says so.
  if (m.views === 'both') return [{ view: first, label: swing.views.length === 1 && first.name === 'down-the-line' ? first.name : null }]
  if (m.views === 'swing')
    return swing.file.sameSwing ? [{ view: first, label: swing.views.length === 2 ? null : first.name }] : swing.views.map((view) => ({ view, label: view.name }))
  return swing.views.filter((v) => m.views.includes(v.name)).map((view) => ({ view, label: view.name }))
}

/** What the coach should know before trusting any number of a swing: sentences, most often none. */
export function warningsOf(swing: Swing): string[] {
  const widened = widenedSentence(swing)
  const tie = swing.tie?.warning ?? null
  return [...sidesSentences(sidesOf(swing), swing.file.handedness), ...[tie, widened].filter((w) => w !== null)]
}

/** All measures of a swing. */
export function measureSwing(file: PointsFile): SwingResult {
  return measurePrepared(prepareSwing(file))
}

/** @param of the measures that are wanted, where not all are */
export function measurePrepared(swing: Swing, of: readonly Measure[] = measures): SwingResult {
  const found: MeasureResult[] = []
  const lacking: MissingResult[] = []
  for (const m of of) {
    const where = readings(m, swing)
    if (where.length === 0)
      for (const at of m.at) lacking.push({ id: m.id, view: typeof m.views === 'string' ? null : m.views[0]!, at, why: `needs the ${(m.views as readonly ViewName[]).join(' or ')} view` })
    for (const { view, label } of where)
      for (const at of m.at) {
        const outcome = m.read(swing, view, at)
        if (isMissing(outcome)) {
          lacking.push({ id: m.id, view: label, at, why: outcome.why })
          continue
        }
        const { value } = outcome.value
        const sigma = sigmaOf(outcome.value)
        if (Number.isFinite(value) && Number.isFinite(sigma)) {
          const [lo, hi] = outcome.interval ?? [value - sigma, value + sigma]
          found.push({ id: m.id, view: label, at, value, unit: m.unit, sigma, lo, hi, basis: outcome.basis })
        } else lacking.push({ id: m.id, view: label, at, why: Number.isFinite(value) ? 'its points lie at one place, so that it has no error that could be stated' : 'the points give no finite number' })
      }
  }
  const warnings = warningsOf(swing)
  const own = swing.views.map((v) => [v.name, results(swing.positions.get(v.name)!)] as const)
  return {
    format: 'crossbearing-measures',
    version: 1,
    positions: own[0]![1],
    ...(!swing.file.sameSwing && own.length === 2 && { viewPositions: Object.fromEntries(own) }),
    measures: found,
    missing: lacking,
    ...(warnings.length > 0 && { warnings }),
  }
}

export type { Missing }
