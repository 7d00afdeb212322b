import { randomUUID } from 'node:crypto'
import { z } from 'zod'
import { drillAreas, type DrillCard, type DrillText } from '../../../shared/contract/drill.ts'
import { DeskError } from '../../../shared/contract/errors.ts'
import { getClip } from '../../library/clips.ts'
import { getPrescription, listOwnCards, prescriptionsOfStudent, prescriptionsOfWalkthrough, removeOwnCard, removePrescription, renewPrescribed, saveOwnCard, savePrescription } from '../../library/drills.ts'
import { starterCards } from '../../library/starterCards.ts'
import type { DeskContext, Group } from '../context.ts'

const textOf = ({ id: _id, origin: _origin, clipId: _clip, ...text }: DrillCard): DrillText => text

export function drillOperations({ library: { db }, hub, now }: DeskContext): Group<'drill'> & Group<'prescription'> {
  const starters = new Map(starterCards().map((card) => [card.id, card]))
  /** Starter cards, each in the coach's own version where there is one, and the coach's own, by area. */
  const cards = (): DrillCard[] => {
    const own = listOwnCards(db).map(({ id, clipId, text }): DrillCard => ({ ...text, id, clipId, origin: starters.has(id) ? 'copy' : 'own' }))
    const ids = new Set(own.map(({ id }) => id))
    return [...starterCards().filter(({ id }) => !ids.has(id)), ...own].toSorted((a, b) => drillAreas.indexOf(a.area) - drillAreas.indexOf(b.area) || a.title.localeCompare(b.title, 'en'))
  }
  const known = (id: string): DrillCard => {
    const card = cards().find((each) => each.id === id)
    if (!card) throw new DeskError('not-found', 'This drill card is not in the library any more.', { where: id })
    return card
  }
  return {
    'drill.list': cards,
    'drill.save': ({ id, clipId, ...text }) => {
      // A card of the coach's own that was removed comes back under its id.
      if (id !== null && !z.uuid().safeParse(id).success) known(id)
      if (clipId !== null && !getClip(db, clipId)) throw new DeskError('not-found', 'The clip that demonstrates it is not in the library any more.', { where: clipId, remedy: 'Choose another, or none.' })
      const saved = id ?? randomUUID()
      saveOwnCard(db, { id: saved, clipId, text }, now())
      hub.changed('drills', 'prescriptions')
      return known(saved)
    },
    'drill.remove': ({ id }) => {
      const { origin } = known(id)
      if (origin === 'starter') throw new DeskError('bad-input', 'A card that came with the program cannot be removed.', { where: id })
      removeOwnCard(db, id)
      const starter = starters.get(id)
      if (starter) renewPrescribed(db, id, textOf(starter))
      hub.changed('drills', 'prescriptions')
      return {}
    },
    'prescription.list': (of) => ('studentId' in of ? prescriptionsOfStudent(db, of.studentId) : prescriptionsOfWalkthrough(db, of.walkthroughId)),
    'prescription.save': (given) => {
      const before = getPrescription(db, given.id)
      // What has been handed over stays as the student has it, but for the coach's own dates and words.
      const card = before && (before.handedOverAt !== null || before.cardId === given.cardId) ? before.card : textOf(known(given.cardId))
      const saved = { ...given, card, handedOverAt: before?.handedOverAt ?? null, createdAt: before?.createdAt ?? now() }
      savePrescription(db, saved)
      hub.changed('prescriptions')
      return saved
    },
    'prescription.remove': ({ id }) => {
      if (removePrescription(db, id) === 0) throw new DeskError('not-found', 'This drill is not prescribed any more.', { where: id })
      hub.changed('prescriptions')
      return {}
    },
  }
}
