import { matFault } from './matCheck.ts'
import type { SolveInput } from './input.ts'
import { mirroredWords, type Mirroring } from './mirrored.ts'
import { clockLimit, clocksApart, clubComesAndGoes, farApart, farOff, notOneSwing, restless, restlessTimes } from './refuse.ts'
import { isRefusal, noticed, solveOnce, type CameraSolve, type SolveRefusal } from './solveOnce.ts'

export { isRefusal, seenTwice, type CameraSolve, type SolveRefusal } from './solveOnce.ts'

/** Up to this the errors are only widened; beyond, the fit is made anew with the wider ones, which its balance rests on. */
const refitFrom = 1.6
const rounds = 3

/**
 * Solves one or two cameras from what a coach can get. Marks that fit worse than their errors say are taken to be as much
 * worse, and so is all that is read from them; views that nothing brings together, or that only a mirror does, are refused.
 * @param from an earlier solve of nearly the same marks, from which a few steps suffice
 */
export function solveCameras(given: SolveInput, from?: CameraSolve): CameraSolve | SolveRefusal {
  const fault = !given.views.some((v) => v.mat) ? null : from ? from.matFault : matFault(given, (one) => {
    const alone = solveCameras(one)
    return isRefusal(alone) ? null : alone
  })
  const input = fault === null ? given : withoutMat(given)
  const solve = fitted(input, from)
  const why = isRefusal(solve) ? solve.why : unlike(input, solve)
  const isPair = input.views.length === 2 && !input.views.some((v) => v.known)
  // What fits as it should needs no other explanation.
  if (isPair && (why !== null || (!from && solveOf(solve)!.misfit > noticed))) {
    const mirrored = likelierMirrored(input, why)
    if (mirrored) return { why: mirrored }
  }
  if (isRefusal(solve) || why !== null) return { why: why! }
  return { ...solve, matFault: fault, basis: [solve.basis, ...(fault === null ? [] : ['the mat left out, whose size contradicts the rest']), ...(solve.widened > 1 ? [widenedBasis(solve.widened, solve.gapM ?? 0)] : [])].join('; ') }
}

const solveOf = (solve: CameraSolve | SolveRefusal): CameraSolve | null => (isRefusal(solve) ? null : solve)

/** Why cameras that could be fitted are refused: a sentence, or null. */
function unlike({ syncSigmaS }: SolveInput, { gapM, widened, clockShift, scaleFault, clubGap }: CameraSolve): string | null {
  if (gapM === null) return scaleFault
  if (Math.abs(clockShift) > clockLimit * syncSigmaS) return clocksApart(clockShift, syncSigmaS, gapM, widened)
  if (widened > noticed && (gapM > farApart || widened > farOff)) return notOneSwing(gapM, widened)
  return clubGap && clubGap.gap > restless && clubGap.times > restlessTimes ? clubComesAndGoes(clubGap.gap, clubGap.times) : scaleFault
}

export const widenedBasis = (times: number, gap: number): string =>
  `points of both views miss each other by ${(1000 * gap).toFixed(0)} mm, ${times.toFixed(1)} times what the marks' errors allow: errors widened so many times`

/**
 * Fitted, with the marks' errors widened until they agree with what is left of the points. How much is found from a few
 * instants; errors that were far too small lead the first fit astray.
 */
function fitted(input: SolveInput, from?: CameraSolve): CameraSolve | SolveRefusal {
  const before = from?.widened ?? 1
  const first = solveOnce(widen(input, before), from)
  if (isRefusal(first) || before * first.widened <= refitFrom || from) return isRefusal(first) ? first : total(first, before)
  const some = thinned(input)
  let times = first.widened
  let few = solveOnce(widen(some, times))
  for (let round = 0; round < rounds && !isRefusal(few) && few.widened > 1; round++) {
    times *= few.widened
    few = solveOnce(widen(some, times), few)
  }
  const again = solveOnce(widen(input, times), some === input && !isRefusal(few) ? few : undefined)
  return isRefusal(again) ? again : total(again, times)
}

