import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import type PDFDocument from 'pdfkit'
import { planFontPath, planScripts, planWeights, type PlanScript, type PlanWeight } from './fontFiles.ts'

export interface Span {
  readonly text: string
  readonly weight?: PlanWeight
  readonly colour: string
}

interface Piece {
  readonly text: string
  readonly font: string
  readonly colour: string
  readonly x: number
  /** Whether a blank stands before it. */
  readonly apart: boolean
}
/** Text that has been broken into lines; sizes in points. */
export interface Flow {
  readonly lines: readonly (readonly Piece[])[]
  readonly size: number
  readonly leading: number
  readonly height: number
  /** Of the longest line. */
  readonly width: number
}

const fontName = (script: PlanScript, weight: PlanWeight): string => `${script} ${weight}`

/** The characters that each file of the typeface holds, as it says itself. */
function readRanges(): readonly (readonly [PlanScript, readonly (readonly [number, number])[]])[] {
  const listed = JSON.parse(readFileSync(createRequire(import.meta.url).resolve('@fontsource/inter/unicode.json'), 'utf8')) as Record<string, string>
  return planScripts.map((script) => [
    script,
    (listed[script] ?? '').split(',').flatMap((range) => {
      const match = /U\+([0-9A-F]+)(?:-([0-9A-F]+))?/i.exec(range)
      return match ? [[Number.parseInt(match[1]!, 16), Number.parseInt(match[2] ?? match[1]!, 16)] as const] : []
    }),
  ])
}

/** Breaks text into lines and writes them, each letter from the file of the typeface that has it; what none has becomes a question mark. */
export class Typesetter {
  readonly #doc: PDFKit.PDFDocument
  readonly #ranges = readRanges()
  readonly #scripts = new Map<number, PlanScript | null>()
  readonly #widths = new Map<string, number>()

  constructor(doc: InstanceType<typeof PDFDocument>) {
    this.#doc = doc
    for (const script of planScripts) for (const weight of planWeights) doc.registerFont(fontName(script, weight), planFontPath(script, weight, 'woff'))
  }

  #scriptOf(code: number): PlanScript | null {
    const known = this.#scripts.get(code)
    if (known !== undefined) return known
    const script = this.#ranges.find(([, ranges]) => ranges.some(([first, last]) => code >= first && code <= last))?.[0] ?? null
    this.#scripts.set(code, script)
    return script
  }

  /** A word cut where the file changes. */
  #runs(word: string, weight: PlanWeight): { text: string; font: string }[] {
    const runs: { text: string; font: string }[] = []
    for (const sign of word.normalize('NFC')) {
      const script = this.#scriptOf(sign.codePointAt(0)!)
      const font = fontName(script ?? 'latin', weight)
      const text = script === null ? '?' : sign
      const last = runs.at(-1)
      if (last?.font === font) last.text += text
      else runs.push({ text, font })
    }
    return runs
  }

  #width(text: string, font: string, size: number): number {
    const key = `${font} ${text}`
    let width = this.#widths.get(key)
    if (width === undefined) this.#widths.set(key, (width = this.#doc.font(font).fontSize(100).widthOfString(text)))
    return (width * size) / 100
  }

  /** Sets spans one after another into lines of a width. A word that is longer than a line is cut. */
  flow(spans: readonly Span[], size: number, width: number, leading = 1.34): Flow {
    const lines: Piece[][] = [[]]
    let x = 0
    let gap = 0
    for (const { text, weight = '400', colour } of spans) {
      const blank = this.#width(' ', fontName('latin', weight), size)
      for (const token of text.split(/(\s+)/)) {
        if (token === '') continue
        if (/^\s+$/.test(token)) {
          gap = x > 0 ? blank : 0
          continue
        }
        for (const part of this.#fitting(token, weight, size, width)) {
          const runs = this.#runs(part, weight).map((run) => ({ ...run, width: this.#width(run.text, run.font, size) }))
          const length = runs.reduce((sum, run) => sum + run.width, 0)
          if (x > 0 && x + gap + length > width + 0.01) {
            lines.push([])
            x = 0
            gap = 0
          }
          x += gap
          for (const [i, run] of runs.entries()) {
            lines.at(-1)!.push({ text: run.text, font: run.font, colour, x, apart: i === 0 && gap > 0 })
            x += run.width
          }
          gap = 0
        }
      }
    }
    const longest = Math.max(0, ...lines.map((line) => { const last = line.at(-1); return last ? last.x + this.#width(last.text, last.font, size) : 0 }))
    return { lines, size, leading: size * leading, height: lines.length * size * leading, width: longest }
  }

  /** A word as it is, or in pieces that each fit a line. */
  #fitting(word: string, weight: PlanWeight, size: number, width: number): string[] {
    const lengthOf = (text: string): number => this.#runs(text, weight).reduce((sum, run) => sum + this.#width(run.text, run.font, size), 0)
    if (lengthOf(word) <= width) return [word]
    const parts: string[] = []
    let part = ''
    for (const sign of word) {
      if (part !== '' && lengthOf(part + sign) > width) {
        parts.push(part)
        part = ''
      }
      part += sign
    }
    return [...parts, part]
  }

  /** Writes lines with the top of the first at y. Pieces of a line that stand together in one font are written as one, blanks and all. */
  write({ lines, size, leading }: Flow, x: number, y: number): void {
    for (const [i, line] of lines.entries()) {
      const baseline = y + i * leading + leading / 2 + size * 0.36
      for (const piece of joined(line)) this.#doc.font(piece.font).fontSize(size).fillColor(piece.colour).text(piece.text, x + piece.x, baseline, { lineBreak: false, baseline: 'alphabetic' })
      // A reader of the text must find the blank that the break stands for.
      const last = line.at(-1)
      if (last && i < lines.length - 1) this.#doc.text(' ', x + last.x + this.#width(last.text, last.font, size), baseline, { lineBreak: false, baseline: 'alphabetic' })
    }
  }
}

/** Neighbours of one font and colour as one piece; where they come from different words a blank stands between. */
function joined(line: readonly Piece[]): Piece[] {
  const out: Piece[] = []
  for (const piece of line) {
    const last = out.at(-1)
    if (last && last.font === piece.font && last.colour === piece.colour) out[out.length - 1] = { ...last, text: `${last.text}${piece.apart ? ' ' : ''}${piece.text}` }
    else out.push(piece)
  }
  return out
}
