import type { PointsFile } from '../contract/pointsFile.ts'
import { assembleSwing, withFallbacks, type SwingRecords } from '../swing/assemble.ts'
import { measurePrepared, prepareSwing, type SwingResult } from '../swing/measureSwing.ts'
import type { Swing } from '../swing/reading.ts'
import { sidesOf } from '../swing/sides/sides.ts'
import { handsDisagree } from '../swing/sides/sidesWords.ts'

export type Measured =
  | { readonly kind: 'measured'; readonly file: PointsFile; readonly swing: Swing; readonly result: SwingResult; readonly notes: readonly string[] }
  | { readonly kind: 'none'; readonly reasons: readonly string[] }

/** What a swing's records come to, as on the Bench: what lies between two frames is found from the points where they can. */
export function measureRecords(records: SwingRecords): Measured {
  const assembled = assembleSwing(records)
  if (!assembled.ok) return { kind: 'none', reasons: assembled.reasons }
  let { file } = assembled
  let swing = prepareSwing(file)
  const lost = assembled.left.filter(({ view, name }) => !swing.positions.get(view)?.[name])
  if (lost.length > 0) {
    file = withFallbacks(file, lost)
    swing = prepareSwing(file)
  }
  const disagree = handsDisagree(sidesOf(swing))
  if (disagree) return { kind: 'none', reasons: [disagree] }
  return { kind: 'measured', file, swing, result: measurePrepared(swing), notes: assembled.notes }
}
