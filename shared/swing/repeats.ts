import type { Repeats } from '../contract/repeatability.ts'
import { repeatabilityBounds } from '../contract/repeatability.ts'
import { fewestPlaces, fewestSwings, repeatabilityOf, type RepeatedSwing } from '../progress/repeatability.ts'
import { assembleSwing, withFallbacks, type MeasuredClip, type SwingRecords } from './assemble.ts'
import { prepareSwing } from './measureSwing.ts'
import { isMissing, missing, type Missing } from './reading.ts'
import { repeatedSwing } from './repeatedSwing.ts'
import { noneSolved } from './solved.ts'

/** A clip of a student with all that was placed on it, and the club as the student's record has it. */
export interface OwnClip extends Pick<SwingRecords, 'statureM' | 'club' | 'records' | 'clickError'> {
  readonly clip: MeasuredClip
}

/** No camera is needed to set pictures beside one another, and solving takes most of the time. */
const unsolved = { ...noneSolved, why: 'not asked for' }

/** What one clip has to set beside the others; null where no point is placed on it. */
export function readOwnClip({ clip, ...rest }: OwnClip): RepeatedSwing | Missing | null {
  if (!Object.values(rest.records).some((record) => record.clipId === clip.id && record.kind === 'landmark')) return null
  const assembled = assembleSwing({ clips: [clip], oneSwing: false, tie: null, ...rest })
  if (!assembled.ok) return missing(assembled.reasons.join(' '))
  const swing = prepareSwing(assembled.file, unsolved)
  const lost = assembled.left.filter(({ view, name }) => !swing.positions.get(view)?.[name])
  return repeatedSwing(lost.length ? prepareSwing(withFallbacks(assembled.file, lost), unsolved) : swing)
}

/** What one student's clips of one view and club tell of how the swing repeats. @param read what `readOwnClip` made of each */
export function repeatsOf(read: readonly (RepeatedSwing | Missing | null)[]): Omit<Repeats, 'view' | 'club'> {
  const swings = read.filter((one) => one !== null)
  const usable = swings.flatMap((swing) => (isMissing(swing) ? [] : [swing]))
  const none = (why: string): Omit<Repeats, 'view' | 'club'> => ({ clips: swings.length, swings: usable.length, m: null, sigmaM: null, why })
  if (usable.length < fewestSwings) {
    if (swings.length < fewestSwings) return none(`${swings.length === 0 ? 'None is' : swings.length === 1 ? 'One is' : 'Two are'} measured so far.`)
    const lacks = [...new Set(swings.flatMap((swing) => (isMissing(swing) ? [swing.why] : [])))]
    return none(`Of ${swings.length} that are measured ${usable.length === 0 ? 'none' : `only ${usable.length}`} can be used: ${lacks.slice(0, 2).join('; ')}.`)
  }
  const told = repeatabilityOf(usable)
  if (!told) return none(`The clips share fewer than ${fewestPlaces} points at the same positions.`)
  const result = { clips: swings.length, swings: told.swings }
  if (told.m < repeatabilityBounds.least) return { ...result, m: null, sigmaM: null, why: `The swings differ by no more than the points were placed within, so how far they repeat cannot be told; it may well be ${(100 * told.sigmaM).toFixed(1)} cm.` }
  if (told.m > repeatabilityBounds.most) return { ...result, m: null, sigmaM: null, why: `The points lie ${(100 * told.m).toFixed(0)} cm apart from clip to clip: they are not placed on the same things.` }
  return { ...result, m: told.m, sigmaM: told.sigmaM, why: null }
}
