/** Finding by words as they are typed: every word must begin some word of what is looked through, in any order. */

const plain = (text: string): string => text.normalize('NFKD').replaceAll(/\p{M}/gu, '').toLowerCase()
export const wordsOf = (text: string): readonly string[] => plain(text).split(/[^\p{L}\p{N}]+/u).filter((word) => word !== '')

/**
 * How well a thing fits what was typed, 0 where it does not. `fields` from the most telling to the least; a hit in an
 * earlier one, and a whole word, counts for more.
 */
export function fitness(typed: string, fields: readonly string[]): number {
  const wanted = wordsOf(typed)
  if (wanted.length === 0) return 1
  const words = fields.map(wordsOf)
  let sum = 0
  for (const want of wanted) {
    let best = 0
    for (const [i, field] of words.entries())
      for (const word of field) if (word.startsWith(want)) best = Math.max(best, (fields.length - i) * (word === want ? 2 : 1))
    if (best === 0) return 0
    sum += best
  }
  return sum / wanted.length
}

/** What fits, the best first; those that fit alike keep their order. */
export function found<T>(typed: string, things: readonly T[], fieldsOf: (thing: T) => readonly string[]): T[] {
  return things
    .map((thing, i) => ({ thing, i, fits: fitness(typed, fieldsOf(thing)) }))
    .filter(({ fits }) => fits > 0)
    .sort((a, b) => b.fits - a.fits || a.i - b.i)
    .map(({ thing }) => thing)
}
