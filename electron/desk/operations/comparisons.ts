import { keepComparison, keptComparison } from '../../library/comparisons.ts'
import type { DeskContext, Group } from '../context.ts'

export function comparisonOperations({ library: { db }, now }: DeskContext): Group<'comparison'> {
  return {
    'comparison.kept': ({ clipIds }) => ({ comparison: keptComparison(db, clipIds) }),
    'comparison.keep': ({ clips, comparison }) => ({ kept: keepComparison(db, clips, comparison, now()) }),
  }
}
