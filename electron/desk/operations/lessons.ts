import type { DeskContext, Group } from '../context.ts'
import { applyStep, readLesson, toStep } from '../lessons.ts'

export function lessonOperations(context: DeskContext): Group<'lesson'> {
  const { hub, now, cleaning } = context
  return {
    'lesson.get': ({ id }) => readLesson(context, id),
    'lesson.apply': ({ id, version, name, change }) => {
      const lesson = applyStep(context, id, version, name, change, now())
      hub.changed('lessons')
      return lesson
    },
    'lesson.step': ({ id, version, to }) => {
      const lesson = toStep(context, id, version, to)
      hub.changed('lessons')
      return lesson
    },
    'lesson.sound': ({ takeId, cleaning: wanted }) => cleaning.ask(takeId, wanted),
  }
}
