import type { PositionName } from '../contract/pointsFile.ts'
import type { ImagePoint } from '../geometry/vec.ts'
import type { Mark } from '../markup/mark.ts'
import { rounded } from '../markup/tools/tool.ts'
import type { TopFrame } from './bearingMarks.ts'
import type { SwingResult } from './measureSwing.ts'
import { isMissing, type Swing } from './reading.ts'
import { traced, traceIn, traceWords } from './planeTrace.ts'
import { measureOf } from './twoBearings.ts'

/** A clip and the ticks of its frames at one position of the way down. */
export interface DownFrame extends TopFrame {
  readonly at: PositionName
}

const kinds = ['trunk', 'band', 'trace'] as const
type Kind = (typeof kinds)[number]

/** The same at every drawing, so that a new one takes the place of the old. */
const planeId = (clipId: string, at: PositionName, kind: Kind): string => `${clipId}/shaft-plane/${at}/${kind}`
export const planeIds = (clipId: string): readonly string[] => traced.flatMap((at) => kinds.map((kind) => planeId(clipId, at, kind)))

const names: Readonly<Record<Kind, string>> = { trunk: 'Trunk', band: 'Error of the plane', trace: 'Shaft\u2019s plane on the trunk' }

/** What such a mark is called; null for any other mark's id. */
export function planeMarkName(id: string): string | null {
  const kind = kinds.find((one) => id.endsWith(`/${one}`))
  return kind && id.includes('/shaft-plane/') ? names[kind] : null
}

/** Marks that show where the plane of the shaft crosses the trunk on the way down: the trunk, the trace, and its error either way. */
export function planeMarks(swing: Swing, result: SwingResult, frames: readonly DownFrame[], order: number): Mark[] {
  const marks: Mark[] = []
  for (const { clip, at, from, to } of frames) {
    const view = swing.views.find(({ name }) => name === clip.view)
    const share = measureOf(result, 'shaft-plane-on-trunk', at)
    const plane = view && share && traceIn(swing, view, at, share, clip.handedness)
    if (!plane || isMissing(plane)) continue
    const mark = (kind: Kind, shape: Mark['shape'], points: readonly ImagePoint[], more: Partial<Mark> = {}): void => {
      marks.push({
        id: planeId(clip.id, at, kind), clipId: clip.id, shape, meaning: null, points: points.map(rounded), text: '', span: { from, to }, ink: 'club', weight: 5,
        dashed: false, hidden: false, order: order + marks.length, ...more,
      })
    }
    mark('trunk', 'segment', plane.trunk, { ink: 'body', weight: 3, dashed: true, text: traceWords(share) })
    mark('band', 'polyline', plane.band, { weight: 1.5 })
    mark('trace', 'segment', plane.trace)
  }
  return marks
}
