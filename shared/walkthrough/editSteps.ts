import { z } from 'zod'
import { chapterMarkSchema, markFixSchema, pieceSchema, soundCleaningSchema, type Edits } from './edits.ts'

const spliceSchema = <T>(item: z.ZodType<T>) =>
  z.object({ at: z.number().int().min(0), removed: z.array(item).readonly(), added: z.array(item).readonly() }).readonly()
const cleaning = soundCleaningSchema.readonly()

/** What one step did to a list, with enough in it to go either way; lists that did not change are left out. */
export const editChangeSchema = z.object({
  pieces: spliceSchema(pieceSchema).optional(),
  chapters: spliceSchema(chapterMarkSchema).optional(),
  fixes: spliceSchema(markFixSchema).optional(),
  sound: z.tuple([cleaning, cleaning]).readonly().optional(),
})
export type EditChange = Readonly<z.infer<typeof editChangeSchema>>

interface Splice<T> {
  readonly at: number
  readonly removed: readonly T[]
  readonly added: readonly T[]
}

const same = (one: unknown, two: unknown): boolean => one === two || JSON.stringify(one) === JSON.stringify(two)

/** The one stretch in which two lists differ; null where they do not. */
function spliceBetween<T>(before: readonly T[], after: readonly T[]): Splice<T> | null {
  let at = 0
  while (at < before.length && at < after.length && same(before[at], after[at])) at++
  let tail = 0
  while (tail < before.length - at && tail < after.length - at && same(before[before.length - 1 - tail], after[after.length - 1 - tail])) tail++
  const splice = { at, removed: before.slice(at, before.length - tail), added: after.slice(at, after.length - tail) }
  return splice.removed.length + splice.added.length === 0 ? null : splice
}

export function changeBetween(before: Edits, after: Edits): EditChange {
  const pieces = spliceBetween(before.pieces, after.pieces)
  const chapters = spliceBetween(before.chapters, after.chapters)
  const fixes = spliceBetween(before.fixes, after.fixes)
  return {
    ...(pieces ? { pieces } : {}),
    ...(chapters ? { chapters } : {}),
    ...(fixes ? { fixes } : {}),
    ...(same(before.sound, after.sound) ? {} : { sound: [before.sound, after.sound] as const }),
  }
}

export const isNoChange = (change: EditChange): boolean => Object.values(change).every((part) => part === undefined)

const backwards = <T>(splice: Splice<T>): Splice<T> => ({ at: splice.at, removed: splice.added, added: splice.removed })

/** The way back. */
export const reverseChange = ({ pieces, chapters, fixes, sound }: EditChange): EditChange => ({
  ...(pieces ? { pieces: backwards(pieces) } : {}),
  ...(chapters ? { chapters: backwards(chapters) } : {}),
  ...(fixes ? { fixes: backwards(fixes) } : {}),
  ...(sound ? { sound: [sound[1], sound[0]] as const } : {}),
})

/** A change that was made to another list than the one it is applied to. */
export class EditConflict extends Error {}

function spliced<T>(list: readonly T[], splice: Splice<T> | undefined): readonly T[] {
  if (!splice) return list
  const { at, removed, added } = splice
  if (!same(list.slice(at, at + removed.length), removed)) throw new EditConflict('the list is not the one that this change was made to')
  return [...list.slice(0, at), ...added, ...list.slice(at + removed.length)]
}

/** The list after a change. Throws an EditConflict where what it takes away is not there. */
export function applyChange(edits: Edits, change: EditChange): Edits {
  if (change.sound && !same(edits.sound, change.sound[0])) throw new EditConflict('the sound was set otherwise meanwhile')
  return {
    version: 1,
    pieces: spliced(edits.pieces, change.pieces),
    chapters: spliced(edits.chapters, change.chapters),
    fixes: spliced(edits.fixes, change.fixes),
    sound: change.sound ? change.sound[1] : edits.sound,
  }
}
