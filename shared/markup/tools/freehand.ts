import { distance2, type ImagePoint } from '../../geometry/vec.ts'
import { shapes, type Mark } from '../mark.ts'
import { draftOf, givenUp, made, rounded, type Tool } from './tool.ts'

/** A path as the hand draws it, from the press to the release. */
export interface FreehandState {
  readonly points: readonly ImagePoint[]
}

const idle: FreehandState = { points: [] }

export const freehandTool: Tool<FreehandState> = {
  idle,
  isBusy: (state) => state.points.length > 0,
  reduce(state, input, context) {
    if (input.type === 'words' || (input.type === 'key' && input.key === 'Enter')) return { state, effects: [] }
    if (input.type === 'key') return { state: idle, effects: state.points.length > 0 ? givenUp : [] }
    if (state.points.length === 0) {
      if (input.type !== 'down') return { state, effects: [] }
      return { state: { points: [rounded(input.at)] }, effects: [{ type: 'draft', draft: draftOf(context.blank, [input.at]) }] }
    }
    const last = state.points.at(-1)!
    // Points closer than the eye can tell apart, and more than a mark holds, are left out.
    const isNew = distance2(last, input.at) >= context.reach * 0.15
    const at = rounded(input.at)
    const points = !isNew ? state.points : state.points.length < shapes.freehand.most ? [...state.points, at] : [...state.points.slice(0, -1), at]
    if (input.type !== 'up') return isNew ? { state: { points }, effects: [{ type: 'draft', draft: pathOf(context.blank, points) }] } : { state, effects: [] }
    if (points.length < shapes.freehand.least) return { state: idle, effects: givenUp }
    return { state: idle, effects: made(pathOf(context.blank, points)) }
  },
}

/** Points are rounded as they come: going over a long path again at each move would be felt. */
const pathOf = (blank: Mark, points: readonly ImagePoint[]): Mark => (points.length < shapes.freehand.least ? draftOf(blank, points) : { ...blank, points: points as ImagePoint[] })
