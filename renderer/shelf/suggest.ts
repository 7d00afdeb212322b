import { shelfFacts } from '../../shared/shelf/query.ts'
import type { ShelfState } from './shelfState.ts'

export interface Suggestion {
  /** What the box holds once it is taken. */
  readonly text: string
  /** How it stands in the list. */
  readonly words: string
  /** Whether something is still to be typed after it. */
  readonly open: boolean
}

export const fieldHints = {
  student: 'a name', club: 'a club', view: 'face-on, down-the-line', tag: 'a tag', note: 'your own words about it', asked: 'what the student asked or felt',
  file: 'the file, its source or licence', collection: 'a collection', is: 'a fact', date: 'a year, a month, a day or a span', from: 'the first day', to: 'the last day',
} as const

const most = 8
const plain = (text: string): string => text.normalize('NFKD').replaceAll(/\p{M}/gu, '').toLowerCase()
const quoted = (text: string): string => (/[\s:]/.test(text) ? `"${text}"` : text)

/** What could follow what is being typed: a field's name, or after one what there is of it. */
export function suggestions(typed: string, { words, collections }: Pick<ShelfState, 'words' | 'collections'>): Suggestion[] {
  const [, before = '', minus = '', name, value = ''] = /^(.*?)(-?)(?:([a-z]+):)?("?[^\s"]*|"[^"]*)$/is.exec(typed) ?? []
  const head = `${before}${minus}`
  if (before !== '' && !/\s$/.test(before)) return []
  const looked = plain(value.replaceAll('"', ''))
  if (name === undefined) {
    if (value === '' || value.startsWith('"')) return []
    return Object.entries(fieldHints)
      .filter(([field]) => field.startsWith(looked))
      .map(([field, hint]) => ({ text: `${head}${field}:`, words: `${field}: ${hint}`, open: true }))
      .slice(0, most)
  }
  const field = name.toLowerCase()
  const lists: Readonly<Record<string, readonly string[]>> = {
    student: words.students, club: words.clubs, view: ['face-on', 'down-the-line', 'other'], tag: words.tags, collection: collections.map((one) => one.name), is: shelfFacts,
  }
  const list = lists[field] ?? []
  // What begins so comes before what holds it somewhere.
  const begins = list.filter((one) => plain(one).startsWith(looked))
  const holds = list.filter((one) => !plain(one).startsWith(looked) && plain(one).includes(looked))
  return [...begins, ...holds].slice(0, most).map((one) => ({ text: `${head}${field}:${field === 'is' ? one : quoted(one)} `, words: one, open: false }))
}

