import type { PositionName } from '../contract/pointsFile.ts'
import { add3, length3, scale3, sub3, unit3, type Vec3 } from '../geometry/vec.ts'
import { exact, measured, sigmaOf } from '../signal/uncertain.ts'
import { measures } from '../swing/registry.ts'
import { isMissing, type Swing } from '../swing/reading.ts'
import { inputOf, place, rowOf, seenOf, usualOf, type Start } from './fitBody.ts'
import { offOf, type ChainFit, type ChainProblem, type FitPoint } from './fitChain.ts'
import { contradictionsOf, doubtsOf, withDoubts, withoutLength } from './fitDoubts.ts'
import { likelyCount, writeLikely } from './fitLikely.ts'
import { clubLengthOf, endToHands, endsOnSightline, gather, pixelSigma, seenViews, type Gathered, type SeenView } from './fitObserve.ts'
import { readingSigmas, rootsOfCovariance } from './fitErrors.ts'
import { headLineSeen } from './fitHeadLine.ts'
import { oneViewSigma, type OneViewKnown } from './fitOneView.ts'
import { drawOf, elbowTurnedOver, isOther, rivalsOf, rivalWords, withRivals } from './fitRivals.ts'
import { fitFromStarts } from './fitStarts.ts'
import { shaftFromMotion, turningSeen } from './fitShaft.ts'
import { offUsualSwivel, usualPlace } from './fitUsual.ts'
import { isTwoSwings, twoSwingsBasis } from '../swing/twoSwings.ts'
import { forward } from './forward.ts'
import { createArms } from './model.ts'
import { isArmsRefusal, type ArmsInput, type ArmsRefusal, type FitResult } from './types.ts'

const refuse = (why: string): ArmsRefusal => ({ refused: 'not-enough', why, nearest: null })
/** Where the hands are from the butt, metres, and how far that varies: common practice, no source. */
const usualButt = 0.0975
const clubSigma = 0.02

/** Without these nothing can be said of the trail elbow and the shaft. */
const needed: readonly (readonly [FitPoint, string])[] = [
  ['leadShoulder', 'lead shoulder'], ['trailShoulder', 'trail shoulder'], ['trailElbow', 'trail elbow'], ['trailWrist', 'trail wrist'], ['leadWrist', 'lead wrist'],
]

interface Guess {
  readonly points: Record<Exclude<FitPoint, 'butt' | 'shaftEnd' | 'leadFist' | 'trailFist'>, Vec3>
  readonly shafts: readonly Vec3[]
}

/** First guesses of all points; what nobody marked is put where it usually is, and said so. */
function guessOf({ guess, observations }: Gathered, views: readonly SeenView[], statureM: number, lengthM: number, assumptions: string[], swing: Swing): Guess | string {
  const at = (point: FitPoint): Vec3 | undefined => guess.get(point)
  const lack = needed.filter(([point]) => !at(point)).map(([, name]) => name)
  if (lack.length > 0) return `The fit needs the ${lack.join(', the ')} at this position.`
  const leadShoulder = at('leadShoulder')!
  const trailShoulder = at('trailShoulder')!
  const leadWrist = at('leadWrist')!
  const trailWrist = at('trailWrist')!
  const end = at('shaftEnd')
  const tail = at('hands') ?? at('butt')
  if (!end || !tail) return 'The fit needs the club at this position: the hands or the butt, and the clubhead or the shaft’s end.'
  const rough = unit3(sub3(end, tail))
  if (!rough) return 'The club’s two ends coincide, so that it has no direction.'
  const hands = at('hands') ?? add3(at('butt')!, scale3(rough, usualButt))
  const middle = scale3(add3(leadShoulder, trailShoulder), 0.5)
  const base = at('trunkBase') ?? (at('leadHip') && at('trailHip') ? scale3(add3(at('leadHip')!, at('trailHip')!), 0.5) : add3(middle, [0, -0.288 * statureM, -0.05]))
  const across = scale3(unit3(sub3(leadShoulder, trailShoulder)) ?? [1, 0, 0], 0.055 * statureM)
  const hip = (point: 'leadHip' | 'trailHip', sign: 1 | -1): Vec3 => {
    const known = at(point)
    if (known) return known
    const put = add3(base, scale3([across[0], 0, across[2]], sign))
    assumptions.push(`the ${point === 'leadHip' ? 'lead' : 'trail'} hip was not marked and is taken below the shoulders`)
    const sources = [0, 1, 2].map((k) => measured(put[k]!, 0.1, swing.sources.of(`arms ${point} ${k}`))) as [ReturnType<typeof exact>, ReturnType<typeof exact>, ReturnType<typeof exact>]
    observations.push({ kind: 'world', point, label: 'assumed', view: 'assumed', at: sources })
    return put
  }
  const elbow = (point: 'leadElbow' | 'trailElbow', shoulder: Vec3, wrist: Vec3): Vec3 => at(point) ?? add3(scale3(add3(shoulder, wrist), 0.5), [0, -0.05, 0])
  const one = views.length === 1 ? views[0]! : null
  const shafts = one ? endsOnSightline(one.camera, end, hands, endToHands(lengthM, usualButt)).map((e) => unit3(sub3(e, hands)) ?? rough) : [rough]
  return {
    points: {
      leadShoulder, trailShoulder, leadWrist, trailWrist, hands, trunkBase: base, leadHip: hip('leadHip', 1), trailHip: hip('trailHip', -1),
      leadElbow: elbow('leadElbow', leadShoulder, leadWrist), trailElbow: elbow('trailElbow', trailShoulder, trailWrist),
    },
    shafts,
  }
}

