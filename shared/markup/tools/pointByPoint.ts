import { distance2, type ImagePoint } from '../../geometry/vec.ts'
import { shapes } from '../mark.ts'
import { constrained } from './constrain.ts'
import { draftOf, givenUp, made, type Tool, type ToolContext, type ToolEffect, type ToolStep } from './tool.ts'

/** Angle and polyline: a press for each point; the point in hand moves until the button is let go. */
export interface PointByPointState {
  readonly fixed: readonly ImagePoint[]
  /** Where the next point would come to lie; null before the first press. */
  readonly hand: ImagePoint | null
  readonly isDown: boolean
}

const idle: PointByPointState = { fixed: [], hand: null, isDown: false }

export const pointByPointTool: Tool<PointByPointState> = {
  idle,
  isBusy: (state) => state.hand !== null,
  reduce(state, input, context) {
    if (input.type === 'words') return { state, effects: [] }
    if (input.type === 'key') return keyed(state, input.key, context)
    if (state.hand === null && input.type !== 'down') return { state, effects: [] }
    const last = state.fixed.at(-1)
    const at = input.constrain && last ? constrained(context.blank.shape, last, input.at) : input.at
    if (input.type === 'move') return follow({ ...state, hand: at }, context)
    if (input.type === 'down') {
      // A second press on the last point ends a polyline, as a double click does.
      if (last && distance2(last, at) < context.reach * 0.6) return ended(state, context)
      return follow({ ...state, hand: at, isDown: true }, context)
    }
    if (!state.isDown) return { state, effects: [] }
    return fixed(state, at, context)
  },
}

/** The point in hand is fixed where the button was let go, so that each can be placed finely. */
function fixed(state: PointByPointState, at: ImagePoint, context: ToolContext): ToolStep<PointByPointState> {
  const { most } = shapes[context.blank.shape]
  const points = [...state.fixed, at]
  if (points.length >= most) return { state: idle, effects: made(draftOf(context.blank, points)) }
  return follow({ fixed: points, hand: at, isDown: false }, context)
}

function keyed(state: PointByPointState, key: 'Escape' | 'Enter' | 'Backspace', context: ToolContext): ToolStep<PointByPointState> {
  if (state.hand === null) return { state, effects: [] }
  if (key === 'Enter') return ended(state, context)
  if (key === 'Backspace' && state.fixed.length > 1) return follow({ ...state, fixed: state.fixed.slice(0, -1), isDown: false }, context)
  return { state: idle, effects: givenUp }
}

/** Finishes with the points that are fixed, where they are enough. */
function ended(state: PointByPointState, context: ToolContext): ToolStep<PointByPointState> {
  if (state.fixed.length < shapes[context.blank.shape].least) return { state, effects: [] }
  return { state: idle, effects: made(draftOf(context.blank, state.fixed)) }
}

function follow(state: PointByPointState, { blank }: ToolContext): ToolStep<PointByPointState> {
  const effects: ToolEffect[] = [
    { type: 'draft', draft: draftOf(blank, [...state.fixed, ...(state.hand ? [state.hand] : [])]) },
    { type: 'fine', at: state.hand },
  ]
  return { state, effects }
}
