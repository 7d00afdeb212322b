import type { Affine } from '../geometry/affine.ts'
import type { Pane, PaneId, Stage, StageClips } from '../walkthrough/stage.ts'

export interface Rect {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

export interface Size {
  readonly width: number
  readonly height: number
}

/** The gap between two panes, in thousandths of the short side. */
const gap = 6

/**
 * Where each pane stands in a picture of this size; null for one that is not shown. Twin panes stand side by side,
 * or one above the other where that shows more of the clips; sizes are whole and even, as video wants them.
 */
export function paneRects(size: Size, stage: Pick<Stage, 'layout' | 'active' | 'panes'>, clips: StageClips): readonly [Rect | null, Rect | null] {
  if (stage.layout === 'single') {
    const whole = evenRect(0, 0, size.width, size.height)
    return stage.active === 0 ? [whole, null] : [null, whole]
  }
  const between = Math.max(2, even((gap * Math.min(size.width, size.height)) / 1000))
  const half = even((size.width - between) / 2)
  const beside = [evenRect(0, 0, half, size.height), evenRect(size.width - half, 0, half, size.height)] as const
  const tall = even((size.height - between) / 2)
  const stacked = [evenRect(0, 0, size.width, tall), evenRect(0, size.height - tall, size.width, tall)] as const
  return coverage(stacked, stage, clips) > coverage(beside, stage, clips) * 1.1 ? stacked : beside
}

/** How many canvas pixels the fitted clips would fill. */
function coverage(rects: readonly [Rect, Rect], stage: Pick<Stage, 'panes'>, clips: StageClips): number {
  let sum = 0
  for (const id of [0, 1] as const) {
    const clip = clipOf(stage, id, clips) ?? { width: 9, height: 16 }
    const scale = fitScale(rects[id], clip)
    sum += clip.width * clip.height * scale * scale
  }
  return sum
}

export const clipOf = (stage: Pick<Stage, 'panes'>, pane: PaneId, clips: StageClips): StageClips[string] | null => {
  const { clipId } = stage.panes[pane]
  return clipId === null ? null : (clips[clipId] ?? null)
}

const fitScale = (rect: Rect, clip: Size): number => Math.min(rect.width / clip.width, rect.height / clip.height)

/**
 * Image space to canvas for one pane. Where the zoomed picture is larger than the pane it covers it (the centre is held
 * inside); where it is smaller it stands in the middle. Mirroring turns left and right about the pane's middle.
 */
export function paneTransform(rect: Rect, clip: Size, pane: Pick<Pane, 'zoom' | 'centre' | 'mirror'>): Affine {
  const scale = fitScale(rect, clip) * pane.zoom
  const [cx, cy] = pane.centre ?? [clip.width / 2, clip.height / 2]
  const x = hold(cx, clip.width, rect.width / scale)
  const y = hold(cy, clip.height, rect.height / scale)
  const sign = pane.mirror ? -1 : 1
  return {
    a: sign * scale,
    b: 0,
    c: 0,
    d: scale,
    e: rect.x + rect.width / 2 - sign * x * scale,
    f: rect.y + rect.height / 2 - y * scale,
  }
}

/** The centre nearest to the wanted one that leaves no bare edge while there is picture to show. */
const hold = (centre: number, length: number, seen: number): number =>
  seen >= length ? length / 2 : Math.min(Math.max(centre, seen / 2), length - seen / 2)

const even = (value: number): number => 2 * Math.floor(value / 2)
const evenRect = (x: number, y: number, width: number, height: number): Rect => ({ x: even(x), y: even(y), width: even(width), height: even(height) })
