import type { ImagePoint } from '../../geometry/vec.ts'
import type { Mark } from '../mark.ts'
import { draftOf, givenUp, made, type Tool, type ToolContext } from './tool.ts'

/** Dot and text: one point, which moves until the button is let go; a text then asks for its words. */
export type OnePointState =
  | { readonly kind: 'idle' }
  | { readonly kind: 'placing' }
  | { readonly kind: 'writing'; readonly mark: Mark }

const idle: OnePointState = { kind: 'idle' }

export const onePointTool: Tool<OnePointState> = {
  idle,
  isBusy: (state) => state.kind !== 'idle',
  reduce(state, input, context) {
    if (input.type === 'key') {
      if (input.key !== 'Escape') return { state, effects: [] }
      return { state: idle, effects: state.kind === 'idle' ? [] : givenUp }
    }
    if (input.type === 'words') {
      if (state.kind !== 'writing') return { state, effects: [] }
      const mark = { ...state.mark, text: input.text.slice(0, 2000) }
      if (!input.isDone) return { state: { kind: 'writing', mark }, effects: [{ type: 'draft', draft: mark }] }
      return { state: idle, effects: mark.text.trim() === '' ? givenUp : made(mark) }
    }
    if (state.kind === 'writing') return { state, effects: [] }
    if (state.kind === 'idle' && input.type !== 'down') return { state, effects: [] }
    if (input.type !== 'up') return { state: { kind: 'placing' }, effects: [{ type: 'draft', draft: draftOf(context.blank, [input.at]) }, { type: 'fine', at: input.at }] }
    return placed(input.at, context)
  },
}

function placed(at: ImagePoint, { blank }: ToolContext) {
  const mark = draftOf(blank, [at])
  if (blank.shape !== 'text') return { state: idle, effects: made(mark) }
  return { state: { kind: 'writing', mark } as const, effects: [{ type: 'draft', draft: mark }, { type: 'fine', at: null }, { type: 'write', mark }] as const }
}
