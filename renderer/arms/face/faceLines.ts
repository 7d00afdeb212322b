import { apparentFace, closureOnFilm, faceChange, faceLineFault, type FaceLine, type FilmedClosure } from '../../../shared/flight/faceLine.ts'
import type { Known } from '../../../shared/flight/launch.ts'
import { imagePoint, type ImagePoint } from '../../../shared/geometry/vec.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import { levelOfClip } from '../../../shared/swing/markMeasures.ts'
import { frameAt, realSeconds } from '../../../shared/walkthrough/motion.ts'
import { viewWords } from '../../ui/words.ts'
import type { LoadedSwing } from '../load.ts'

/** A face line that was drawn on a frame, with what it says. */
export interface FaceRow {
  readonly id: string
  readonly where: string
  readonly apparent: Known | null
  /** Against the line before it on the same clip. */
  readonly change: Known | null
  readonly fault: string | null
  /** Near impact: a rate of closure, or why there is none. */
  readonly closure: FilmedClosure | null
}

/** Frames stand a known time apart, but a rolling shutter exposes the club at another row a little sooner or later; our assumption. */
const apartSigmaS = 0.0003

/** The face lines of a swing's clips, in the order of time on each, each against the one before. */
export function faceRows({ clips, marks, table, clickPx }: LoadedSwing): FaceRow[] {
  return clips.flatMap(({ clip }) => {
    const sigmaPx = clickPx[clip.id] ?? 2
    const inFile = levelOfClip(table, clip, sigmaPx)
    // A clip that was filmed mirrored is read as it is shown, turned back.
    const level = clip.mirrored ? { ...inFile, roll: -inFile.roll } : inFile
    const shown = ([x, y]: ImagePoint): ImagePoint => (clip.mirrored ? imagePoint(clip.width - x, y) : imagePoint(x, y))
    const drawn = marks.filter((mark) => mark.clipId === clip.id && mark.meaning === 'face-line' && mark.shape === 'segment')
      .toSorted((a, b) => (a.span?.from ?? -Infinity) - (b.span?.from ?? -Infinity))
    let before: { readonly line: FaceLine; readonly tick: number } | null = null
    return drawn.map((mark): FaceRow => {
      const [heel, toe] = mark.points
      const line: FaceLine = { heel: shown(heel!), toe: shown(toe!), sigmaPx }
      const tick = mark.span?.from ?? null
      const position = Object.values(table).find((record) => record.kind === 'position' && record.clipId === clip.id && record.tick === tick)
      const named = position?.kind === 'position' ? positionTitle(position.name) : null
      const where = `${viewWords[clip.view]}, ${tick === null ? 'whole clip' : `${named ? `${named}, ` : ''}frame ${frameAt(clip.frames, tick) + 1}`}`
      const fault = faceLineFault(line) ?? (tick === null ? 'It shows for the whole clip: give it the one frame that it was drawn on.' : null)
      const last = before
      if (!fault && tick !== null) before = { line, tick }
      const apart = last && tick !== null ? realSeconds(clip, last.tick, tick) : 0
      return {
        id: mark.id, where, fault, apparent: fault ? null : apparentFace(line, level), change: last && !fault ? faceChange(last.line, line) : null,
        closure: last && !fault && apart > 0 && apart < 0.05 ? closureOnFilm(last.line, line, { value: apart, sigma: apartSigmaS }) : null,
      }
    })
  })
}
