import { apply, type Affine } from '../../shared/geometry/affine.ts'
import type { Rect, Size } from '../../shared/picture/layout.ts'

/** Narrower than this, what stands over a picture uses the pane's own width. CSS pixels. */
const narrowest = 72

/**
 * How far inside its place the visible part of a picture lies, in CSS pixels from each edge. A picture too narrow to write on,
 * or out of sight, counts as filling its place.
 * @param toHost the picture's pixels to those of what the place is measured in; it may turn and mirror
 */
export function pictureInset(place: Rect, toHost: Affine, image: Size): { readonly left: number; readonly right: number; readonly top: number } {
  const corners = ([[0, 0], [image.width, 0], [0, image.height], [image.width, image.height]] as const).map((corner) => apply(toHost, corner))
  const xs = corners.map(([x]) => x)
  const ys = corners.map(([, y]) => y)
  const left = Math.max(0, Math.min(...xs) - place.x)
  const right = Math.max(0, place.x + place.width - Math.max(...xs))
  const top = Math.max(0, Math.min(...ys) - place.y)
  return place.width - left - right < narrowest || top > place.height / 2 ? { left: 0, right: 0, top: 0 } : { left, right, top }
}

export const noInset = { left: 0, right: 0, top: 0 }

/** Puts what stands over a picture where the picture is. */
export function setInset(box: HTMLElement, { left, right, top }: ReturnType<typeof pictureInset>): void {
  for (const [name, value] of [['left', left], ['right', right], ['top', top]] as const) {
    const words = `${Math.round(value)}px`
    if (box.style.getPropertyValue(`--picture-${name}`) !== words) box.style.setProperty(`--picture-${name}`, words)
  }
}
