import { keepFaceInput, keptFaceInput } from '../../library/faceInputs.ts'
import type { DeskContext, Group } from '../context.ts'

export function faceOperations({ library: { db }, now }: DeskContext): Group<'face'> {
  return {
    'face.kept': ({ clipIds }) => ({ input: keptFaceInput(db, clipIds) }),
    'face.keep': ({ clipIds, input }) => ({ kept: keepFaceInput(db, clipIds, input, now()) }),
  }
}
