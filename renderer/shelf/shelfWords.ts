import type { Permission, ShelfItem } from '../../shared/contract/shelf.ts'
import type { ShelfTerm } from '../../shared/shelf/query.ts'
import { termText } from '../../shared/shelf/query.ts'

export const permissionWords: Readonly<Record<Permission, string>> = { 'not-said': 'Nothing said', 'lessons-only': 'For my lessons only', 'may-be-sent': 'May be sent' }

/** Whose swing it is, or what it is called where nobody is known. */
export const itemName = ({ student, title, clips }: Pick<ShelfItem, 'student' | 'title' | 'clips'>): string => student || title || clips[0]!.fileName

const factWords = {
  favourite: 'Favourites', reference: 'References', pair: 'Two views', 'left-handed': 'Left-handed', 'right-handed': 'Right-handed',
  'may-be-sent': 'May be sent', 'lessons-only': 'For my lessons only', 'not-said': 'Nothing said on sending',
} as const

/** A filter as its chip says it. */
export function chipWords(term: ShelfTerm): string {
  const not = term.kind !== 'dates' && term.not ? 'not ' : ''
  if (term.kind === 'is') return `${not}${factWords[term.fact]}`
  if (term.kind === 'field') return `${not}${term.field}: ${term.text}`
  if (term.kind === 'words') return `${not}${term.text}`
  if (term.from === null) return `until ${term.to}`
  if (term.to === null) return `from ${term.from}`
  return term.from === term.to ? term.from : termText(term).replace('date:', '').replace('..', ' to ')
}
