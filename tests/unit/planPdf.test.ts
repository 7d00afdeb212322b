import { createCanvas } from '@napi-rs/canvas'
import { getDocument, OPS, type PDFDocumentProxy } from 'pdfjs-dist/legacy/build/pdf.mjs'
import { afterEach, describe, expect, test } from 'vitest'
import { newPlan } from '../../shared/contract/plan.ts'
import { planPage } from '../../shared/plan/page.ts'
import { planPdf } from '../../electron/handoff/plan/pdf.ts'
import { jpegOf, planParts } from '../fixtures/planParts.ts'

const open: PDFDocumentProxy[] = []
afterEach(async () => {
  for (const document of open.splice(0)) await document.loadingTask.destroy()
})
async function read(bytes: Buffer): Promise<PDFDocumentProxy> {
  const document = await getDocument({ data: new Uint8Array(bytes), useSystemFonts: false, verbosity: 0 }).promise
  open.push(document)
  return document
}
const wordsOf = async (document: PDFDocumentProxy): Promise<string> => {
  const { items } = await (await document.getPage(1)).getTextContent()
  return items.map((item) => ('str' in item ? item.str + (item.hasEOL ? ' ' : '') : '')).join('').replaceAll(/\s+/g, ' ')
}
const pictures = async () => ({ one: await jpegOf('#c04040'), two: await jpegOf('#40c040'), three: await jpegOf('#4040c0') })

describe('the printed plan', () => {
  test('is one sheet with every word and all three pictures, where they are seen when it is rendered', async () => {
    const page = planPage(planParts())
    const document = await read(await planPdf({ page, pictures: await pictures() }))
    expect(document.numPages).toBe(1)
    const sheet = await document.getPage(1)
    const words = await wordsOf(document)
    const said = [page.heading.name, ...page.heading.lines, 'Practice plan for Ines', '14 May 2026', page.cause!, page.because, ...page.follows.map(({ saw }) => saw), ...page.pictures.flatMap(({ saw, number }) => [saw, number!.words]), ...page.drills.flatMap((drill) => [drill.title, drill.dose, drill.changes, ...drill.how, drill.feel, drill.film, drill.mistake, drill.note]), ...page.film.sentences, ...page.safety, 'What to film next, by 28 May 2026']
    const spaceless = (text: string): string => text.replaceAll(/\s+/g, '')
    for (const text of said) expect(spaceless(words)).toContain(spaceless(text))
    const { fnArray } = await sheet.getOperatorList()
    expect(fnArray.filter((operation) => operation === OPS.paintImageXObject)).toHaveLength(3)

    const scale = 1.5
    const viewport = sheet.getViewport({ scale })
    expect([viewport.width / scale, viewport.height / scale].map(Math.round)).toEqual([595, 842])
    const canvas = createCanvas(Math.round(viewport.width), Math.round(viewport.height))
    await sheet.render({ canvas: canvas as never, canvasContext: canvas.getContext('2d') as never, viewport }).promise
    const { data, width } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height)
    // Each picture in a third of its own, left to right; nothing is written into the margins.
    const middle = (is: (r: number, g: number, b: number) => boolean): number => {
      let [sum, n] = [0, 0]
      for (let i = 0; i < data.length; i += 4) if (is(data[i]!, data[i + 1]!, data[i + 2]!)) { sum += (i / 4) % width; n++ }
      expect(n).toBeGreaterThan(8000)
      return sum / n / width
    }
    const places = [middle((r, g, b) => r > 150 && g < 100 && b < 100), middle((r, g, b) => g > 150 && r < 100 && b < 100), middle((r, g, b) => b > 150 && r < 100 && g < 100)]
    expect(places[0]).toBeLessThan(0.36)
    expect(places[1]).toBeGreaterThan(0.36)
    expect(places[2]).toBeGreaterThan(places[1]! + 0.2)
    for (let i = 0; i < data.length; i += 4) {
      const [x, y] = [(i / 4) % width, Math.floor(i / 4 / width)]
      if (x < 50 || x > width - 50 || y < 50 || y > canvas.height - 50) expect(data[i]! + data[i + 1]! + data[i + 2]!).toBeGreaterThan(740)
    }
  })

  test('is tagged, in a language, named by its plan, and tells nothing of the machine; the same plan is the same file', async () => {
    const parts = { page: planPage(planParts()), pictures: await pictures() }
    const bytes = await planPdf(parts)
    expect((await planPdf(parts)).equals(bytes)).toBe(true)
    const document = await read(bytes)
    const { info } = (await document.getMetadata()) as { info: Record<string, unknown> }
    expect(info).toMatchObject({ Title: 'Practice plan for Ines', Producer: 'Crossbearing', Creator: 'Crossbearing', Language: 'en-GB' })
    expect(String(info.CreationDate)).toMatch(/^D:20260514120000/)
    expect(((await document.getMarkInfo()) as unknown as ReadonlyMap<string, boolean>).get('Marked')).toBe(true)
    const tree = JSON.stringify(await (await document.getPage(1)).getStructTree())
    for (const role of ['H1', 'H2', 'H3', 'P', 'LI', 'Figure']) expect(tree).toContain(`"role":"${role}"`)
    expect(tree).toContain('The swing at the top: The trail elbow points behind you')
    expect(bytes.toString('latin1')).not.toMatch(/Falk|\/home|node_modules/)
  })

  test('on letter paper, without numbers, pictures, drills or heading, in another script', async () => {
    const page = planPage(planParts({ settings: { name: '', lines: [], paper: 'letter' }, findings: [], prescriptions: [], student: { name: 'Ольга' }, plan: { ...newPlan('w'), cause: 'Локоть \u{1F3CC} первый: Ελλάδα' } }))
    const document = await read(await planPdf({ page, pictures: {} }))
    const { width, height } = (await document.getPage(1)).getViewport({ scale: 1 })
    expect([width, height]).toEqual([612, 792])
    const words = await wordsOf(document)
    expect(words).toContain('Practice plan for Ольга')
    // A letter that the typeface has not is said to be one.
    expect(words).toMatch(/Локоть \? первый: Ελλάδα/)
    expect(words).not.toContain('\u00b1')
  })

  test('a word without an end is cut, and what does not fit one sheet is refused with what to do', async () => {
    const endless = planPage(planParts({ plan: { ...newPlan('w'), cause: 'x'.repeat(300) } }))
    expect((await read(await planPdf({ page: endless, pictures: {} }))).numPages).toBe(1)
    const { drills, ...rest } = planPage(planParts())
    const long = { ...rest, drills: drills.map((drill) => ({ ...drill, how: Array.from({ length: 8 }, () => drill.changes + drill.changes) })) }
    await expect(planPdf({ page: long, pictures: {} })).rejects.toMatchObject({ fault: { kind: 'bad-input', remedy: 'Prescribe fewer drills, or shorten the words.' } })
  })
})
