import { z } from 'zod'
import { keptCaptionSchema, type KeptCaption } from '../../shared/walkthrough/captions.ts'
import type { Sqlite } from './database.ts'
import { one, put, run } from './statement.ts'

const recordSchema = z.array(keptCaptionSchema)

/** A lesson's captions, fixed to what is said. */
export function getCaptions(db: Sqlite, walkthroughId: string): KeptCaption[] {
  const row = one<{ record: string }>(db, 'SELECT record FROM captions WHERE walkthroughId = ?', walkthroughId)
  return row ? recordSchema.parse(JSON.parse(row.record)) : []
}

export function setCaptions(db: Sqlite, walkthroughId: string, captions: readonly KeptCaption[]): void {
  if (captions.length === 0) run(db, 'DELETE FROM captions WHERE walkthroughId = ?', walkthroughId)
  else put(db, 'captions', { walkthroughId, record: JSON.stringify(captions) }, 'walkthroughId')
}
