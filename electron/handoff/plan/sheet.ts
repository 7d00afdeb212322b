import { marginPt, paperColours, papers } from '../../../shared/plan/planStyle.ts'
import type { PlanPage } from '../../../shared/plan/page.ts'
import type { Flow, Span, Typesetter } from './typesetter.ts'

/** What a piece of the sheet is, for readers that do not see it; null for rules and grounds. */
export type Role = 'H1' | 'H2' | 'H3' | 'P' | 'LI' | 'Figure' | null

/** Something placed on the sheet: its place is fixed when it is made, and it is drawn later, or never. */
export interface Placed {
  readonly role: Role
  readonly alt?: string
  draw(): void
}

/**
 * One sheet that is filled from the top. Everything is placed first, so that a size can be tried without drawing; `y` is
 * where the next thing goes. Points.
 */
export class Sheet {
  readonly doc: PDFKit.PDFDocument
  readonly type: Typesetter
  readonly base: number
  readonly left = marginPt
  readonly width: number
  readonly bottom: number
  readonly placed: Placed[] = []
  y = marginPt

  constructor(doc: PDFKit.PDFDocument, type: Typesetter, paper: PlanPage['paper'], base: number) {
    const { width, height } = papers[paper]
    this.doc = doc
    this.type = type
    this.base = base
    this.width = width - 2 * marginPt
    this.bottom = height - marginPt
  }

  gap(ems: number): void {
    this.y += ems * this.base
  }

  /** Sets text and moves on below it. */
  text(role: Role, spans: readonly Span[], { size = 1, x = this.left, width = this.width, leading = 1.34 } = {}): Flow {
    const flow = this.type.flow(spans, size * this.base, width, leading)
    const { y } = this
    this.placed.push({ role, draw: () => this.type.write(flow, x, y) })
    this.y += flow.height
    return flow
  }

  plain(role: Role, text: string, more: { size?: number; x?: number; width?: number; leading?: number; weight?: '400' | '600'; colour?: string } = {}): Flow {
    const { weight = '400', colour = paperColours.ink, ...place } = more
    return this.text(role, [{ text, weight, colour }], place)
  }

  /** A small heading in the accent's colour. */
  label(text: string, x = this.left, width = this.width): void {
    this.plain('H2', text, { size: 0.88, weight: '600', colour: paperColours.accent, x, width })
    this.gap(0.15)
  }

  /** A numbered or marked line: the mark hangs before the text. */
  hanging(mark: string, text: readonly Span[], x: number, width: number, indent: number): void {
    const { y } = this
    const sign = this.type.flow([{ text: mark, colour: paperColours.quiet }], this.base, indent)
    const flow = this.type.flow(text, this.base, width - indent)
    this.placed.push({
      role: 'LI',
      draw: () => {
        this.type.write(sign, x, y)
        this.type.write(flow, x + indent, y)
      },
    })
    this.y += flow.height
  }

  rule(colour: string, thickness: number): void {
    const { y } = this
    this.placed.push({ role: null, draw: () => void this.doc.moveTo(this.left, y).lineTo(this.left + this.width, y).lineWidth(thickness).strokeColor(colour).stroke() })
    this.y += thickness
  }

  /** Lays a ground under what `fill` places, with a bar at its left. */
  ground(colour: string, bar: string, padding: number, fill: (x: number, width: number) => void): void {
    const top = this.y
    const at = this.placed.length
    const edge = 3
    this.y += padding
    fill(this.left + edge + padding * 1.3, this.width - edge - padding * 2.6)
    this.y += padding
    const height = this.y - top
    this.placed.splice(at, 0, {
      role: null,
      draw: () => {
        this.doc.rect(this.left, top, this.width, height).fill(colour)
        this.doc.rect(this.left, top, edge, height).fill(bar)
      },
    })
  }

  /** Fills columns beside one another, each from the same height, and goes on below the tallest. */
  columns<T>(things: readonly T[], count: number, between: number, fill: (thing: T, x: number, width: number) => void): void {
    const width = (this.width - (count - 1) * between) / count
    for (let at = 0; at < things.length; at += count) {
      if (at > 0) this.gap(0.8)
      const top = this.y
      let end = top
      for (const [i, thing] of things.slice(at, at + count).entries()) {
        this.y = top
        fill(thing, this.left + i * (width + between), width)
        end = Math.max(end, this.y)
      }
      this.y = end
    }
  }
}
