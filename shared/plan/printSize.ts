import type { PlanDrill, PlanPage } from './page.ts'
import { marginPt, papers } from './planStyle.ts'
import { listWords } from './safety.ts'

/** A letter's mean width in the page's type, and how much longer a paragraph gets by breaking at words. */
const letter = 0.52
const ragged = 1.03
const leading = 1.34
/** Headings keep a distance that does not shrink with the text, points. */
const headingGap = 4.5
/** What is estimated is not measured: so much of the sheet stays free. */
const spare = 1

/**
 * How large the running text may be for the page to be printed on one sheet, points, between 6.5 and 10.5. Estimated from
 * the number of letters, since nothing here can measure type; the style sheet's own distances are repeated here.
 */
export function printSize(page: PlanPage): number {
  const room = (papers[page.paper].height - 2 * marginPt) * spare
  for (let pt = 10.5; pt > 6.5; pt -= 0.25) if (heightOf(page, pt) <= room) return pt
  return 6.5
}

function heightOf(page: PlanPage, pt: number): number {
  const width = papers[page.paper].width - 2 * marginPt
  const line = leading * pt
  /** Height of a paragraph, its type so many times as large as the running text. */
  const text = (words: string, across = width, size = 1): number => Math.max(1, Math.ceil((words.length * letter * ragged * size * pt) / across)) * line * size
  const label = 0.85 * line + headingGap
  const between = 0.8 * pt

  const { heading, cause, because, follows, pictures, drills, film, safety } = page
  let height = heading.name === '' && heading.lines.length === 0 ? 0 : Math.max(1.1, 0.85 * heading.lines.length) * line + 0.35 * pt + 2
  height += line + 0.95 * pt
  const inner = width - 2.2 * pt
  if (cause !== null || because !== '' || follows.length > 0) height += 1.2 * pt
  if (cause !== null) height += label + text(cause, inner, 1.4)
  if (because !== '') height += text(because, inner) + 0.3 * pt
  if (follows.length > 0) height += label + 0.5 * pt + sum(follows.map(({ saw, number, where }) => text(`${saw} ${number ? `(${number.title} ${where}: ${number.words})` : ''}`, inner - 1.1 * pt)))
  if (pictures.length > 0) height += between + pictureEms * pt + 0.25 * pt + Math.max(...pictures.map(({ saw, number, where, isCause }) => text(`${isCause ? 'The cause. ' : ''}${saw}`, (width - 2 * pt) / 3, 0.9) + (number ? 2 : where === '' ? 0 : 1) * 0.9 * line))
  if (drills.length > 0) {
    const own = (width - (drills.length - 1) * drillGapEms * pt) / drills.length
    height += between + label + Math.max(...drills.map((drill) => drillHeight(drill, own, pt, text)))
  }
  if (film.sentences.length > 0 || film.by !== null) height += between + label + sum(film.sentences.map((words) => text(words) + 0.4 * pt))
  const mind = [...safety, ...(page.hasNumbers ? ['x'.repeat(110)] : [])]
  if (mind.length > 0) height += between + 0.35 * pt + sum(mind.map((words) => text(words, width, 0.85)))
  return height
}

/** Of a printed picture, in sizes of the running text; and between drills that stand side by side. */
export const pictureEms = 15
export const drillGapEms = 1.6

function drillHeight(drill: PlanDrill, width: number, pt: number, text: (words: string, across: number, size?: number) => number): number {
  const pairs = [drill.feel, listWords(drill.needs), drill.film, drill.mistake].filter((words) => words !== '')
  return text(drill.title, width, 1.1) + text(drill.dose, width) + headingGap + text(drill.changes, width) + (drill.note === '' ? 0 : text(drill.note, width))
    + sum(drill.how.map((step) => text(step, width - 1.4 * pt))) + sum(pairs.map((words) => text(words, width - 4.6 * pt) + 1.8)) + 1.2 * pt
}

const sum = (numbers: readonly number[]): number => numbers.reduce((total, each) => total + each, 0)
