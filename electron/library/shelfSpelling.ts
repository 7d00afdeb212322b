import type { Sqlite } from './database.ts'
import { all } from './statement.ts'

/** Letters as the index keeps them: small, without accents. */
const plain = (text: string): string => text.normalize('NFKD').replaceAll(/\p{M}/gu, '').toLowerCase()

/**
 * How many slips of the hand lead from one word to another: a letter too many, one too few, a wrong one, or two neighbours
 * swapped (optimal string alignment distance). Answers `most + 1` as soon as it is more than `most`.
 */
export function slips(from: string, to: string, most: number): number {
  if (Math.abs(from.length - to.length) > most) return most + 1
  let before: number[] = []
  let row = Array.from({ length: to.length + 1 }, (_, j) => j)
  for (let i = 1; i <= from.length; i++) {
    const next = [i]
    for (let j = 1; j <= to.length; j++) {
      const same = from[i - 1] === to[j - 1]
      let least = Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + (same ? 0 : 1))
      if (i > 1 && j > 1 && from[i - 1] === to[j - 2] && from[i - 2] === to[j - 1]) least = Math.min(least, before[j - 2]! + 1)
      next.push(least)
    }
    if (Math.min(...next) > most) return most + 1
    ;[before, row] = [row, next]
  }
  return row[to.length]!
}

const slipsFor = (length: number): number => (length < 3 ? 0 : length < 6 ? 1 : 2)
const most = 5

/**
 * The text with its misspelt words replaced by words that the index holds, the nearest first; words found as they stand are kept.
 * Looked for are words that begin as it does, or with its first two letters swapped.
 */
export function nearestWords(db: Sqlite, text: string): string[] {
  const parts = plain(text).split(/([\p{L}\p{N}]+)/u)
  const choices = parts.map((part, i) => {
    if (i % 2 === 0) return [part]
    const near = nearest(db, part)
    return near.length > 0 ? near : [part]
  })
  // Words are mended one way each, all by their own nearest; then each of the others for the word that has several.
  const first = choices.map(([best]) => best!)
  const texts = [first.join(''), ...choices.flatMap((list, i) => list.slice(1).map((other) => first.with(i, other).join('')))]
  return [...new Set(texts)].filter((one) => one !== plain(text)).slice(0, most)
}

function nearest(db: Sqlite, word: string): string[] {
  const allowed = slipsFor(word.length)
  if (allowed === 0) return []
  const found = new Map<string, { slips: number; longer: number }>()
  for (const letter of new Set([...word].slice(0, 2))) {
    const last = String.fromCodePoint(letter.codePointAt(0)! + 1)
    for (const { term } of all<{ term: string }>(db, 'SELECT term FROM shelfWords WHERE term >= ? AND term < ?', letter, last)) {
      // Ids of collections are no words.
      if (term.length > 30) continue
      // What is being typed may be the beginning of a longer word.
      const away = Math.min(slips(word, term, allowed), term.length > word.length ? slips(word, term.slice(0, word.length), allowed) : Infinity)
      if (away <= allowed) found.set(term, { slips: away, longer: Math.abs(term.length - word.length) })
    }
  }
  return [...found].toSorted(([a, x], [b, y]) => x.slips - y.slips || x.longer - y.longer || (a < b ? -1 : 1)).slice(0, most).map(([term]) => term)
}
