import PDFDocument from 'pdfkit'
import { DeskError } from '../../../shared/contract/errors.ts'
import { errorNote } from '../../../shared/plan/html.ts'
import { paperColours, papers } from '../../../shared/plan/planStyle.ts'
import type { PlanDrill, PlanPage, PlanPicture } from '../../../shared/plan/page.ts'
import { listWords } from '../../../shared/plan/safety.ts'
import { longDay } from '../../../shared/plan/words.ts'
import { Sheet } from './sheet.ts'
import { Typesetter, type Span } from './typesetter.ts'

export interface PdfParts {
  readonly page: PlanPage
  /** JPEGs by the finding they show; one that could not be made is left out. */
  readonly pictures: Readonly<Record<string, Buffer>>
}

/** Sizes of the running text that are tried, points, the largest first; the last is the least that a student can be asked to read. */
export const textSizes = [10.5, 10.25, 10, 9.75, 9.5, 9.25, 9, 8.75, 8.5, 8.25, 8, 7.75, 7.5] as const

const { ink, quiet, accent, ground, line } = paperColours
/** Heights of a picture that are tried, in sizes of the running text: pictures grow small before words do. */
const pictureEms = [17, 14.5, 12] as const

/** The plan on one sheet as the bytes of a PDF. Throws a DeskError where it does not fit even in the smallest text. */
export async function planPdf({ page, pictures }: PdfParts): Promise<Buffer> {
  const { width, height } = papers[page.paper]
  const title = page.student === null ? page.title : `${page.title} for ${page.student}`
  const doc = new PDFDocument({
    size: [width, height],
    margin: 0,
    autoFirstPage: true,
    tagged: true,
    pdfVersion: '1.7',
    lang: 'en-GB',
    displayTitle: true,
    // Nothing of the machine or the clock: the day that stands on the page.
    info: { Title: title, Producer: 'Crossbearing', Creator: 'Crossbearing', CreationDate: new Date(`${page.made}T12:00:00Z`) },
  })
  const pieces: Buffer[] = []
  const done = new Promise<Buffer>((resolve, reject) => {
    doc.on('data', (piece: Buffer) => pieces.push(piece))
    doc.on('end', () => resolve(Buffer.concat(pieces)))
    doc.on('error', reject)
  })
  const sheet = fittingSheet(doc, new Typesetter(doc), page, pictures)
  const root = doc.struct('Document')
  doc.addStructure(root)
  for (const { role, alt, draw } of sheet.placed) {
    if (role === null) {
      doc.markContent('Artifact', { type: 'Layout' })
      draw()
      doc.endMarkedContent()
    } else root.add(doc.struct(role, alt === undefined ? {} : { alt }, draw))
  }
  root.end()
  doc.end()
  return done
}

/** The sheet in the largest text that fits. */
function fittingSheet(doc: PDFKit.PDFDocument, type: Typesetter, page: PlanPage, pictures: PdfParts['pictures']): Sheet {
  for (const base of textSizes)
    for (const ems of page.pictures.length === 0 ? [0] : pictureEms) {
      const sheet = new Sheet(doc, type, page.paper, base)
      fill(sheet, page, pictures, ems * base)
      const spare = sheet.bottom - sheet.y
      if (spare < 0) continue
      if (ems === 0 || spare < base) return sheet
      // Room that is left goes to the pictures.
      const roomy = new Sheet(doc, type, page.paper, base)
      fill(roomy, page, pictures, Math.min(ems * base + spare - 1, 230))
      return roomy.y <= roomy.bottom ? roomy : sheet
    }
  throw new DeskError('bad-input', 'This plan does not fit on one sheet.', { remedy: 'Prescribe fewer drills, or shorten the words.' })
}

function fill(sheet: Sheet, page: PlanPage, pictures: PdfParts['pictures'], pictureHeight: number): void {
  heading(sheet, page)
  cause(sheet, page)
  const shown = page.pictures.filter(({ findingId }) => pictures[findingId] !== undefined)
  if (shown.length > 0) {
    sheet.gap(0.9)
    sheet.columns(shown, 3, sheet.base * 1.2, (picture, x, width) => figure(sheet, picture, pictures[picture.findingId]!, x, width, pictureHeight))
  }
  if (page.drills.length > 0) {
    sheet.gap(0.9)
    sheet.label(page.drills.length === 1 ? 'Your drill' : 'Your drills')
    sheet.columns(page.drills, Math.min(page.drills.length, 3), sheet.base * 1.6, (drill, x, width) => drillText(sheet, drill, x, width))
  }
  film(sheet, page)
  mind(sheet, page)
}