interface Found {
  readonly fit: ChainFit
  readonly start: Start
}

function knownOf(swing: Swing, { view, alone }: SeenView, motion: boolean): OneViewKnown {
  return { view: view.name === 'face-on' ? 'face-on' : 'down-the-line', camera: alone ? 'solved' : 'given', motion, stature: swing.file.statureM !== undefined }
}

/**
 * Fits the closed chain to a student at a position, from one or two views.
 * @param swing as `prepareSwing` makes it: a right-hander's, so that a left-hander's numbers come out mirrored
 * @param openErrors whether what one view leaves open is added to its errors; without it they are what that is worked out from
 */
export function fitArms(swing: Swing, at: PositionName, { openErrors = true }: { readonly openErrors?: boolean } = {}): FitResult | ArmsRefusal {
  const views = seenViews(swing, at)
  if (isMissing(views)) return refuse(`The student cannot be fitted: ${views.why}.`)
  // How far off one view is was worked out for the top; where it was not, no number could carry an honest error.
  if (views.length === 1 && at !== 'top') return refuse('From one view the student can be fitted at the top alone: for any other position the errors that one view leaves are not known. A second view, or its camera, is missing.')
  const assumptions: string[] = []
  const usual = usualOf(swing.file.statureM)
  if (swing.file.statureM === undefined) assumptions.push('the stature is not known; lengths are those of 1.74 m, within 9 %')
  const { lengthM, known } = clubLengthOf(swing)
  if (!known) assumptions.push(`the club is not named; ${lengthM} m is taken for its length`)
  const gathered = gather(swing, views, usualPlace(at, usual.statureM))
  const guess = guessOf(gathered, views, usual.statureM, lengthM, assumptions, swing)
  if (typeof guess === 'string') return refuse(guess)
  const single = views.length === 1
  if (single) assumptions.push('one view: how deep each joint stands is taken as usual, the joints as somewhere in their ranges', 'errors are accordingly larger')
  const fromMotion = shaftFromMotion(swing, at)
  if (fromMotion.length > 0) assumptions.push('the shaft’s direction is read from how it moves in the one view')
  const observations = [...gathered.observations, ...fromMotion]
  const shown = (point: FitPoint): boolean => (gathered.shown.get(point) ?? 0) > 0
  if (!shown('leadElbow')) assumptions.push('the lead elbow was not marked; its place is what costs its joints least')
  const likely = single || !shown('leadElbow')
  const isTopOfOne = single && at === 'top'
  const cameras = views.map((v) => v.camera)
  const errors = swing.solved.errors ?? (single ? (swing.solved.alone.get(views[0]!.view.name)?.errors ?? null) : null)
  const fits: Found[] = []
  for (const shaft of guess.shafts) {
    const first = rowOf({ ...guess.points, shaft }, usual, usualButt, endToHands(lengthM, usualButt))
    if (!first) continue
    const { start } = first
    const problem: ChainProblem = {
      start, observations, cameras, usual, club: { buttM: usualButt, endM: endToHands(lengthM, usualButt), endSigma: known ? Math.hypot(clubSigma, 0.03) : 0.08 },
      likely: likely ? {
        count: likelyCount + 1,
        write: (out, from, p, seen) => {
          writeLikely(out, from, seen, { upperArm: start.upperArm * Math.exp(p[place.upperArm]!), forearm: start.forearm * Math.exp(p[place.forearm]!) })
          out[from + likelyCount] = isTopOfOne ? offUsualSwivel(seen) : 0
        },
      } : null,
    }
    const fit = fitFromStarts(problem, first.row, errors?.shifted ?? [])
    if (!fit) continue
    fits.push({ fit, start })
    // From one view an elbow may bend toward the camera as well as away from it.
    const other = single && fitFromStarts(problem, elbowTurnedOver(start, fit.row, views[0]!.camera), errors?.shifted ?? [])
    if (other && isOther(start, fit, other)) fits.push({ fit: other, start })
  }
  fits.sort((one, two) => one.fit.total - two.fit.total)
  const [best, ...others] = fits
  const lengthless = single ? [] : withoutLength((point) => (gathered.shown.get(point) === 2 ? gathered.guess.get(point) : undefined), usual.statureM)
  if (!best) return lengthless[0] ? { refused: 'zero-length', why: lengthless.map(({ why }) => why).join(' '), nearest: { words: lengthless.map(({ nearest }) => nearest).join('; ') } }
    : { refused: 'contradiction', why: 'The points contradict each other: no body of fixed lengths that holds one club comes near them.', nearest: null }
  const turning = turningSeen(swing, at, views[0]!.t.value)
  if (turning.isUsual) assumptions.push('the plane that the shaft moves in is taken as usual, 50 degrees steep within 6')
  const bareIn = ({ start }: Found, axisOf: typeof turning.axisOf) => (row: ArrayLike<number>): ArmsInput | null => inputOf(start, row, { lengthM }, axisOf(seenOf(start, row).shaft), 0)
  const bare = bareIn(best, turning.axisOf)(best.fit.row)
  const read = !single && bare?.anchor ? headLineSeen(swing, views[0]!.t.value, bare.anchor.shaft, bare.anchor.side) : null
  const headLine = read?.line ?? null
  if (read && !read.line && !read.contradicts) assumptions.push(read.why)
  const buildIn = (of: Found, axisOf: typeof turning.axisOf) => (row: ArrayLike<number>): ArmsInput | null => {
    const made = bareIn(of, axisOf)(row)
    return made && headLine ? { ...made, body: { ...made.body, club: { ...made.body.club, headLine } } } : made
  }
  const build = buildIn(best, turning.axisOf)
  const input = build(best.fit.row)
  if (!input) return refuse('The shoulders and the hips as marked make no chest.')
  const model = createArms(input)
  if (isArmsRefusal(model)) return model
  const pose = forward(model, model.swivelDeg)
  if (isArmsRefusal(pose)) return pose
  const roots = rootsOfCovariance(best.fit.covariance)
  let sigma = readingSigmas(build, best.fit, roots, pose.readings, turning.either?.map((axisOf) => buildIn(best, axisOf)(best.fit.row)))
  if (single && openErrors) sigma = oneViewSigma(sigma, knownOf(swing, views[0]!, fromMotion.length > 0))
  const rivals = rivalsOf(best.fit, others.map((one) => ({ fit: one.fit, build: buildIn(one, turning.axisOf) })))
  sigma = withRivals(sigma, pose.readings, rivals)
  assumptions.push(...rivalWords(pose.readings, rivals))
  if (single && views[0]!.view.name === 'face-on') assumptions.push('face-on alone shows little of where the shaft points: its azimuth rests on where shafts usually point')
  const measured68 = (id: string): number => {
    const outcome = at === 'top' ? measures.find((m) => m.id === id)?.read(swing, swing.views[0]!, at) : undefined
    const known = outcome && !isMissing(outcome) ? sigmaOf(outcome.value) : 0
    return Number.isFinite(known) ? known : 0
  }
  // Through two cameras the shaft is no better known here than the measures say that it is.
  if (!single) sigma = {
    ...sigma, azimuthDeg: Math.max(sigma.azimuthDeg, measured68('shaft-azimuth')),
    azimuthAtLevelDeg: sigma.azimuthAtLevelDeg === null ? null : Math.max(sigma.azimuthAtLevelDeg, measured68('shaft-azimuth-at-level')),
  }
  const seen = seenOf(best.start, best.fit.row)
  const marked = observations.filter((o) => o.kind === 'picture')
  const doubts = doubtsOf(seen, marked, cameras)
  sigma = withDoubts(sigma, doubts, pose, single)
  return {
    input, pose, sigma,
    draw: drawOf({ fit: best.fit, build, roots }, rivals, input),
    residuals: marked.map((o) => ({ point: o.label, view: o.view, off: offOf(seen, o, cameras), sigma: pixelSigma(o) })),
    misfit: Math.sqrt(best.fit.sum / Math.max(1, best.fit.count)),
    views: views.map((v) => v.view.name),
    assumptions,
    contradictions: [
      ...lengthless.map(({ why }) => why), ...(read && !read.line && read.contradicts ? [read.why] : []),
      ...contradictionsOf(doubts, input, pose, length3(sub3(input.chest.leadShoulder, input.chest.trailShoulder))),
    ],
    basis: `closed chain fitted to ${marked.length} marked points of ${views.map((v) => v.view.name).join(' and ')}; ${swing.solved.basis}${!single && isTwoSwings(swing) ? `; ${twoSwingsBasis(swing)}` : ''}${headLine ? `; the shaft is read from butt to head, as it is measured, ${((Math.atan(Math.hypot(...headLine)) * 180) / Math.PI).toFixed(1)} degrees off its own line` : ''}`,
  }
}
