/**
 * What is typed into the Shelf's search box. Words stand for themselves and are found anywhere; `field:words` looks in one place;
 * a leading minus turns a term round; double quotes keep words together.
 *
 *     rowan club:7-iron -view:face-on tag:"slow hands" is:reference date:2026-03..2026-05
 */

/** Places a term can be bound to. */
export const shelfFields = ['student', 'club', 'view', 'tag', 'note', 'asked', 'file', 'collection'] as const
export type ShelfField = (typeof shelfFields)[number]

/** What `is:` can say of a swing on the Shelf. */
export const shelfFacts = ['favourite', 'reference', 'pair', 'left-handed', 'right-handed', 'may-be-sent', 'lessons-only', 'not-said'] as const
export type ShelfFact = (typeof shelfFacts)[number]

export type ShelfTerm =
  /** Words found anywhere; `whole` where they were quoted, else the last of them is only a beginning. */
  | { readonly kind: 'words'; readonly text: string; readonly whole: boolean; readonly not: boolean }
  | { readonly kind: 'field'; readonly field: ShelfField; readonly text: string; readonly whole: boolean; readonly not: boolean }
  | { readonly kind: 'is'; readonly fact: ShelfFact; readonly not: boolean }
  /** From the first day to the last, both ISO days and both within; null for no bound. */
  | { readonly kind: 'dates'; readonly from: string | null; readonly to: string | null }

const termPattern = /(-?)(?:([a-z]+):(?:"([^"]*)"?|([^\s"]+))?|"([^"]*)"?|([^\s"]+))/giu

/** Reads what was typed. Never fails: what is no known field is words, a field without words is not there yet. */
export function parseShelfQuery(text: string): ShelfTerm[] {
  const terms: ShelfTerm[] = []
  for (const [all, minus, name, quotedIn, bareIn, quotedAlone, bareAlone] of text.matchAll(termPattern)) {
    const quoted = quotedIn ?? quotedAlone
    const bare = bareIn ?? bareAlone
    const not = minus === '-'
    const field = name?.toLowerCase()
    const value = (quoted ?? bare ?? '').trim()
    const whole = quoted !== undefined
    if (field === 'is') {
      const fact = shelfFacts.find((one) => one === value.toLowerCase())
      if (fact) terms.push({ kind: 'is', fact, not })
      continue
    }
    if (field === 'date' || field === 'from' || field === 'to') {
      const dates = datesOf(field, value)
      if (dates) terms.push(dates)
      continue
    }
    const known = shelfFields.find((one) => one === field)
    if (known) {
      if (hasWords(value)) terms.push({ kind: 'field', field: known, text: value, whole, not })
      continue
    }
    // A field's name that is still being typed, or none that is known: words as they stand.
    const words = field === undefined ? value : all.slice(minus!.length).replaceAll('"', '').trim()
    const dates = !whole && !not && field === undefined ? isoSpan(words) : null
    if (dates && words.length > 4) terms.push({ kind: 'dates', ...dates })
    else if (hasWords(words)) terms.push({ kind: 'words', text: words, whole, not })
  }
  return terms
}

/** Whether there is anything in it that can be found. */
export const hasWords = (text: string): boolean => /[\p{L}\p{N}]/u.test(text)

/** A term as it would be typed; parseShelfQuery reads it back. */
export function termText(term: ShelfTerm): string {
  if (term.kind === 'is') return `${term.not ? '-' : ''}is:${term.fact}`
  if (term.kind === 'dates') {
    if (term.from === term.to) return `date:${term.from}`
    return term.from === null ? `to:${term.to}` : term.to === null ? `from:${term.from}` : `date:${term.from}..${term.to}`
  }
  const text = term.whole || /[\s:]/.test(term.text) || term.text.startsWith('-') ? `"${term.text}"` : term.text
  return `${term.not ? '-' : ''}${term.kind === 'field' ? `${term.field}:` : ''}${text}`
}

export const queryText = (terms: readonly ShelfTerm[]): string => terms.map(termText).join(' ')

export const sameTerm = (a: ShelfTerm, b: ShelfTerm): boolean => termText(a) === termText(b)

/** The first and last day of a year, a month or a day: 2026, 2026-03, 2026-03-14. Null for anything else, such as the 31st of April. */
export function isoSpan(text: string): { readonly from: string; readonly to: string } | null {
  const [, year, month, day] = /^(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?$/.exec(text) ?? []
  if (year === undefined) return null
  if (month === undefined) return { from: `${year}-01-01`, to: `${year}-12-31` }
  const days = daysIn(Number(year), Number(month))
  if (days === 0) return null
  if (day === undefined) return { from: `${year}-${month}-01`, to: `${year}-${month}-${days}` }
  return Number(day) >= 1 && Number(day) <= days ? { from: text, to: text } : null
}

const monthDays = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
function daysIn(year: number, month: number): number {
  const isLeap = (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0
  return month === 2 && isLeap ? 29 : (monthDays[month - 1] ?? 0)
}

function datesOf(field: 'date' | 'from' | 'to', value: string): ShelfTerm | null {
  const [first, last] = field === 'date' && value.includes('..') ? value.split('..', 2) : [value, value]
  const from = first ? isoSpan(first) : null
  const to = last ? isoSpan(last) : null
  if (field === 'from') return from && { kind: 'dates', from: from.from, to: null }
  if (field === 'to') return to && { kind: 'dates', from: null, to: to.to }
  // A bound that is not wholly typed yet is no bound.
  if ((first && !from) || (last && !to) || (!from && !to)) return null
  return { kind: 'dates', from: from?.from ?? null, to: to?.to ?? null }
}
