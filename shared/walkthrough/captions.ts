import { z } from 'zod'
import { toMs, toSamples } from './edits.ts'
import type { Programme } from './programme.ts'

/** Words that show under the picture of a lesson for a while, milliseconds of the lesson as it is now. */
export const captionSchema = z.object({ fromMs: z.number().min(0), toMs: z.number().min(0), text: z.string().min(1).max(1000) }).refine(({ fromMs, toMs: end }) => fromMs < end, { message: 'a caption must end after it begins', path: ['toMs'] })
export type Caption = Readonly<z.infer<typeof captionSchema>>

/** A caption as it is kept: fixed to what is said, an instant of a take or of a piece without one, so that edits carry it along. Samples. */
export const keptCaptionSchema = z.object({
  on: z.union([z.object({ takeId: z.string(), at: z.number().int().min(0) }), z.object({ pieceId: z.string(), at: z.number().int().min(0) })]),
  lasts: z.number().int().positive(),
  text: z.string(),
})
export type KeptCaption = Readonly<z.infer<typeof keptCaptionSchema>>

/** Fixes captions to what is said under them; those that begin after the end of the lesson are left out. */
export function keepCaptions(programme: Programme, captions: readonly Caption[]): KeptCaption[] {
  return captions.flatMap(({ fromMs, toMs: end, text }): KeptCaption[] => {
    const at = toSamples(fromMs)
    const placed = at < programme.length ? programme.pieceAt(fromMs) : null
    if (!placed) return []
    const into = Math.max(0, at - placed.at)
    const { piece } = placed
    const on = piece.kind === 'take' ? { takeId: piece.takeId, at: piece.from + into } : { pieceId: piece.id, at: into }
    return [{ on, lasts: Math.max(1, toSamples(end) - at), text }]
  })
}

/** Captions where they stand in the lesson now, in order; none overlaps the next. What is said under one that is left out was cut. */
export function placeCaptions(programme: Programme, kept: readonly KeptCaption[]): Caption[] {
  const placed = kept.flatMap(({ on, lasts, text }) => {
    const found = programme.pieces.find(({ piece, length }) => ('takeId' in on ? piece.kind === 'take' && piece.takeId === on.takeId && on.at >= piece.from && on.at < piece.to : piece.id === on.pieceId && on.at < length))
    if (!found) return []
    const from = found.at + on.at - ('takeId' in on && found.piece.kind === 'take' ? found.piece.from : 0)
    return [{ from, to: Math.min(from + lasts, programme.length), text }]
  }).sort((a, b) => a.from - b.from)
  return placed.flatMap(({ from, to, text }, i): Caption[] => {
    const end = Math.min(to, placed[i + 1]?.from ?? to)
    return end > from ? [{ fromMs: toMs(from), toMs: toMs(end), text }] : []
  })
}

const two = (n: number): string => String(n).padStart(2, '0')

/** `00:01:02.345`, as WebVTT writes times. */
export function vttTime(ms: number): string {
  const whole = Math.round(ms)
  return `${two(Math.floor(whole / 3_600_000))}:${two(Math.floor(whole / 60_000) % 60)}:${two(Math.floor(whole / 1000) % 60)}.${String(whole % 1000).padStart(3, '0')}`
}

/** Captions as a WebVTT file (W3C, WebVTT: The Web Video Text Tracks Format). */
export function toVtt(captions: readonly Caption[]): string {
  const escaped = (text: string): string => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll(/\n{2,}/g, '\n').trim()
  return `WEBVTT\n${captions.map(({ fromMs, toMs: end, text }) => `\n${vttTime(fromMs)} --> ${vttTime(end)}\n${escaped(text)}\n`).join('')}`
}
