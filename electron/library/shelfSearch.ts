import type { ShelfOrder, ShelfPage } from '../../shared/contract/shelf.ts'
import { parseShelfQuery, type ShelfFact, type ShelfField, type ShelfTerm } from '../../shared/shelf/query.ts'
import { collectionCalled } from './collections.ts'
import type { Sqlite } from './database.ts'
import { idsAMillisecond, itemsOfRows } from './shelf.ts'
import { nearestWords } from './shelfSpelling.ts'
import { all, one, type Value } from './statement.ts'

/** More than so many are not weighed one by one: the newest come first. */
export const mostWeighed = 3000
/** How much a word counts in each column of shelfText: student, club, view, tags, notes, words, source, day, flags. */
const weights = '10, 5, 1, 8, 4, 2, 2, 1, 0'
const anywhere = '{student club view tags notes words source day}'
const columns: Readonly<Record<Exclude<ShelfField, 'collection'>, string>> = { student: 'student', club: 'club', view: 'view', tag: 'tags', note: 'notes', asked: 'words', file: 'source' }
const flags: Readonly<Record<ShelfFact, string>> = {
  favourite: 'favourite', reference: 'reference', pair: 'pair', 'left-handed': 'lefthanded', 'right-handed': 'righthanded',
  'may-be-sent': 'maybesent', 'lessons-only': 'lessonsonly', 'not-said': 'notsaid',
}

/** What to look for: an expression of FTS5 (null: everything), and the bounds of the row ids (see migration 0005). */
export interface CompiledQuery {
  readonly match: string | null
  readonly from: number
  readonly to: number
}

/** Quoted, so that nothing in it is read as an operator; FTS5 parts it into words itself. */
const phrase = (text: string, whole: boolean): string => `"${text.replaceAll('"', ' ').replaceAll('\0', ' ')}"${whole ? '' : ' *'}`
const flag = (word: string): string => `flags : "${word}"`

/** Midnight in the coach's own time zone at the start of an ISO day, milliseconds since 1970; `later` days after it. */
function midnight(day: string, later = 0): number {
  const [year, month, date] = day.split('-').map(Number) as [number, number, number]
  return new Date(year, month - 1, date + later).getTime()
}

export function compileQuery(terms: readonly ShelfTerm[], collectionId: (name: string) => string | null): CompiledQuery {
  const wanted: string[] = []
  const unwanted: string[] = []
  let [from, to] = [-Number.MAX_SAFE_INTEGER, Number.MAX_SAFE_INTEGER]
  for (const term of terms) {
    if (term.kind === 'dates') {
      if (term.from !== null) from = Math.max(from, midnight(term.from) * idsAMillisecond)
      if (term.to !== null) to = Math.min(to, midnight(term.to, 1) * idsAMillisecond - 1)
      continue
    }
    const list = term.not ? unwanted : wanted
    if (term.kind === 'is') list.push(flag(flags[term.fact]))
    else if (term.kind === 'words') list.push(`${anywhere} : ${phrase(term.text, term.whole)}`)
    else if (term.field === 'collection') list.push(flag(`k${(collectionId(term.text) ?? 'nosuchcollection').replaceAll('-', '')}`))
    else list.push(`${columns[term.field]} : ${phrase(term.text, term.whole)}`)
  }
  const all = wanted.map((one) => `(${one})`).join(' AND ') || (unwanted.length ? flag('every') : '')
  const match = unwanted.reduce((expression, one) => `(${expression}) NOT (${one})`, all)
  return { match: match || null, from, to }
}

const bounds = 'BETWEEN CAST(? AS INTEGER) AND CAST(? AS INTEGER)'

function totalOf(db: Sqlite, { match, from, to }: CompiledQuery): number {
  const source = match === null ? `SELECT count(*) AS n FROM shelf WHERE id ${bounds}` : `SELECT count(*) AS n FROM shelfText WHERE shelfText MATCH ? AND rowid ${bounds}`
  return one<{ n: number }>(db, source, ...(match === null ? [] : [match]), from, to)!.n
}

