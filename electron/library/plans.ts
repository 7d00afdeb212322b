import { newPlan, type Pack, type PackFile, type Phrase, type PhraseKind, type PlanRecord } from '../../shared/contract/plan.ts'
import type { Sqlite } from './database.ts'
import { all, one, put, run } from './statement.ts'

/** A lesson's plan as the coach left it; a bare one where nothing was decided yet. */
export function getPlan(db: Sqlite, walkthroughId: string): PlanRecord {
  const row = one<{ record: string }>(db, 'SELECT record FROM plans WHERE walkthroughId = ?', walkthroughId)
  return { ...newPlan(walkthroughId), ...(row ? (JSON.parse(row.record) as PlanRecord) : {}) }
}

export const savePlan = (db: Sqlite, plan: PlanRecord): void =>
  put(db, 'plans', { walkthroughId: plan.walkthroughId, record: JSON.stringify(plan) }, 'walkthroughId')

interface PackRow { clips: string; id: string; walkthroughId: string; kind: Pack['kind']; target: string; bytes: number; files: string; createdAt: number }
const asPack = ({ target, files, clips: _clips, ...row }: PackRow): Pack => ({ ...row, path: target, files: JSON.parse(files) as PackFile[] })

export const packsOf = (db: Sqlite, walkthroughId: string): Pack[] =>
  all<PackRow>(db, 'SELECT * FROM packs WHERE walkthroughId = ? ORDER BY createdAt DESC, id', walkthroughId).map(asPack)
export const listPacks = (db: Sqlite): Pack[] => all<PackRow>(db, 'SELECT * FROM packs ORDER BY createdAt DESC, id').map(asPack)

export function getPack(db: Sqlite, id: string): Pack | null {
  const row = one<PackRow>(db, 'SELECT * FROM packs WHERE id = ?', id)
  return row ? asPack(row) : null
}

/** @param clipIds all that its pictures and demonstrations show */
export const addPack = (db: Sqlite, { path, files, ...row }: Pack, clipIds: readonly string[]): void =>
  put(db, 'packs', { ...row, target: path, files: JSON.stringify(files), clips: JSON.stringify(clipIds) })

/** Takes the packs off the list that show any of some clips. */
export const removePacksShowing = (db: Sqlite, clipIds: readonly string[]): number =>
  run(db, 'DELETE FROM packs WHERE EXISTS (SELECT 1 FROM json_each(packs.clips) own JOIN json_each(?) gone ON own.value = gone.value)', JSON.stringify(clipIds))

/** Where sentences of each kind stand: what was written once is offered again. */
const written: Readonly<Record<PhraseKind, string>> = {
  saw: `SELECT saw AS text FROM findings`,
  cause: `SELECT json_extract(record, '$.cause') AS text FROM plans`,
  because: `SELECT json_extract(record, '$.because') AS text FROM plans`,
  film: `SELECT json_extract(record, '$.filmWords') AS text FROM plans`,
  note: `SELECT note AS text FROM prescriptions`,
}

/** Sentences of a kind: those the coach keeps, and those that stand somewhere in the library, each with how often. */
export const listPhrases = (db: Sqlite, kind: PhraseKind): Phrase[] =>
  all<Phrase>(
    db,
    `WITH written AS (SELECT trim(text) AS text FROM (${written[kind]}) WHERE trim(coalesce(text, '')) <> '')
     SELECT p.id AS id, ? AS kind, t.text AS text, (SELECT count(*) FROM written w WHERE w.text = t.text) AS used
     FROM (SELECT text FROM written UNION SELECT text FROM phrases WHERE kind = ?) t
     LEFT JOIN phrases p ON p.kind = ? AND p.text = t.text
     ORDER BY used DESC, t.text`,
    kind,
    kind,
    kind,
  )

export const keepPhrase = (db: Sqlite, phrase: { id: string; kind: PhraseKind; text: string; createdAt: number }): number =>
  run(db, 'INSERT OR IGNORE INTO phrases (id, kind, text, createdAt) VALUES (?, ?, ?, ?)', phrase.id, phrase.kind, phrase.text, phrase.createdAt)
export const removePhrase = (db: Sqlite, id: string): number => run(db, 'DELETE FROM phrases WHERE id = ?', id)
