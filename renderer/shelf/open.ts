import type { ShelfItem } from '../../shared/contract/shelf.ts'
import { openOnBench, setBeside, type BenchRequest } from '../ui/appStore.ts'

export const requestOf = ({ swingId, clips }: Pick<ShelfItem, 'swingId' | 'clips'>): BenchRequest => (swingId === null ? { clipId: clips[0]!.id } : { swingId })

export const openItem = (item: ShelfItem): void => openOnBench(requestOf(item))

/** Which of two swings is looked at, and which it is held against: the model, or of two of one kind the one of longer ago. */
export function studentAndReference(a: ShelfItem, b: ShelfItem): readonly [student: ShelfItem, reference: ShelfItem] {
  if (a.reference !== b.reference) return a.reference ? [b, a] : [a, b]
  return a.date >= b.date ? [a, b] : [b, a]
}

/** Sets one beside what stands on the Bench, or of two the reference beside the student's. */
export function besideOf(items: readonly ShelfItem[]): void {
  const [a, b] = items
  if (!a) return
  if (!b) return setBeside(requestOf(a))
  const [student, reference] = studentAndReference(a, b)
  setBeside(requestOf(reference), requestOf(student))
}
