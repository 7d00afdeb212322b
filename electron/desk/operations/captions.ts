import { keepCaptions, placeCaptions, toVtt, type Caption } from '../../../shared/walkthrough/captions.ts'
import { Programme } from '../../../shared/walkthrough/programme.ts'
import { getCaptions, setCaptions } from '../../library/captions.ts'
import type { DeskContext, Group } from '../context.ts'
import { lessonSource } from '../lessons.ts'
import { readVtt } from '../webvtt.ts'

/** A lesson's captions where they stand now, after all edits. */
export function captionsOf(context: Pick<DeskContext, 'library' | 'recordings'>, lessonId: string): Caption[] {
  const { takes, edits } = lessonSource(context, lessonId)
  return placeCaptions(new Programme(takes, edits), getCaptions(context.library.db, lessonId))
}

export function captionOperations(context: DeskContext): Group<'captions'> {
  const { library, hub } = context
  const set = (id: string, captions: readonly Caption[]): { captions: Caption[] } => {
    const { takes, edits } = lessonSource(context, id)
    const programme = new Programme(takes, edits)
    const kept = keepCaptions(programme, captions)
    setCaptions(library.db, id, kept)
    hub.changed('lessons')
    return { captions: placeCaptions(programme, kept) }
  }
  return {
    'captions.get': ({ id }) => ({ captions: captionsOf(context, id) }),
    'captions.set': ({ id, captions }) => set(id, captions),
    'captions.import': ({ id, text, name }) => set(id, readVtt(text, name)),
    'captions.text': ({ id }) => ({ text: toVtt(captionsOf(context, id)) }),
  }
}
