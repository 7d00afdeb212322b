import type { Shape } from '../mark.ts'
import { freehandTool } from './freehand.ts'
import { onePointTool } from './onePoint.ts'
import { pointByPointTool } from './pointByPoint.ts'
import { selectTool } from './select.ts'
import type { Tool, ToolContext, ToolEffect, ToolInput } from './tool.ts'
import { twoPointTool } from './twoPoint.ts'

export * from './tool.ts'

const tools = {
  line: twoPointTool, segment: twoPointTool, arrow: twoPointTool, box: twoPointTool, circle: twoPointTool,
  dot: onePointTool, text: onePointTool,
  angle: pointByPointTool, polyline: pointByPointTool,
  freehand: freehandTool,
  // Drawn from measures, not by hand; as tools they work like their likes.
  fan: pointByPointTool, plan: twoPointTool, arms: pointByPointTool, figure: twoPointTool, misses: twoPointTool,
  select: selectTool,
} as const

export type ToolName = Shape | 'select'

/** A tool with its state, whatever that is. */
export interface ToolRun {
  readonly isBusy: boolean
  next(input: ToolInput, context: ToolContext): { readonly run: ToolRun; readonly effects: readonly ToolEffect[] }
}

/** The tool for a shape, or for choosing, at rest. */
export const toolRun = (name: ToolName): ToolRun => runOf(tools[name] as Tool<unknown>)

function runOf<S>(tool: Tool<S>, state: S = tool.idle): ToolRun {
  return {
    isBusy: tool.isBusy(state),
    next(input, context) {
      const step = tool.reduce(state, input, context)
      return { run: runOf(tool, step.state), effects: step.effects }
    },
  }
}
