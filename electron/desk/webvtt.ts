import { createRequire } from 'node:module'
import { DeskError } from '../../shared/contract/errors.ts'
import type { Caption } from '../../shared/walkthrough/captions.ts'

interface Cue {
  readonly startTime: number
  readonly endTime: number
  readonly tree: Node
}
interface Node {
  readonly type: string
  readonly value?: string
  readonly children?: readonly Node[]
}
interface Parsed {
  readonly cues: readonly Cue[]
  readonly errors: readonly { readonly message: string; readonly line: number }[]
}
const { WebVTTParser } = createRequire(import.meta.url)('webvtt-parser') as { readonly WebVTTParser: new (entities: Readonly<Record<string, string>>) => { parse(text: string, mode: string): Parsed } }

/** With and without the semicolon that ends them. */
const entities = Object.fromEntries(Object.entries({ '&amp': '&', '&lt': '<', '&gt': '>', '&nbsp': '\u00A0', '&lrm': '\u200E', '&rlm': '\u200F' }).flatMap(([name, letter]) => [[name, letter], [`${name};`, letter]]))

/** The words of a cue without its markup. */
const wordsOf = (node: Node): string => (node.type === 'text' ? (node.value ?? '') : (node.children ?? []).map(wordsOf).join(''))

/** Reads a WebVTT file. Throws a DeskError that names the line where it cannot be read. */
export function readVtt(text: string, name: string): Caption[] {
  const { cues, errors } = new WebVTTParser(entities).parse(text, 'metadata')
  const [first] = errors
  const cannot = (line: number, why: string): DeskError =>
    new DeskError('bad-input', `${name}, line ${line}: ${why}`, { where: name, remedy: 'Set the line right and import the file again; nothing of it was taken over.' })
  if (first) throw cannot(first.line, first.message)
  const words = new WebVTTParser(entities).parse(text, 'subtitles').cues
  const captions = cues.flatMap(({ startTime, endTime }, i): Caption[] => {
    const said = words[i] ? wordsOf(words[i].tree).trim().slice(0, 1000) : ''
    return said === '' || endTime <= startTime ? [] : [{ fromMs: startTime * 1000, toMs: endTime * 1000, text: said }]
  })
  if (captions.length === 0) throw cannot(1, 'there is no caption in this file.')
  return captions
}
