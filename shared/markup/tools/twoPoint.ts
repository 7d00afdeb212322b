import { distance2, type ImagePoint } from '../../geometry/vec.ts'
import { constrained } from './constrain.ts'
import { draftOf, givenUp, made, type Tool, type ToolContext, type ToolEffect, type ToolInput } from './tool.ts'

/** Line, segment, arrow, box, circle: drag from the first point to the second, or click each. */
export type TwoPointState =
  | { readonly kind: 'idle' }
  /** The button is down since the first point was set. */
  | { readonly kind: 'dragging'; readonly from: ImagePoint }
  /** The first point was clicked; the second follows the hand, with the button down or up. */
  | { readonly kind: 'placing'; readonly from: ImagePoint; readonly isDown: boolean }

const idle: TwoPointState = { kind: 'idle' }

export const twoPointTool: Tool<TwoPointState> = {
  idle,
  isBusy: (state) => state.kind !== 'idle',
  reduce(state, input, context) {
    if (input.type === 'key') return input.key === 'Enter' ? { state, effects: [] } : { state: idle, effects: state.kind === 'idle' ? [] : givenUp }
    if (input.type === 'words') return { state, effects: [] }
    if (state.kind === 'idle')
      return input.type === 'down' ? { state: { kind: 'dragging', from: input.at }, effects: shown(input.at, input.at, context) } : { state, effects: [] }
    const to = input.constrain ? constrained(context.blank.shape, state.from, input.at) : input.at
    if (input.type === 'move') return { state, effects: shown(state.from, to, context) }
    if (input.type === 'down') return { state: { kind: 'placing', from: state.from, isDown: true }, effects: shown(state.from, to, context) }
    return released(state, to, input, context)
  },
}

function released(state: Exclude<TwoPointState, { kind: 'idle' }>, to: ImagePoint, input: ToolInput, context: ToolContext) {
  // A mark as short as a tremor is a click that was meant: the first point stays and the second is waited for.
  const isLong = distance2(state.from, to) >= context.reach * 0.6
  if (isLong && (state.kind === 'dragging' || state.isDown)) return { state: idle, effects: made(draftOf(context.blank, [state.from, to])) }
  const next: TwoPointState = { kind: 'placing', from: state.from, isDown: false }
  return { state: next, effects: input.type === 'up' ? shown(state.from, to, context) : [] }
}

const shown = (from: ImagePoint, to: ImagePoint, { blank }: ToolContext): ToolEffect[] => [
  { type: 'draft', draft: draftOf(blank, [from, to]) },
  { type: 'fine', at: to },
]