function heading(sheet: Sheet, page: PlanPage): void {
  const { name, lines } = page.heading
  if (name !== '' || lines.length > 0) {
    const top = sheet.y
    if (name !== '') sheet.plain('P', name, { size: 1.35, weight: '600', width: sheet.width * 0.6 })
    const left = sheet.y
    sheet.y = top
    for (const text of lines) {
      const flow = sheet.type.flow([{ text, colour: quiet }], 0.88 * sheet.base, sheet.width * 0.38)
      const { y } = sheet
      sheet.placed.push({ role: 'P', draw: () => sheet.type.write(flow, sheet.left + sheet.width - flow.width, y) })
      sheet.y += flow.height
    }
    sheet.y = Math.max(left, sheet.y)
    sheet.gap(0.35)
    sheet.rule(ink, 1.2)
    sheet.gap(0.45)
  }
  const day = sheet.type.flow([{ text: longDay(page.made), colour: quiet }], sheet.base, sheet.width * 0.35)
  const { y } = sheet
  sheet.plain('H1', page.student === null ? page.title : `${page.title} for ${page.student}`, { weight: '600', width: sheet.width * 0.62 })
  sheet.placed.push({ role: 'P', draw: () => sheet.type.write(day, sheet.left + sheet.width - day.width, y) })
  sheet.gap(0.6)
}

function cause(sheet: Sheet, { cause: words, because, follows }: PlanPage): void {
  if (words === null && because === '' && follows.length === 0) return
  sheet.ground(ground, accent, sheet.base * 0.75, (x, width) => {
    if (words !== null) {
      sheet.label('The one thing to change', x, width)
      sheet.plain('P', words, { size: 1.5, leading: 1.25, weight: '600', x, width })
    }
    if (because !== '') {
      sheet.gap(0.3)
      sheet.plain('P', because, { x, width })
    }
    if (follows.length === 0) return
    sheet.gap(0.5)
    sheet.label('What follows from it', x, width)
    const indent = sheet.base * 1.1
    for (const { saw, number, where } of follows) {
      const { y } = sheet
      const aside = number ? ` (${[number.title.toLowerCase(), where].filter(Boolean).join(' ')}: ${number.words})` : ''
      sheet.text('LI', [{ text: saw, colour: ink }, { text: aside, colour: quiet }], { x: x + indent, width: width - indent })
      const { base } = sheet
      sheet.placed.push({ role: null, draw: () => void sheet.doc.moveTo(x + base * 0.2, y + base * 0.25).lineTo(x + base * 0.2, y + base * 0.78).lineTo(x + base * 0.75, y + base * 0.78).lineWidth(0.8).strokeColor(quiet).stroke() })
    }
  })
}

function figure(sheet: Sheet, picture: PlanPicture, jpeg: Buffer, x: number, width: number, height: number): void {
  const { y } = sheet
  const shape = picture.size.height / picture.size.width
  const tall = Math.min(height, width * shape)
  // One whose other view has left the library is of another shape than the plan says.
  sheet.placed.push({ role: 'Figure', alt: picture.alt, draw: () => void sheet.doc.image(jpeg, x, y, { fit: [tall / shape, tall] }) })
  sheet.y += tall
  sheet.gap(0.3)
  const spans: Span[] = [...(picture.isCause ? [{ text: 'The cause.', weight: '600' as const, colour: accent }] : []), { text: ` ${picture.saw}`, colour: ink }]
  sheet.text('P', spans, { size: 0.94, x, width })
  if (picture.number) {
    sheet.plain('P', picture.number.words, { size: 0.94, weight: '600', x, width })
    sheet.plain('P', [picture.number.title, picture.where].filter(Boolean).join(', '), { size: 0.94, colour: quiet, x, width })
  } else if (picture.where !== '') sheet.plain('P', picture.where, { size: 0.94, colour: quiet, x, width })
}

function drillText(sheet: Sheet, drill: PlanDrill, x: number, width: number): void {
  sheet.plain('H3', drill.title, { size: 1.12, weight: '600', x, width })
  sheet.plain('P', drill.dose, { weight: '600', colour: accent, x, width })
  sheet.plain('P', drill.changes, { x, width })
  if (drill.note !== '') sheet.plain('P', drill.note, { weight: '600', x, width })
  sheet.gap(0.2)
  for (const [i, step] of drill.how.entries()) sheet.hanging(`${i + 1}.`, [{ text: step, colour: ink }], x, width, sheet.base * 1.3)
  sheet.gap(0.2)
  const pairs = [['Feel', drill.feel], ['Needs', listWords(drill.needs)], ['Film it', drill.film], ['Mind', drill.mistake]] as const
  for (const [name, text] of pairs) if (text !== '') sheet.text('P', [{ text: `${name}: `, colour: quiet }, { text, colour: ink }], { x, width })
}

function film(sheet: Sheet, { film: { sentences, by } }: PlanPage): void {
  if (sentences.length === 0 && by === null) return
  sheet.gap(0.9)
  sheet.label(by === null ? 'What to film next' : `What to film next, by ${by}`)
  for (const words of sentences) sheet.plain('P', words)
}

function mind(sheet: Sheet, { safety, hasNumbers }: PlanPage): void {
  const lines = [...safety, ...(hasNumbers ? [errorNote] : [])]
  if (lines.length === 0) return
  sheet.gap(0.7)
  sheet.rule(line, 0.6)
  sheet.gap(0.35)
  sheet.plain('P', lines.join(' '), { size: 0.85, colour: quiet })
}

