import { distance2, type ImagePoint } from '../../geometry/vec.ts'
import type { Mark } from '../mark.ts'
import { handlesOf, movedBy, withHandle } from './handles.ts'
import { markAt } from './hit.ts'
import { givenUp, type Tool, type ToolContext, type ToolStep } from './tool.ts'

/** Choosing marks, and dragging them whole or by a handle. What is dragged shows as a draft until it is let go. */
export type SelectState =
  | { readonly kind: 'idle' }
  | {
    readonly kind: 'dragging'
    /** The mark as it was. */
    readonly mark: Mark
    readonly handle: number | null
    readonly from: ImagePoint
    /** Null until the hand has moved far enough to mean it. */
    readonly moved: Mark | null
  }

const idle: SelectState = { kind: 'idle' }

export const selectTool: Tool<SelectState> = {
  idle,
  isBusy: (state) => state.kind !== 'idle',
  reduce(state, input, context) {
    if (input.type === 'words') return { state, effects: [] }
    if (input.type === 'key') return input.key === 'Escape' && state.kind !== 'idle' ? { state: idle, effects: givenUp } : { state, effects: [] }
    if (input.type === 'down') {
      const step = pressed(input.at, context)
      // A second press without a release (another finger) gives up the drag that was under way.
      return state.kind === 'idle' ? step : { state: step.state, effects: [...givenUp, ...step.effects] }
    }
    if (state.kind === 'idle') return { state, effects: [] }
    const { mark, handle, from } = state
    if (!state.moved && distance2(from, input.at) < context.reach * 0.35)
      return input.type === 'up' ? { state: idle, effects: givenUp } : { state, effects: [] }
    const moved = handle === null
      ? movedBy(mark, input.at[0] - from[0], input.at[1] - from[1])
      : withHandle(mark, handle, input.at, input.constrain)
    if (input.type === 'up') return { state: idle, effects: [...givenUp, { type: 'put', mark: moved }] }
    return {
      state: { ...state, moved },
      effects: [{ type: 'draft', draft: moved }, { type: 'fine', at: handle === null ? null : input.at }],
    }
  },
}

function pressed(at: ImagePoint, context: ToolContext): ToolStep<SelectState> {
  const { marks, selected, reach } = context
  const chosen = marks.find((mark) => mark.id === selected)
  const handle = chosen ? nearest(handlesOf(chosen), at, reach) : null
  if (chosen && handle !== null) return { state: { kind: 'dragging', mark: chosen, handle, from: at, moved: null }, effects: [] }
  const mark = markAt(marks, at, context)
  if (!mark) return { state: idle, effects: selected === null ? [] : [{ type: 'select', id: null }] }
  return { state: { kind: 'dragging', mark, handle: null, from: at, moved: null }, effects: [{ type: 'select', id: mark.id }] }
}

function nearest(points: readonly ImagePoint[], at: ImagePoint, reach: number): number | null {
  let found: number | null = null
  let least = reach
  points.forEach((point, i) => {
    const distance = distance2(point, at)
    if (distance > least) return
    least = distance
    found = i
  })
  return found
}
