import type { DrillText, Prescription } from '../../shared/contract/drill.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run } from './statement.ts'

/** A card of the coach's own, as it lies in the library. */
export interface OwnCard {
  readonly id: string
  readonly clipId: string | null
  readonly text: DrillText
}
interface CardRow { id: string; clipId: string | null; record: string }
const asCard = ({ id, clipId, record }: CardRow): OwnCard => ({ id, clipId, text: JSON.parse(record) as DrillText })

export const listOwnCards = (db: Sqlite): OwnCard[] => all<CardRow>(db, 'SELECT id, clipId, record FROM drillCards ORDER BY createdAt, id').map(asCard)

/** Saves a card, and brings what was prescribed of it up to date as long as it has not been handed over. */
export function saveOwnCard(db: Sqlite, { id, clipId, text }: OwnCard, now: number): void {
  db.transaction(() => {
    const known = one<{ createdAt: number }>(db, 'SELECT createdAt FROM drillCards WHERE id = ?', id)
    put(db, 'drillCards', { id, clipId, record: JSON.stringify(text), createdAt: known?.createdAt ?? now })
    renewPrescribed(db, id, text)
  }).immediate()
}

export const renewPrescribed = (db: Sqlite, cardId: string, text: DrillText): number =>
  run(db, 'UPDATE prescriptions SET card = ? WHERE cardId = ? AND handedOverAt IS NULL', JSON.stringify(text), cardId)

export const removeOwnCard = (db: Sqlite, id: string): number => run(db, 'DELETE FROM drillCards WHERE id = ?', id)

type PrescriptionRow = Omit<Prescription, 'card' | 'dose' | 'order'> & { card: string; dose: string; place: number }
const asPrescription = ({ card, dose, place, ...row }: PrescriptionRow): Prescription =>
  ({ ...row, card: JSON.parse(card) as Prescription['card'], dose: JSON.parse(dose) as Prescription['dose'], order: place })

/** All that was ever prescribed to a student, or for a lesson; in the coach's order, the newest lesson first. */
export const prescriptionsOfStudent = (db: Sqlite, studentId: string): Prescription[] =>
  all<PrescriptionRow>(db, 'SELECT * FROM prescriptions WHERE studentId = ? ORDER BY createdAt DESC, id', studentId).map(asPrescription)
export const prescriptionsOfWalkthrough = (db: Sqlite, walkthroughId: string): Prescription[] =>
  all<PrescriptionRow>(db, 'SELECT * FROM prescriptions WHERE walkthroughId = ? ORDER BY place, createdAt, id', walkthroughId).map(asPrescription)

export function getPrescription(db: Sqlite, id: string): Prescription | null {
  const row = one<PrescriptionRow>(db, 'SELECT * FROM prescriptions WHERE id = ?', id)
  return row ? asPrescription(row) : null
}

export const savePrescription = (db: Sqlite, { card, dose, order, ...row }: Prescription): void =>
  put(db, 'prescriptions', { ...row, card: JSON.stringify(card), dose: JSON.stringify(dose), place: order })

export const removePrescription = (db: Sqlite, id: string): number => run(db, 'DELETE FROM prescriptions WHERE id = ?', id)

/** From now on what was prescribed for this lesson stays as the student got it. */
export const markHandedOver = (db: Sqlite, walkthroughId: string, now: number): number =>
  run(db, 'UPDATE prescriptions SET handedOverAt = ? WHERE walkthroughId = ? AND handedOverAt IS NULL', now, walkthroughId)
