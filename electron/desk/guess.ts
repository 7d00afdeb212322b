import type { View } from '../../shared/contract/clip.ts'
import type { Student } from '../../shared/contract/student.ts'

export interface Guess {
  readonly view: View | null
  readonly studentId: string | null
  readonly studentName: string | null
}

/** How people name the two views of a swing, as whole words of a file name (common practice, no source). */
const viewWords: readonly (readonly [View, readonly string[]])[] = [
  ['down-the-line', ['dtl', 'down the line', 'downtheline', 'behind', 'target line', 'line']],
  ['face-on', ['fo', 'face on', 'faceon', 'face', 'front', 'caddie', 'caddy', 'chest']],
]
/** Words that tell a view only where nothing else does: from the side the golfer is seen from behind the line, most often. */
const weakWords: readonly (readonly [View, readonly string[]])[] = [['down-the-line', ['side', 'rear', 'back']]]

/** A file name as plain words: "Mia_DTL-2 (7i).MOV" is "mia dtl 2 7i"; capitals inside a word begin a new one, digits end it. */
function wordsOf(text: string): string {
  const plain = text.normalize('NFD').replaceAll(/\p{M}/gu, '')
  return plain
    .replaceAll(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
    .replaceAll(/(\p{L})(\d)|(\d)(\p{L})/gu, '$1$3 $2$4')
    .toLowerCase()
    .replaceAll(/[^\p{L}\p{N}]+/gu, ' ')
    .trim()
}

const holds = (words: string, phrase: string): boolean => ` ${words} `.includes(` ${phrase} `)

function viewOf(words: string): View | null {
  for (const list of [viewWords, weakWords]) {
    const found = list.filter(([, phrases]) => phrases.some((phrase) => holds(words, phrase)))
    // A name that says both ("face and dtl") tells nothing.
    if (found.length === 1) return found[0]![0]
    if (found.length > 1) return null
  }
  return null
}

type Known = Pick<Student, 'id' | 'name'>

/** The student whose whole name is in the file's; else the only one of whose names one is (three letters or more). */
function studentOf(words: string, students: readonly Known[]): Known | null {
  const named = students.map((student) => ({ student, name: wordsOf(student.name) }))
  const joined = words.replaceAll(' ', '')
  const whole = named.filter(
    ({ name }) => name !== '' && (holds(words, name) || (name.includes(' ') && joined.includes(name.replaceAll(' ', '')))),
  )
  if (whole.length > 0) return whole.toSorted((a, b) => b.name.length - a.name.length)[0]!.student
  const parts = named.filter(({ name }) => name.split(' ').some((part) => part.length >= 3 && holds(words, part)))
  return parts.length === 1 ? parts[0]!.student : null
}

/** What a file's name tells of the view and the student; null where it does not tell. */
export function guessFromName(fileName: string, students: readonly Known[]): Guess {
  const words = wordsOf(fileName.replace(/^.*[\\/]/, '').replace(/\.[A-Za-z0-9]{1,5}$/, ''))
  const student = studentOf(words, students)
  // "Caddy Lineman" is a name, not two views.
  const rest = student ? ` ${words} `.replace(` ${wordsOf(student.name)} `, ' ').trim() : words
  return { view: viewOf(rest), studentId: student?.id ?? null, studentName: student?.name ?? null }
}
