import type { MeasuredClip } from '../../../shared/swing/assemble.ts'
import { filmAdvice, type FilmAdvice } from '../../../shared/plan/filmAdvice.ts'
import { planPage, type PlanPage } from '../../../shared/plan/page.ts'
import { viewNames } from '../../../shared/contract/pointsFile.ts'
import { getClip } from '../../library/clips.ts'
import { listDigitised } from '../../library/digitised.ts'
import { prescriptionsOfWalkthrough } from '../../library/drills.ts'
import { getPlan } from '../../library/plans.ts'
import { getSettings } from '../../library/settings.ts'
import { getStudent } from '../../library/students.ts'
import { getSwing } from '../../library/swings.ts'
import { getWalkthrough } from '../../library/walkthroughs.ts'
import type { DeskContext } from '../context.ts'
import { dayOf } from '../handoffJob.ts'
import { lessonClips, lessonFindings } from './mayGo.ts'

/** What was measured of a swing tells where its cameras stood; told once for the same points. */
const told = new WeakMap<object, Map<string, { readonly key: string; readonly advice: readonly FilmAdvice[] }>>()

/** What the places of a lesson's cameras advise for the next film. */
export function adviceFor(context: DeskContext, walkthroughId: string): readonly FilmAdvice[] {
  const { db } = context.library
  const walkthrough = getWalkthrough(db, walkthroughId)
  const swing = walkthrough?.swingId ? getSwing(db, walkthrough.swingId) : null
  const ids = swing ? [swing.leftClipId, swing.rightClipId] : lessonClips(context, walkthroughId)
  const known = ids.flatMap((id) => (id === null ? [] : (getClip(db, id) ?? []))).filter((clip) => swing !== null || clip.studentId === walkthrough?.studentId)
  const clips = viewNames.flatMap((view) => known.find((clip) => clip.view === view) ?? [])
  const records = listDigitised(db, clips.map(({ id }) => id))
  if (records.length === 0) return filmAdvice(null, viewNames)
  const student = walkthrough?.studentId ? getStudent(db, walkthrough.studentId) : null
  const { clickError } = getSettings(db)
  const club = clips[0]!.club
  const lengthM = student?.clubs.find(({ kind }) => kind.toLowerCase() === club.toLowerCase())?.lengthM ?? null
  // The tie's left instant is the left clip's; measuring wants that of the first clip given.
  const tie = swing?.tie && clips.length === 2 ? (clips[0]!.id === swing.leftClipId ? swing.tie : { left: swing.tie.right, right: swing.tie.left }) : null
  const about = {
    clips: clips as readonly MeasuredClip[], oneSwing: swing?.pairing === 'one-swing', tie, statureM: student?.statureM ?? null, repeatability: student?.repeatability ?? null,
    club: club === '' ? null : { kind: club, lengthM }, records: Object.fromEntries(records.map((record) => [record.id, record])), clickError,
  }
  const key = JSON.stringify([clips.map(({ id, captureRate, view, handedness }) => [id, captureRate, view, handedness]), about.oneSwing, tie, about.statureM, about.repeatability, about.club, records, clickError])
  let mine = told.get(db)
  if (!mine) told.set(db, (mine = new Map()))
  const before = mine.get(walkthroughId)
  if (before?.key === key) return before.advice
  const advice = filmAdvice(about, viewNames)
  mine.set(walkthroughId, { key, advice })
  return advice
}

/** A lesson's plan as data, from all that the library knows. */
export function buildPlan(context: DeskContext, walkthroughId: string): PlanPage {
  const { library: { db }, now } = context
  const walkthrough = getWalkthrough(db, walkthroughId)
  const findings = lessonFindings(context, walkthroughId)
  return planPage({
    plan: getPlan(db, walkthroughId),
    settings: getSettings(db).plan,
    student: walkthrough?.studentId ? getStudent(db, walkthrough.studentId) : null,
    findings,
    prescriptions: prescriptionsOfWalkthrough(db, walkthroughId),
    advice: adviceFor(context, walkthroughId),
    today: dayOf(now()),
  })
}
