import { matId, type GuideRecord, type MatRecord } from '../../../shared/contract/digitising.ts'
import { imagePoint, type ImagePoint } from '../../../shared/geometry/vec.ts'
import type { PaneId } from '../../../shared/walkthrough/stage.ts'
import type { Measuring } from './measuring.ts'
import type { Sides, Task } from './measuringState.ts'

/** Ends of guides and corners of mats: placed, taken hold of, and moved. */
type MatTask = Extract<Task, { kind: 'mat' }>

const isGuide = (record: unknown): record is GuideRecord | MatRecord => ['guide', 'mat'].includes((record as { kind?: string } | undefined)?.kind ?? '')

export const endsOf = (record: GuideRecord | MatRecord): readonly ImagePoint[] => (record.kind === 'mat' ? record.corners : record.ends)

export const matOf = (measuring: Measuring, clipId: string): MatRecord | null => {
  const record = measuring.table[matId(clipId)]
  return record?.kind === 'mat' ? record : null
}

/** The sides that the active clip's mat has, else the other's: as a rule it is one mat. */
export function sidesOf(measuring: Measuring): Sides {
  const { bench } = measuring
  const own = [bench.clip(bench.active), bench.clip(bench.active === 0 ? 1 : 0)].flatMap((clip) => (clip ? matOf(measuring, clip.id) ?? [] : []))[0]
  return own ? [own.lengthM, own.widthM] : [null, null]
}

export function matWords(measuring: Measuring, { corners, sides }: MatTask): string {
  const own = measuring.bench.clip(measuring.bench.active)
  if (corners.length === 0 && own && matOf(measuring, own.id)) return 'placed: drag a corner to move it, or begin again at any corner; Esc puts it away'
  if (corners.length === 4) return `now its size, under Scale, level, time: ${sides[0] === null ? 'first' : 'second'} side`
  return corners.length === 0 ? 'first corner, any of the four where the mat meets the ground' : `corner ${corners.length + 1} of 4, on around the mat`
}

/** One more corner; with the fourth, and both sides known, the mat is kept. */
export function placeCorner(measuring: Measuring, task: MatTask, clipId: string, point: ImagePoint): boolean {
  const before = task.clipId === clipId && task.corners.length < 4 ? task.corners : []
  return finish(measuring, { ...task, clipId, corners: [...before, point] })
}

/** The sides of the mat in the making, or of the one that is there. */
export function setSides(measuring: Measuring, clipId: string, sides: Sides): boolean {
  const { task } = measuring.state.getState()
  if (task?.kind === 'mat' && (task.corners.length > 0 || !matOf(measuring, clipId))) return finish(measuring, { ...task, sides })
  const own = matOf(measuring, clipId)
  if (!own || sides[0] === null || sides[1] === null || (own.lengthM === sides[0] && own.widthM === sides[1])) return false
  return measuring.change([{ ...own, lengthM: sides[0], widthM: sides[1], by: 'coach' }])
}

function finish(measuring: Measuring, task: MatTask): boolean {
  const { corners: [a, b, c, d], sides: [lengthM, widthM], clipId } = task
  measuring.state.setState({ task, refusal: null })
  if (!a || !b || !c || !d || lengthM === null || widthM === null || clipId === null) return true
  const id = matId(clipId)
  const isKept = measuring.change([{ kind: 'mat', id, clipId, corners: [a, b, c, d], lengthM, widthM, by: 'coach' }])
  measuring.state.setState({ task: { ...task, corners: [], clipId: null }, ...(isKept && { chosen: id, end: 3 }) })
  return isKept
}

/** The nearest end of a guide or corner of a mat on a pane's clip, within a reach in pixels of the picture. */
export function nearEnd(measuring: Measuring, pane: PaneId, at: ImagePoint, reach: number): { readonly id: string; readonly end: number; readonly at: ImagePoint } | null {
  const clip = measuring.bench.clip(pane)
  let best: { id: string; end: number; at: ImagePoint } | null = null
  let least = reach
  for (const record of Object.values(measuring.table)) {
    if (!isGuide(record) || record.clipId !== clip?.id) continue
    endsOf(record).forEach((point, end) => {
      const d = Math.hypot(point[0] - at[0], point[1] - at[1])
      if (d > least) return
      least = d
      best = { id: record.id, end, at: point }
    })
  }
  return best
}

const round = (value: number): number => Math.round(value * 100) / 100

/** Moves one end: the guide is then the coach's own. False where it may not lie there. */
export function moveEnd(measuring: Measuring, id: string, end: number, to: (from: ImagePoint) => ImagePoint): boolean {
  const record = measuring.table[id]
  if (!isGuide(record)) return false
  const ends = endsOf(record).map((point, i) => {
    if (i !== end) return point
    const [x, y] = to(point)
    return imagePoint(round(x), round(y))
  })
  return measuring.change([record.kind === 'mat' ? { ...record, corners: ends as unknown as MatRecord['corners'], by: 'coach' } : { ...record, ends: ends as unknown as GuideRecord['ends'], by: 'coach' }])
}
