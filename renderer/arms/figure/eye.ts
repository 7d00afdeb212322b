import { add3, cross3, dot3, scale3, sub3, type Vec2, type Vec3 } from '../../../shared/geometry/vec.ts'

/** Whence the figure is looked at: angles in radians round a point, in world axes (X toward the target, Y up, Z toward the ball). */
export interface Eye {
  /** 0 from the ball's side (face-on), pi/2 from behind the ball (down the line). */
  readonly turn: number
  /** 0 level, pi/2 from above. */
  readonly rise: number
  /** Metres from the middle. */
  readonly distance: number
  readonly middle: Vec3
}

export type FixedView = 'face-on' | 'down-the-line' | 'above'

/** From above the target lies up the screen, as on a plan. */
export const fixedViews: Readonly<Record<FixedView, { readonly turn: number; readonly rise: number }>> = {
  'face-on': { turn: 0, rise: 0.06 },
  'down-the-line': { turn: Math.PI / 2, rise: 0.06 },
  above: { turn: Math.PI / 2, rise: Math.PI / 2 },
}
/** The fixed view that the eye stands in; null from aside. */
export const viewOf = ({ turn, rise }: Pick<Eye, 'turn' | 'rise'>): FixedView | null =>
  (Object.keys(fixedViews) as FixedView[]).find((view) => Math.abs(fixedViews[view].turn - turn) < 1e-6 && Math.abs(fixedViews[view].rise - rise) < 1e-6) ?? null
export const fixedViewWords: Readonly<Record<FixedView, string>> = { 'face-on': 'face-on', 'down-the-line': 'down the line', above: 'from above' }

/** Half the height of the field of view, radians: a long lens, so that near and far arms are of a size. */
export const halfField = 0.17

/** Right, up and away of the picture, in world axes. */
export interface EyeAxes {
  readonly place: Vec3
  readonly right: Vec3
  readonly up: Vec3
  readonly away: Vec3
}

export function eyeAxes({ turn, rise, distance, middle }: Eye): EyeAxes {
  const [ct, st, cr, sr] = [Math.cos(turn), Math.sin(turn), Math.cos(rise), Math.sin(rise)]
  const back: Vec3 = [-st * cr, sr, ct * cr]
  const right: Vec3 = [ct, 0, st]
  return { place: add3(middle, scale3(back, distance)), right, up: cross3(back, right), away: scale3(back, -1) }
}

export interface Screen {
  readonly width: number
  readonly height: number
}

/** A world point on the screen in CSS pixels, y down, with its distance along the view. A left-hander's screen is mirrored. */
export function toScreen(axes: EyeAxes, screen: Screen, mirrored: boolean, p: Vec3): readonly [x: number, y: number, depth: number] {
  const d = sub3(p, axes.place)
  const depth = Math.max(0.05, dot3(d, axes.away))
  const k = screen.height / 2 / (Math.tan(halfField) * depth)
  const x = k * dot3(d, axes.right)
  return [screen.width / 2 + (mirrored ? -x : x), screen.height / 2 - k * dot3(d, axes.up), depth]
}

/** How far a point on the screen lies from the stretch between two others, and how far along it, 0 to 1. */
export function toStretch(at: Vec2, a: Vec2, b: Vec2): { readonly distance: number; readonly along: number } {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]]
  const squared = dx * dx + dy * dy
  const along = squared === 0 ? 0 : Math.min(1, Math.max(0, ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / squared))
  return { distance: Math.hypot(at[0] - a[0] - along * dx, at[1] - a[1] - along * dy), along }
}

/** The eye turned by a drag of so many pixels; never over the top. */
export function orbited(eye: Eye, dx: number, dy: number, mirrored: boolean): Eye {
  const k = 0.008
  return { ...eye, turn: eye.turn + k * dx * (mirrored ? -1 : 1), rise: Math.min(Math.PI / 2, Math.max(-0.5, eye.rise + k * dy)) }
}
export const nearer = (eye: Eye, factor: number): Eye => ({ ...eye, distance: Math.min(18, Math.max(3, eye.distance * factor)) })

/** Keys that turn the eye: what they say, and by how many pixels' worth of a drag. */
export const orbitSteps = {
  'turn-left': ['a', 'Turn the figure left', -12, 0], 'turn-right': ['d', 'Turn the figure right', 12, 0],
  'turn-higher': ['e', 'Look from higher', 0, 12], 'turn-lower': ['q', 'Look from lower', 0, -12],
} as const