function rowsOf(db: Sqlite, { match, from, to }: CompiledQuery, order: ShelfOrder, limit: number, offset: number): number[] {
  const values: Value[] = [...(match === null ? [] : [match]), from, to, limit, offset]
  const table = match === null ? `shelf WHERE id ${bounds}` : `shelfText WHERE shelfText MATCH ? AND rowid ${bounds}`
  const by = match !== null && order === 'best' ? `bm25(shelfText, ${weights}), rowid DESC` : `rowid ${order === 'oldest' ? 'ASC' : 'DESC'}`
  return all<{ rowid: number }>(db, `SELECT rowid AS rowid FROM ${table} ORDER BY ${by} LIMIT ? OFFSET ?`, ...values).map(({ rowid }) => rowid)
}

interface Found extends Pick<ShelfPage, 'total' | 'order' | 'corrected'> { readonly query: CompiledQuery }

/** Compiles what was typed and counts what it finds; where it finds nothing, words that nothing holds give way to the nearest that something does. */
function find(db: Sqlite, text: string, order: ShelfOrder): Found {
  const compile = (terms: readonly ShelfTerm[]): CompiledQuery => compileQuery(terms, (name) => collectionCalled(db, name)?.id ?? null)
  let terms: ShelfTerm[] = parseShelfQuery(text)
  let query = compile(terms)
  let total = totalOf(db, query)
  let corrected: Found['corrected'] = []
  if (total === 0) {
    const near = corrections(db, terms, compile)
    if (near.corrected.length > 0) {
      const other = compile(near.terms)
      const found = totalOf(db, other)
      if (found > 0) [terms, query, total, corrected] = [near.terms, other, found, near.corrected]
    }
  }
  const isWeighed = order === 'best' && total <= mostWeighed && terms.some((term) => (term.kind === 'words' || term.kind === 'field') && !term.not)
  return { query, total, order: order === 'best' && !isWeighed ? 'newest' : order, corrected }
}

function corrections(db: Sqlite, terms: readonly ShelfTerm[], compile: (terms: readonly ShelfTerm[]) => CompiledQuery): { terms: ShelfTerm[]; corrected: Found['corrected'] } {
  const corrected: { from: string; to: string }[] = []
  const next = terms.map((term): ShelfTerm => {
    if ((term.kind !== 'words' && term.kind !== 'field') || term.not || term.whole) return term
    if (term.kind === 'field' && term.field === 'collection') return term
    if (totalOf(db, compile([term])) > 0) return term
    for (const to of nearestWords(db, term.text)) {
      const other: ShelfTerm = { ...term, text: to }
      if (totalOf(db, compile([other])) === 0) continue
      corrected.push({ from: term.text, to })
      return other
    }
    return term
  })
  return { terms: next, corrected }
}

export interface SearchRequest { readonly text: string; readonly order: ShelfOrder; readonly offset: number; readonly limit: number }

/** One page of what a query finds. */
export function searchShelf(db: Sqlite, { text, order, offset, limit }: SearchRequest): ShelfPage {
  const found = find(db, text, order)
  const rows = limit === 0 ? [] : rowsOf(db, found.query, found.order, limit, offset)
  return { total: found.total, items: itemsOfRows(db, rows), order: found.order, corrected: found.corrected }
}

/** The keys of all that a query finds, in order, up to `most`. */
export function keysFound(db: Sqlite, text: string, order: ShelfOrder, most: number): string[] {
  const found = find(db, text, order)
  const ids = rowsOf(db, found.query, found.order, most, 0)
  const keys = new Map(all<{ id: number; key: string }>(db, 'SELECT id, key FROM shelf WHERE id IN (SELECT value FROM json_each(?))', JSON.stringify(ids)).map(({ id, key }) => [id, key]))
  return ids.flatMap((id) => keys.get(id) ?? [])
}

