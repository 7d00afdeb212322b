import type { DrillText, Prescription } from '../contract/drill.ts'
import type { Finding, FindingNumber } from '../contract/finding.ts'
import type { PlanRecord, PlanSettings } from '../contract/plan.ts'
import type { ViewName } from '../contract/pointsFile.ts'
import type { Student } from '../contract/student.ts'
import type { Size } from '../picture/layout.ts'
import { sizeOf } from './framing.ts'
import { orderOf } from './order.ts'
import { safetyOfAll } from './safety.ts'
import { doseWords, firstName, longDay, numberWords, placeWords } from './words.ts'

/** A number as it stands on the page. */
export interface PlanNumber {
  readonly title: string
  /** With its error and unit. */
  readonly words: string
}

export interface PlanLine {
  readonly findingId: string
  readonly saw: string
  /** "at the top"; empty for a frame without a name. */
  readonly where: string
  readonly number: PlanNumber | null
  /** Whether the coach has written what is seen. */
  readonly isSaid: boolean
}

export interface PlanPicture extends PlanLine {
  /** Whether it shows the cause. */
  readonly isCause: boolean
  /** For whoever cannot see it. */
  readonly alt: string
  /** Of its JPEG, pixels. */
  readonly size: Size
}

export interface PlanDrill extends Omit<DrillText, 'dose' | 'area' | 'loads' | 'swing'> {
  readonly id: string
  readonly dose: string
  readonly note: string
}

/** The plan as data: what the printed page and the page for a screen both say, in the order in which they say it. */
export interface PlanPage {
  readonly heading: Pick<PlanSettings, 'name' | 'lines'>
  readonly paper: PlanSettings['paper']
  readonly title: string
  /** As the coach chose to name the student; null for not at all. */
  readonly student: string | null
  /** ISO day it was made. */
  readonly made: string
  /** The cause in one sentence; null where the coach has named none yet. */
  readonly cause: string | null
  readonly because: string
  readonly follows: readonly PlanLine[]
  readonly pictures: readonly PlanPicture[]
  readonly drills: readonly PlanDrill[]
  readonly film: { readonly views: readonly ViewName[]; readonly sentences: readonly string[]; readonly by: string | null }
  readonly safety: readonly string[]
  /** Whether any number stands on it, so that the sign before an error is explained. */
  readonly hasNumbers: boolean
}

/** No more pictures than the page has room to show well. */
export const mostPictures = 3
export const mostDrills = 3

export interface PlanParts {
  readonly plan: PlanRecord
  readonly settings: PlanSettings
  readonly student: Pick<Student, 'name'> | null
  readonly findings: readonly Finding[]
  readonly prescriptions: readonly Prescription[]
  /** What the places of the cameras advise, by view. */
  readonly advice: readonly { readonly view: ViewName; readonly sentences: readonly string[] }[]
  /** ISO day. */
  readonly today: string
}

const trimmed = (text: string): string => text.trim().replaceAll(/\s+/g, ' ')

const numberOf = (number: FindingNumber | null): PlanNumber | null => (number ? { title: number.title, words: numberWords(number) } : null)

const lineOf = (finding: Finding): PlanLine => {
  const number = numberOf(finding.number)
  const where = placeWords(finding.at)
  return { findingId: finding.id, saw: trimmed(finding.saw) || (number?.title ?? 'As seen'), where, number, isSaid: trimmed(finding.saw) !== '' }
}

function pictureOf(finding: Finding, isCause: boolean): PlanPicture {
  const line = lineOf(finding)
  const number = line.number ? `, ${line.number.title} ${line.number.words}` : ''
  const views = finding.picture.beside?.shown ? ', seen from both sides' : ''
  return { ...line, isCause, size: sizeOf(finding.picture), alt: `The swing ${line.where || 'on one frame'}${views}: ${line.saw}${number}` }
}

const drillOf = ({ id, card: { area: _area, loads: _loads, swing: _swing, ...card }, dose, note }: Prescription): PlanDrill => ({ ...card, id, dose: doseWords(dose), note: trimmed(note) })

const viewTitles: Readonly<Record<ViewName, string>> = { 'face-on': 'Face-on', 'down-the-line': 'Down the line' }

/** What to film and how: the coach's own words, else the advice of the cameras' places, each under its view. */
function sentencesOf({ filmWords, filmViews }: PlanRecord, advice: PlanParts['advice']): string[] {
  if (trimmed(filmWords)) return [trimmed(filmWords)]
  return filmViews.flatMap((view) => {
    const words = advice.find((one) => one.view === view)?.sentences.join(' ')
    return words ? [`${viewTitles[view]}: ${words}`] : []
  })
}

/** Puts a lesson's plan together from what is known; pure. Sentences that follow from nothing are left out, never made up. */
export function planPage({ plan, settings, student, findings, prescriptions, advice, today }: PlanParts): PlanPage {
  const order = orderOf(findings)
  const byId = new Map(findings.map((finding) => [finding.id, finding]))
  const causeFinding = order.cause === null ? null : (byId.get(order.cause) ?? null)
  const following = order.follows.flatMap((id) => byId.get(id) ?? [])
  const shown = [...(causeFinding ? [causeFinding] : []), ...following].filter((finding) => finding.shown).slice(0, mostPictures)
  const drills = prescriptions.toSorted((a, b) => a.order - b.order || a.createdAt - b.createdAt).slice(0, mostDrills)
  const name = student?.name.trim() ?? ''
  const named = plan.named === 'none' || name === '' ? null : plan.named === 'first-name' ? firstName(name) : name
  const by = plan.filmBy ?? drills.flatMap(({ filmBy }) => filmBy ?? []).toSorted()[0] ?? null
  const pictures = shown.map((finding) => pictureOf(finding, finding === causeFinding))
  const follows = following.map(lineOf)
  return {
    heading: { name: trimmed(settings.name), lines: settings.lines.map(trimmed).filter((line) => line !== '') },
    paper: settings.paper,
    title: 'Practice plan',
    student: named,
    made: today,
    cause: trimmed(plan.cause) || (causeFinding ? trimmed(causeFinding.saw) || lineOf(causeFinding).saw : null),
    because: trimmed(plan.because),
    follows,
    pictures,
    drills: drills.map(drillOf),
    film: { views: plan.filmViews, sentences: sentencesOf(plan, advice), by: by === null ? null : longDay(by) },
    safety: safetyOfAll(drills.map(({ card }) => card)),
    hasNumbers: [...pictures, ...follows].some(({ number }) => number !== null),
  }
}

/** What is still missing for a plan worth sending, in words for the coach; the most telling first. */
export function planGaps(page: PlanPage): readonly string[] {
  return [
    ...(page.cause === null ? ['No cause is named yet: put a finding at the top, or write the sentence here.'] : []),
    ...([...page.pictures, ...page.follows].some(({ isSaid }) => !isSaid) ? ['A finding has no words yet: write what is seen, under Findings.'] : []),
    ...(page.pictures.length === 0 ? ['No picture yet: on the Bench, choose a mark or point at a measure and press Shift F.'] : []),
    ...(page.drills.length === 0 ? ['No drill is prescribed yet: choose one under Drills.'] : []),
    ...(page.film.sentences.length === 0 ? ['Nothing says what to film next: choose a view, or write it here.'] : []),
    ...(page.heading.name === '' ? ['Your own heading is empty: set it once under Your heading.'] : []),
  ]
}

