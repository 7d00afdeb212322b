/** A PDF read and looked at as a reader shows it. */
import { createCanvas } from '@napi-rs/canvas'
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs'

export interface PrintedPage {
  readonly pages: number
  /** Of the first page, blanks as one. */
  readonly words: string
  /** Of the first page as drawn, 0 to 1: how much of it is not white, and how much is neither white nor grey. */
  readonly inked: number
  readonly coloured: number
}

/** Throws where the file is no PDF. Draws at 72 dots an inch. */
export async function readPdf(bytes: Uint8Array): Promise<PrintedPage> {
  const document = await getDocument({ data: new Uint8Array(bytes), verbosity: 0 }).promise
  try {
    const page = await document.getPage(1)
    const { items } = await page.getTextContent()
    const viewport = page.getViewport({ scale: 1 })
    const canvas = createCanvas(Math.round(viewport.width), Math.round(viewport.height))
    const context = canvas.getContext('2d')
    await page.render({ canvas: canvas as never, canvasContext: context as never, viewport }).promise
    const { data } = context.getImageData(0, 0, canvas.width, canvas.height)
    let [inked, coloured] = [0, 0]
    for (let i = 0; i < data.length; i += 4) {
      const [red, green, blue] = [data[i]!, data[i + 1]!, data[i + 2]!]
      if (Math.min(red, green, blue) < 245) inked++
      if (Math.max(red, green, blue) - Math.min(red, green, blue) > 40) coloured++
    }
    const all = data.length / 4
    return { pages: document.numPages, words: items.map((item) => ('str' in item ? item.str : '')).join(' ').replaceAll(/\s+/g, ' '), inked: inked / all, coloured: coloured / all }
  } finally {
    await document.loadingTask.destroy()
  }
}
