import { randomUUID } from 'node:crypto'
import { found } from '../../../shared/plan/search.ts'
import { firstName } from '../../../shared/plan/words.ts'
import { planGaps } from '../../../shared/plan/page.ts'
import { DeskError } from '../../../shared/contract/errors.ts'
import { prescriptionsOfWalkthrough, savePrescription } from '../../library/drills.ts'
import { getPlan, keepPhrase, listPhrases, packsOf, removePhrase, savePlan } from '../../library/plans.ts'
import { listStudents } from '../../library/students.ts'
import { getWalkthrough } from '../../library/walkthroughs.ts'
import type { DeskContext, Group } from '../context.ts'
import { adviceFor, buildPlan } from '../plan/buildPlan.ts'
import { barredBy } from '../plan/mayGo.ts'
import { startPack } from '../plan/pack.ts'

export function planOperations(context: DeskContext): Group<'plan'> & Group<'phrase'> {
  const { library: { db }, hub, now } = context
  const lesson = (id: string) => {
    const walkthrough = getWalkthrough(db, id)
    if (!walkthrough) throw new DeskError('not-found', 'This lesson is not in the library any more.', { where: id })
    return walkthrough
  }
  return {
    'plan.get': ({ walkthroughId }) => {
      lesson(walkthroughId)
      const page = buildPlan(context, walkthroughId)
      return {
        plan: getPlan(db, walkthroughId),
        gaps: [...planGaps(page)],
        barred: barredBy(context, walkthroughId)?.message ?? null,
        advice: adviceFor(context, walkthroughId).map(({ view, sentences }) => ({ view, sentences: [...sentences] })),
      }
    },
    'plan.save': (plan) => {
      lesson(plan.walkthroughId)
      savePlan(db, plan)
      hub.changed('plans')
      return plan
    },
    'plan.startFrom': ({ walkthroughId, from }) => {
      const { studentId } = lesson(walkthroughId)
      lesson(from)
      const [own, other] = [getPlan(db, walkthroughId), getPlan(db, from)]
      const plan = { ...own, cause: own.cause || other.cause, because: own.because || other.because, filmWords: own.filmWords || other.filmWords, filmViews: other.filmViews, named: other.named }
      db.transaction(() => {
        savePlan(db, plan)
        const has = new Set(prescriptionsOfWalkthrough(db, walkthroughId).map(({ cardId }) => cardId))
        const more = prescriptionsOfWalkthrough(db, from).filter(({ cardId }) => !has.has(cardId))
        for (const [i, one] of more.entries())
          savePrescription(db, { ...one, id: randomUUID(), studentId, walkthroughId, note: '', filmBy: plan.filmBy, order: has.size + i, handedOverAt: null, createdAt: now() })
      }).immediate()
      hub.changed('plans', 'prescriptions')
      return plan
    },
    'plan.pack': (request) => {
      lesson(request.walkthroughId)
      return startPack(context, request)
    },
    'plan.packs': ({ walkthroughId }) => packsOf(db, walkthroughId),

    'phrase.search': ({ kind, words, most }) => {
      // A sentence that names somebody is nobody else's.
      const names = listStudents(db).map(({ name }) => firstName(name).toLowerCase()).filter((name) => name.length > 1)
      const isFree = (text: string): boolean => {
        const said = new Set(text.toLowerCase().split(/[^\p{L}\p{N}]+/u))
        return !names.some((name) => said.has(name))
      }
      return found(words, listPhrases(db, kind).filter(({ id, text }) => id !== null || isFree(text)), ({ text }) => [text]).slice(0, most)
    },
    'phrase.keep': ({ kind, text }) => {
      keepPhrase(db, { id: randomUUID(), kind, text, createdAt: now() })
      hub.changed('phrases')
      return {}
    },
    'phrase.forget': ({ id }) => {
      if (removePhrase(db, id) === 0) throw new DeskError('not-found', 'This sentence is not kept any more.', { where: id })
      hub.changed('phrases')
      return {}
    },
  }
}
