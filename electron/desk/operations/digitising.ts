import { randomUUID } from 'node:crypto'
import { DeskError } from '../../../shared/contract/errors.ts'
import { applyDigitised, listDigitised, listMarkSets, removeMarkSet, saveMarkSet } from '../../library/digitised.ts'
import type { DeskContext, Group } from '../context.ts'

export function digitisingOperations({ library: { db }, hub }: DeskContext): Group<'digitising'> & Group<'markSet'> {
  return {
    'digitising.list': ({ clipIds }) => listDigitised(db, clipIds),
    'digitising.apply': ({ diff }) => {
      const saved = applyDigitised(db, diff)
      hub.changed('digitising')
      return { saved }
    },
    'markSet.list': () => listMarkSets(db),
    'markSet.save': (given) => {
      const set = { ...given, id: given.id ?? randomUUID() }
      saveMarkSet(db, set)
      hub.changed('markSets')
      return set
    },
    'markSet.remove': ({ id }) => {
      if (removeMarkSet(db, id) === 0) throw new DeskError('not-found', 'This set of marks is not in the library any more.', { where: id })
      hub.changed('markSets')
      return {}
    },
  }
}
