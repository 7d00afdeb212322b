import type { FaceInput } from '../../shared/contract/faceInput.ts'
import { jointsInWorld } from '../../shared/markup/armsMarks.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import type { LoadedSwing } from './load.ts'

/** Which of the room's marks are of an earlier fit, or of what was said earlier of face and path. */

/** Two sums over a text, 2 x 32 bits (FNV-1a): enough to tell one fit from another. */
function sumOf(text: string): string {
  let [a, b] = [0x811c9dc5, 0x01000193]
  for (let i = 0; i < text.length; i++) {
    a = Math.imul(a ^ text.charCodeAt(i), 0x01000193)
    b = Math.imul(b ^ text.charCodeAt(text.length - 1 - i), 0x01000193)
  }
  return `${(a >>> 0).toString(16)}${(b >>> 0).toString(16)}`
}

/** The same for fits that come to the same within a millimetre and a twentieth of a degree; a sketch is known by its stature. */
export function fitKeyOf({ fit, statureM, clips }: Pick<LoadedSwing, 'fit' | 'statureM' | 'clips'>): string {
  const where = clips.map(({ tick }) => tick)
  if (!fit) return sumOf(JSON.stringify(['sketch', statureM, where]))
  const twentieth = (value: number | null): number | null => (value === null ? null : Math.round(value * 20))
  const joints = jointsInWorld(fit.pose).map((p) => p.map((x) => Math.round(x * 1000)))
  return sumOf(JSON.stringify([joints, Object.values(fit.sigma).map(twentieth), where]))
}

export const saidKeyOf = (input: FaceInput): string => sumOf(JSON.stringify(Object.entries(input).toSorted(([a], [b]) => a.localeCompare(b))))

/** The room's marks on these clips that are not of this fit, or not of what is said now. */
export function staleOf(marks: readonly Mark[], loaded: Pick<LoadedSwing, 'fit' | 'statureM' | 'clips'>, said: FaceInput): Mark[] {
  const ids = new Set(loaded.clips.map(({ clip }) => clip.id))
  const [fit, face] = [fitKeyOf(loaded), saidKeyOf(said)]
  return marks.filter((mark) => ids.has(mark.clipId) && (mark.figure ? mark.figure.from?.fit !== fit : mark.misses ? mark.misses.from !== face : false))
}
