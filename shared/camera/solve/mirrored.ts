import { viewNames, type ViewName } from '../../contract/pointsFile.ts'

/** Which of the views, in their order, are taken in a mirror. */
export type Mirroring = readonly [boolean, boolean]

const named = (view: ViewName): string => `With the ${view} view in a mirror`

/** The view that such a sentence says to be mirrored; null where it names none, or both. */
export const mirroredView = (words: string): ViewName | null => viewNames.find((view) => words.includes(named(view))) ?? null

/**
 * One or two sentences for views that fit in a mirror only.
 * @param times what the points of both leave in the mirror, over their errors @param asFilmed the same without; null where the cameras could not be had at all
 * @param refused why not
 */
export function mirroredWords(views: readonly ViewName[], which: Mirroring, times: number, asFilmed: number | null, refused: string | null): string {
  const plain = asFilmed === null ? refused ?? '' : `The two views cannot be of one swing as filmed: their points miss each other by ${asFilmed.toFixed(1)} times what the marks' own error allows.`
  const fit = `the points of both agree to ${Math.max(1, times).toFixed(1)} times their error`
  return which[0] && which[1]
    ? `${plain} With both pictures in a mirror ${fit}: the swing is one of the other hand, or face-on and down the line are the wrong way round.`
    : `${plain} ${named(views[which[0] ? 0 : 1]!)} ${fit}: that clip was filmed or saved mirrored, or it shows a swing of the other hand.`
}
