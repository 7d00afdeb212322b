import type { ArrivalFilter } from '../../shared/contract/lists.ts'
import type { Output } from '../../shared/contract/operations.ts'
import { clipsOfArrival } from './clips.ts'
import type { Sqlite } from './database.ts'
import { all } from './statement.ts'
import { someDeliveries } from './students.ts'
import { swingsOfClips } from './swings.ts'

/** What one student (or none) sent in one delivery (or in none): all but its clips. */
interface Sent {
  readonly studentId: string | null
  readonly deliveryId: string | null
  readonly clips: number
  readonly receivedAt: number
  readonly answeredAt: number | null
  readonly waits: boolean
}

const keyOf = (studentId: string | null, deliveryId: string | null): string => `${studentId ?? ''} ${deliveryId ?? ''}`

/**
 * All that came in, in the order in which it stands on the table, without its clips: some 25,000 groups for 100,000 clips. It is
 * read when first asked for and kept until `forget`; pages of it fetch their clips alone.
 */
export class ArrivalBoard {
  readonly #db: Sqlite
  #sent: readonly Sent[] | null = null
  #words: ReadonlyMap<string, string> | null = null

  constructor(db: Sqlite) {
    this.#db = db
  }

  /** Something that it goes by has changed. */
  forget(): void {
    this.#sent = null
    this.#words = null
  }

  page({ studentId, text, show }: ArrivalFilter, offset: number, limit: number): Output<'arrival.page'> {
    const words = text.toLowerCase().split(/\s+/).filter(Boolean)
    const texts = words.length > 0 ? (this.#words ??= wordsOf(this.#db)) : null
    const found = this.#all().filter((one) => {
      if ((studentId !== null && one.studentId !== studentId) || (show === 'waiting' && !one.waits)) return false
      const own = texts?.get(keyOf(one.studentId, one.deliveryId)) ?? ''
      return words.every((word) => own.includes(word))
    })
    const shown = found.slice(offset, offset + limit)
    const deliveries = new Map(someDeliveries(this.#db, shown.flatMap(({ deliveryId }) => deliveryId ?? [])).map((delivery) => [delivery.id, delivery]))
    return {
      total: found.length,
      items: shown.map((one) => {
        const clips = clipsOfArrival(this.#db, one.studentId, one.deliveryId)
        const { receivedAt, answeredAt, waits } = one
        return { studentId: one.studentId, delivery: deliveries.get(one.deliveryId ?? '') ?? null, receivedAt, answeredAt, waits, clips, swings: swingsOfClips(this.#db, clips.map(({ id }) => id)) }
      }),
    }
  }

  students(): Output<'arrival.students'> {
    const waits = new Map<string, number>()
    const clips = new Map<string, number>()
    for (const one of this.#all()) {
      if (one.studentId === null) continue
      clips.set(one.studentId, (clips.get(one.studentId) ?? 0) + one.clips)
      // They stand in order, the longest wait first.
      if (one.waits && !waits.has(one.studentId)) waits.set(one.studentId, one.receivedAt)
    }
    const rows = all<{ id: string; name: string; sent: number }>(this.#db, 'SELECT id, name, EXISTS (SELECT 1 FROM deliveries WHERE studentId = students.id) AS sent FROM students')
    return rows
      .toSorted((a, b) => (waits.get(a.id) ?? Infinity) - (waits.get(b.id) ?? Infinity) || byName.compare(a.name, b.name))
      .map(({ id, sent }) => ({ studentId: id, waitsSince: waits.get(id) ?? null, answered: sent === 1, clips: clips.get(id) ?? 0 }))
  }

  #all(): readonly Sent[] {
    return (this.#sent ??= readSent(this.#db))
  }
}

const byName = new Intl.Collator()

function readSent(db: Sqlite): Sent[] {
  const groups = all<{ studentId: string | null; deliveryId: string | null; clips: number; receivedAt: number }>(db,
    `SELECT g.studentId, g.deliveryId, g.clips, coalesce(d.receivedAt, g.first) AS receivedAt
     FROM (SELECT studentId, deliveryId, count(*) AS clips, min(takenInAt) AS first FROM clips GROUP BY studentId, deliveryId) g LEFT JOIN deliveries d ON d.id = g.deliveryId`)
  // Finished hand-offs about one of the swings, and those about the student at large.
  const answers = new Map<string, number[]>()
  const answer = (key: string, at: number): void => {
    const there = answers.get(key)
    if (there) there.push(at)
    else answers.set(key, [at])
  }
  const ofSwings = `SELECT c.studentId, c.deliveryId, h.createdAt FROM handoffs h JOIN walkthroughs w ON w.id = h.walkthroughId JOIN swings s ON s.id = w.swingId JOIN clips c ON c.id IN (s.leftClipId, s.rightClipId) WHERE h.finished = 1`
  for (const row of all<{ studentId: string | null; deliveryId: string | null; createdAt: number }>(db, ofSwings)) answer(keyOf(row.studentId, row.deliveryId), row.createdAt)
  const atLarge = new Map<string, number[]>()
  for (const { studentId, createdAt } of all<{ studentId: string; createdAt: number }>(db, 'SELECT w.studentId, h.createdAt FROM handoffs h JOIN walkthroughs w ON w.id = h.walkthroughId WHERE h.finished = 1 AND w.swingId IS NULL AND w.studentId IS NOT NULL'))
    atLarge.set(studentId, [...(atLarge.get(studentId) ?? []), createdAt])
  const sent = groups.map((group): Sent => {
    let answeredAt: number | null = null
    for (const at of [...(answers.get(keyOf(group.studentId, group.deliveryId)) ?? []), ...(group.studentId === null ? [] : (atLarge.get(group.studentId) ?? []))])
      if (at >= group.receivedAt && (answeredAt === null || at < answeredAt)) answeredAt = at
    return { ...group, answeredAt, waits: answeredAt === null && group.deliveryId !== null }
  })
  return sent.toSorted((a, b) => (a.waits === b.waits ? (a.waits ? a.receivedAt - b.receivedAt : b.receivedAt - a.receivedAt) : a.waits ? -1 : 1))
}

/** All words of each group, for looking for parts of them. */
function wordsOf(db: Sqlite): Map<string, string> {
  const texts = new Map<string, string>()
  const rows = all<{ studentId: string | null; deliveryId: string | null; own: string; clips: string }>(db,
    `SELECT g.studentId, g.deliveryId, g.clips, coalesce(s.name, '') || char(10) || coalesce(d.question, '') || char(10) || coalesce(d.feel, '') AS own
     FROM (SELECT studentId, deliveryId, group_concat(fileName || char(10) || club || char(10) || replace(view, '-', ' ') || char(10) || note, char(10)) AS clips FROM clips GROUP BY studentId, deliveryId) g
     LEFT JOIN students s ON s.id = g.studentId LEFT JOIN deliveries d ON d.id = g.deliveryId`)
  for (const { studentId, deliveryId, own, clips } of rows) texts.set(keyOf(studentId, deliveryId), `${own}\n${clips}`.toLowerCase())
  return texts
}
