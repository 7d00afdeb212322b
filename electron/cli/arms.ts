import { readFile } from 'node:fs/promises'
import { fitArms } from '../../shared/arms/fit.ts'
import { forward } from '../../shared/arms/forward.ts'
import { readArmsJson } from '../../shared/arms/input.ts'
import { inverse } from '../../shared/arms/inverse.ts'
import { createArms, type ArmsModel } from '../../shared/arms/model.ts'
import { sketchSigmaDeg, spreadOf, type Spread } from '../../shared/arms/spread.ts'
import { standardArms } from '../../shared/arms/standard.ts'
import { sweep } from '../../shared/arms/sweep.ts'
import { isArmsRefusal, type ArmsInput, type FitResult, type Wanted } from '../../shared/arms/types.ts'
import { parsePointsText, positionNames, type PositionName } from '../../shared/contract/pointsFile.ts'
import { prepareSwing } from '../../shared/swing/measureSwing.ts'
import { fitText, forwardText, inverseText, sweepText } from './armsText.ts'
import { UsageError } from './terminal.ts'
import type { Verb } from './verbs.ts'

const ways = ['forward', 'inverse', 'fit', 'sweep'] as const
type Way = (typeof ways)[number]

/** A body to ask, and the fit that it came from, if it came from one. */
interface Subject {
  readonly input: ArmsInput
  readonly fit: FitResult | null
}

async function textOf(path: string): Promise<string> {
  try {
    return await readFile(path, 'utf8')
  } catch (error) {
    const code = error instanceof Error && 'code' in error ? error.code : undefined
    throw new UsageError(code === 'ENOENT' ? `There is no file ${path}.` : code === 'EISDIR' ? `${path} is a folder, not a points file or an arms file.` : `${path} could not be read.`)
  }
}

function fitOf(text: string, at: PositionName): FitResult {
  const parsed = parsePointsText(text)
  if (!parsed.ok) throw new UsageError(parsed.error.replaceAll(/\s+/g, ' '))
  const fit = fitArms(prepareSwing(parsed.file), at)
  if (isArmsRefusal(fit)) throw new UsageError(fit.nearest ? `${fit.why} The nearest that holds: ${fit.nearest.words}.` : fit.why)
  return fit
}

async function subjectOf(path: string | undefined, at: PositionName): Promise<Subject> {
  if (path === undefined) return { input: standardArms(), fit: null }
  const text = await textOf(path)
  let json: unknown = null
  try {
    json = JSON.parse(text)
  } catch (error) {
    // A points file may hold numbers that JSON has not; its own reader says which.
    if (!text.includes('crossbearing-points')) throw new UsageError(`${path} is not JSON: ${(error as Error).message}.`)
  }
  const format = typeof json === 'object' && json !== null && 'format' in json ? json.format : undefined
  if (format === 'crossbearing-arms') {
    const input = readArmsJson(json)
    if (isArmsRefusal(input)) throw new UsageError(input.nearest ? `${input.why.replace(/\.$/, '')}; the nearest that holds: ${input.nearest.words}.` : input.why)
    return { input, fit: null }
  }
  if (format !== undefined && format !== 'crossbearing-points') throw new UsageError('format: must be "crossbearing-points" or "crossbearing-arms".')
  const fit = fitOf(text, at)
  return { input: fit.input, fit }
}

function numberOf(name: string, text: string | undefined): number | undefined {
  if (text === undefined) return undefined
  const value = Number(text)
  if (text.trim() === '' || !Number.isFinite(value)) throw new UsageError(`--${name} needs a number of degrees, not ${text}.`)
  return value
}

/** JSON has no NaN: what is not known is null. */
const asJson = (value: unknown): string => JSON.stringify(value, (_, v: unknown) => (typeof v === 'number' && !Number.isFinite(v) ? null : typeof v === 'function' ? undefined : v), 2)

/** The arm-and-club model from a terminal: a points file is fitted first, an arms file is taken as it is, without a file a standard body is asked. */
export const arms: Verb = async ({ words, options, terminal }) => {
  const chosen = ways.filter((way) => options[way])
  const way: Way | undefined = chosen[0]
  if (!way || chosen.length > 1) throw new UsageError('Say one of --forward, --inverse, --fit and --sweep: crossbearing arms [FILE.json] --sweep --json')
  if (words.length > 1) throw new UsageError('crossbearing arms takes one file.')
  const at = positionNames.find((name) => name === (options.at ?? 'top'))
  if (!at) throw new UsageError(`--at needs one of ${positionNames.join(', ')}, not ${options.at}.`)
  const swivel = numberOf('swivel', options.swivel)
  const azimuth = numberOf('azimuth', options.azimuth)
  const atLevel = numberOf('at-level', options['at-level'])
  if (azimuth !== undefined && atLevel !== undefined) throw new UsageError('Say --azimuth or --at-level, not both.')
  const subject = await subjectOf(words[0], at)
  const { fit } = subject
  // Whatever is asked of a fitted body rests on marks that may contradict each other; a fit tells of them itself.
  const doubts = way === 'fit' ? [] : (fit?.contradictions ?? [])
  const out = (value: object, text: () => string): number => {
    terminal.out(options.json ? asJson(doubts.length > 0 ? { ...value, contradictions: doubts } : value) : [text(), ...doubts].join('\n'))
    return 0
  }
  if (way === 'fit') {
    if (!fit) throw new UsageError('--fit needs a points file: crossbearing arms FILE.json --fit')
    return out(fit, () => fitText(fit, at))
  }
  const model = createArms(subject.input)
  if (isArmsRefusal(model)) throw new UsageError(model.why)
  const spread = spreadFor(model, fit)
  const wanted = wantedOf(azimuth, atLevel, fit?.sigma ?? (model.kind === 'sketch' ? { azimuthDeg: sketchSigmaDeg, azimuthAtLevelDeg: sketchSigmaDeg } : null))
  if (way === 'forward') {
    const pose = forward(model, swivel ?? model.swivelDeg, spread)
    if (isArmsRefusal(pose)) throw new UsageError(pose.nearest ? `${pose.why.replace(/\.$/, '')}; the nearest is ${pose.nearest.words}.` : pose.why)
    return out(pose, () => forwardText(pose))
  }
  if (way === 'inverse') {
    const result = inverse(model, wanted, spread)
    return out(result, () => inverseText(result))
  }
  const result = sweep(model, { spread, wanted })
  if (!result) throw new UsageError('The pose itself does not close, so that nothing can be swept.')
  return out(result, () => sweepText(result))
}

const spreadFor = (model: ArmsModel, fit: FitResult | null): Spread => spreadOf(model, fit ? { draw: fit.draw } : {})

/** On the line at level unless told. */
function wantedOf(azimuth: number | undefined, atLevel: number | undefined, sigma: Pick<FitResult['sigma'], 'azimuthDeg' | 'azimuthAtLevelDeg'> | null): Wanted {
  return azimuth === undefined ? { azimuthAtLevelDeg: atLevel ?? 0, sigmaDeg: sigma?.azimuthAtLevelDeg ?? 0 } : { azimuthDeg: azimuth, sigmaDeg: sigma?.azimuthDeg ?? 0 }
}
