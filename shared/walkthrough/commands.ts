import { apply, invert, scaleOf } from '../geometry/affine.ts'
import { imagePoint, type ImagePoint, type Vec2 } from '../geometry/vec.ts'
import { paneTransform, type Rect, type Size } from '../picture/layout.ts'
import type { StageEvent } from './events.ts'
import { frameAt, realSeconds, ticksPerRealSecond, type ClipTime, type Loop } from './motion.ts'
import type { Pane, PaneId, Stage } from './stage.ts'

/**
 * What the coach does to the look of the panes, as events of the stage. (What moves the playheads has state of its own,
 * such as the rate: that is the player's transport.) Each is pure; an empty list says that there is nothing to do.
 */

export const mostZoom = 40

export const otherOf = (pane: PaneId): PaneId => (pane === 0 ? 1 : 0)

/** Makes a pane the one that commands go to. */
export const activate = (stage: Stage, pane: PaneId): StageEvent[] =>
  stage.active === pane ? [] : [{ type: 'layout', layout: stage.layout, active: pane }]

/** Both panes, or the active one alone. */
export const toggleLayout = (stage: Stage): StageEvent[] =>
  [{ type: 'layout', layout: stage.layout === 'twin' ? 'single' : 'twin', active: stage.active }]

export const toggleMirror = (stage: Stage, pane: PaneId): StageEvent[] =>
  [{ type: 'pane', pane, patch: { mirror: !stage.panes[pane].mirror } }]

/** The whole picture in the pane again. */
export function fit(stage: Stage, pane: PaneId): StageEvent[] {
  const { zoom, centre } = stage.panes[pane]
  return zoom === 1 && centre === null ? [] : [{ type: 'pane', pane, patch: { zoom: 1, centre: null } }]
}

/** A pane on the canvas: its rectangle and its picture's size. */
export interface PaneOnCanvas {
  readonly rect: Rect
  readonly image: Size
}

/** Zooms by a factor with the point of the picture under `at` (a canvas point) staying under it, as far as edges let it. */
export function zoomAbout(stage: Stage, pane: PaneId, { rect, image }: PaneOnCanvas, factor: number, at: Vec2): StageEvent[] {
  const state = stage.panes[pane]
  const zoom = Math.min(Math.max(state.zoom * factor, 1), mostZoom)
  if (zoom === state.zoom) return []
  if (zoom === 1) return fit(stage, pane)
  const before = paneTransform(rect, image, state)
  const point = apply(invert(before)!, at)
  const scale = (scaleOf(before) * zoom) / state.zoom
  const sign = state.mirror ? -1 : 1
  const centre = imagePoint(point[0] - (sign * (at[0] - rect.x - rect.width / 2)) / scale, point[1] - (at[1] - rect.y - rect.height / 2) / scale)
  return [patched(pane, rect, image, { ...state, zoom, centre })]
}

/** Moves the picture by canvas pixels, as far as its edges let it. */
export function panBy(stage: Stage, pane: PaneId, { rect, image }: PaneOnCanvas, dx: number, dy: number): StageEvent[] {
  const state = stage.panes[pane]
  const map = paneTransform(rect, image, state)
  const [x, y] = middleOf(rect, image, state)
  const event = patched(pane, rect, image, { ...state, centre: imagePoint(x - dx / map.a, y - dy / map.d) })
  const { centre } = event.patch
  return Math.hypot(centre[0] - x, centre[1] - y) * map.d < 0.01 ? [] : [event]
}

/** Keeps the centre that is really shown, so that the next move sets out from there and not from beyond an edge. */
function patched(pane: PaneId, rect: Rect, image: Size, wanted: Pane): StageEvent & { type: 'pane'; patch: { zoom: number; centre: ImagePoint } } {
  return { type: 'pane', pane, patch: { zoom: wanted.zoom, centre: middleOf(rect, image, wanted) } }
}

function middleOf(rect: Rect, image: Size, state: Pane): ImagePoint {
  const [x, y] = apply(invert(paneTransform(rect, image, state))!, [rect.x + rect.width / 2, rect.y + rect.height / 2])
  return imagePoint(Math.round(x * 100) / 100, Math.round(y * 100) / 100)
}

/** Seconds by which the right clip's own time (from its first frame) lags the left one's where they stand together: right + lag = left. */
export function lagOf(stage: Stage, left: ClipTime, right: ClipTime): number {
  if (!stage.tie) return 0
  return realSeconds(left, left.frames.ticks[0]!, stage.tie.left) - realSeconds(right, right.frames.ticks[0]!, stage.tie.right)
}

/**
 * Ties so that the right clip lags by so many seconds of the world. The kept pane's tied instant stays (its playhead becomes
 * it where there was none), and the other's moves.
 */
export function tieWithLag(stage: Stage, left: ClipTime, right: ClipTime, lag: number, keep: PaneId = 0): StageEvent[] {
  const [leftFirst, rightFirst] = [left.frames.ticks[0]!, right.frames.ticks[0]!]
  if (keep === 0) {
    const at = stage.tie?.left ?? stage.panes[0].tick
    return [{ type: 'tie', tie: { left: at, right: rightFirst + (realSeconds(left, leftFirst, at) - lag) * ticksPerRealSecond(right) } }]
  }
  const at = stage.tie?.right ?? stage.panes[1].tick
  return [{ type: 'tie', tie: { left: leftFirst + (realSeconds(right, rightFirst, at) + lag) * ticksPerRealSecond(left), right: at } }]
}

/**
 * Moves a tied pane by whole frames against the other, which stays: its tied instant shifts by as much as its playhead, so
 * that what is shown now is shown together from now on. Nothing where the clip ends.
 */
export function nudgeTied(stage: Stage, { frames }: Pick<ClipTime, 'frames'>, pane: PaneId, by: number): StageEvent[] {
  const { tie, panes } = stage
  if (!tie) return []
  const from = frameAt(frames, panes[pane].tick)
  const to = from + by
  if (by === 0 || to < 0 || to >= frames.ticks.length) return []
  const shift = frames.ticks[to]! - frames.ticks[from]!
  return [
    { type: 'tie', tie: pane === 0 ? { ...tie, left: tie.left + shift } : { ...tie, right: tie.right + shift } },
    { type: 'seek', ticks: pane === 0 ? [frames.ticks[to]!, panes[1].tick] : [panes[0].tick, frames.ticks[to]!] },
  ]
}

/** A loop from frame `first` to frame `last`, both shown whole, in ticks; null where they are in the wrong order. */
export function loopOf({ frames }: Pick<ClipTime, 'frames'>, first: number, last: number): Loop | null {
  if (last < first) return null
  return { from: frames.ticks[first]!, to: frames.ticks[last + 1] ?? frames.endTick }
}