const total = (solve: CameraSolve, times: number): CameraSolve => ({
  ...solve, widened: times * solve.widened, misfit: times * solve.misfit, clubGap: solve.clubGap && { ...solve.clubGap, times: times * solve.clubGap.times },
})

/** Instants that suffice to tell how well two views agree. */
const enough = 8

function thinned(input: SolveInput): SolveInput {
  const every = Math.ceil(input.instants.length / enough)
  return every <= 1 ? input : { ...input, instants: input.instants.filter((_, i) => i % every === 0) }
}

/** Marks that are seen in both views with errors so many times as large. */
const widen = (input: SolveInput, times: number): SolveInput => {
  if (times === 1) return input
  const wider = (instant: SolveInput['address']): SolveInput['address'] =>
    new Map([...instant].map(([name, seen]) => [name, seen.every((s) => s) ? seen.map((s) => s && { ...s, sigma: s.sigma * times, ...(s.sigmaY !== undefined && { sigmaY: s.sigmaY * times }) }) : seen]))
  return { ...input, address: wider(input.address), instants: input.instants.map(wider) }
}

const withoutMat = (input: SolveInput): SolveInput => ({
  ...input,
  views: input.views.map((v) => {
    const { mat: _, ...rest } = v
    return rest
  }),
})

/** A mirrored view must leave this share of the misfit at most to be named, and no more than that. */
const likelier = 0.85
const agrees = 6
/** Wider errors than that hide what tells the two apart. */
const widest = 3
/** Seconds by which clocks may be off where they are not what is asked: they must not look like a mirror. */
const looseSync = 0.05

/**
 * Whether views that do not fit as filmed do fit with one of them in a mirror, or both: a sentence, or null.
 * @param why they do not fit, or null where they only fit badly
 */
function likelierMirrored(input: SolveInput, why: string | null): string | null {
  const few = thinned(input)
  const plain = fitted({ ...few, syncSigmaS: Math.max(few.syncSigmaS, looseSync) })
  const times = isRefusal(plain) ? widest : Math.min(widest, plain.widened)
  const limit = isRefusal(plain) ? agrees : Math.min(agrees, likelier * plain.misfit)
  let best: { readonly which: Mirroring; readonly misfit: number } | null = null
  for (const which of [[false, true], [true, false], [true, true]] as const satisfies readonly Mirroring[]) {
    const once = solveOnce(widen(mirror(few, which), times))
    if (isRefusal(once)) continue
    const solve = total(once, times)
    if (unlike(input, solve) === null && solve.misfit < (best?.misfit ?? limit)) best = { which, misfit: solve.misfit }
  }
  return best && mirroredWords(input.views.map((v) => v.view), best.which, best.misfit, isRefusal(plain) ? null : plain.misfit, why)
}

function mirror(input: SolveInput, which: Mirroring): SolveInput {
  const flip = ([x, y]: readonly [number, number], i: number): readonly [number, number] => [input.views[i]!.width - x, y]
  const flipLine = (line: readonly [readonly [number, number], readonly [number, number]], i: number) => [flip(line[0], i), flip(line[1], i)] as const
  const instant = (seen: SolveInput['address']): SolveInput['address'] => new Map([...seen].map(([name, ends]) => [
    name, ends.map((s, i) => (s && which[i] ? { ...s, x: input.views[i]!.width - s.x, rate: [-s.rate[0], s.rate[1]] as const } : s)),
  ]))
  return {
    ...input, address: instant(input.address), instants: input.instants.map(instant),
    views: input.views.map((v, i) => {
      if (!which[i]) return v
      const { mat, ...rest } = v
      const lines = Object.fromEntries((['targetLine', 'plumb', 'horizon', 'stanceLine'] as const).flatMap((name) => (v[name] ? [[name, flipLine(v[name], i)]] : [])))
      return { ...rest, ...lines, ...(mat && { mat: { ...mat, corners: mat.corners.map((corner) => flip(corner, i)) as unknown as typeof mat.corners } }) }
    }),
  }
}
