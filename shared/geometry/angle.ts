/** Angles are degrees at every boundary (files, screen, contract) and branded radians inside. */
declare const unit: unique symbol

export type Radians = number & { readonly [unit]: 'radians' }
export type Degrees = number & { readonly [unit]?: 'degrees' }

export const radians = (value: number): Radians => value as Radians
export const toRadians = (degrees: Degrees): Radians => ((degrees * Math.PI) / 180) as Radians
export const toDegrees = (angle: Radians): Degrees => (angle * 180) / Math.PI

/** The same direction in (-pi, pi]. */
export const wrap = (angle: Radians): Radians => {
  const turn = 2 * Math.PI
  const rest = angle - turn * Math.floor(angle / turn)
  return (rest > Math.PI ? rest - turn : rest) as Radians
}
