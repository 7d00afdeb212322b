import type { PointName } from '../contract/pointsFile.ts'
import type { SwingView } from './viewOf.ts'

/** The two points that stand for the shaft in a view: the butt, else the hands, to the clubhead, else the shaft's end. */
export interface ShaftPoints {
  readonly tail: PointName
  readonly tip: PointName
}

/**
 * The pair with the longest base that is digitised throughout: a point on far fewer frames than its stand-in gives way.
 * Null where the view shows no club.
 */
export function shaftPoints(views: readonly SwingView[]): ShaftPoints | null {
  const count = (name: PointName) => Math.min(...views.map((v) => v.tracks.get(name)?.times.length ?? 0))
  const pick = (first: PointName, second: PointName): PointName | null => {
    const a = count(first)
    const b = count(second)
    if (a + b === 0) return null
    return a >= 0.8 * b ? first : second
  }
  const tail = pick('butt', 'hands')
  const tip = pick('clubhead', 'shaftEnd')
  return tail && tip ? { tail, tip } : null
}
