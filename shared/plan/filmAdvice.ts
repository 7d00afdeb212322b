import type { ViewName } from '../contract/pointsFile.ts'
import { filmingAdvice } from '../camera/place/advice.ts'
import { assembleSwing, withFallbacks, type SwingRecords } from '../swing/assemble.ts'
import { measurePrepared, prepareSwing } from '../swing/measureSwing.ts'
import { cameraWords } from '../swing/twoBearings.ts'

export interface FilmAdvice {
  readonly view: ViewName
  readonly sentences: readonly string[]
}

/**
 * Where to put the phone next time, for each view, from what is known of where it stood. Where nothing is placed to tell it
 * by, the sentences tell where it should stand. Never throws: what cannot be measured is not known.
 */
export function filmAdvice(records: SwingRecords | null, views: readonly ViewName[]): FilmAdvice[] {
  const known = records ? measured(records) : new Map<ViewName, readonly string[]>()
  return views.map((view) => {
    const unknown = filmingAdvice({ view })
    const own = known.get(view) ?? unknown
    // That it cannot be told is for the coach; the student is told where the phone should stand.
    return { view, sentences: own[0] === unknown[0] ? [`Put the phone ${placeWords[view]}, at the height of your hands, four to five steps away.`, ...own.slice(1)] : own }
  })
}

const placeWords: Readonly<Record<ViewName, string>> = { 'face-on': 'straight out from the middle of your stance', 'down-the-line': 'straight behind your hands, along your target line' }

function measured(records: SwingRecords): Map<ViewName, readonly string[]> {
  try {
    const assembled = assembleSwing(records)
    if (!assembled.ok) return new Map()
    let swing = prepareSwing(assembled.file)
    const lost = assembled.left.filter(({ view, name }) => !swing.positions.get(view)?.[name])
    if (lost.length > 0) swing = prepareSwing(withFallbacks(assembled.file, lost))
    const result = measurePrepared(swing)
    return new Map(swing.views.map(({ name }) => [name, cameraWords(result, name).advice]))
  } catch {
    return new Map()
  }
}
