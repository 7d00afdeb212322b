import { pictureHand } from '../../../shared/contract/clip.ts'
import type { MarkSet } from '../../../shared/contract/digitising.ts'
import type { ImagePoint } from '../../../shared/geometry/vec.ts'
import type { Mark } from '../../../shared/markup/mark.ts'
import { laidMarks, layingOf } from '../../../shared/markup/markSet.ts'
import { pictureAngle } from '../../../shared/markup/pictureAngle.ts'
import { clickSigma } from '../../../shared/swing/clickError.ts'
import { landmarksOn } from '../../../shared/swing/digitised.ts'
import { headBoxReport, inclinationLines, landmarksOf, levelOfClip, lineAngle, linesOfAddress, withErrorWords } from '../../../shared/swing/markMeasures.ts'
import { showsAt } from '../../../shared/markup/mark.ts'
import type { StageClip } from '../../../shared/walkthrough/stage.ts'
import { tellDone } from '../../ui/notices.ts'
import { marksOf, nextOrder } from '../benchMarks.ts'
import type { Measuring } from './measuring.ts'

/** What makes marks from points, and points out what marks come to. Everything it puts is a mark like any other. */
export class MeasuredMarks {
  readonly #measuring: Measuring

  constructor(measuring: Measuring) {
    this.#measuring = measuring
  }

  get #clip(): StageClip | null {
    return this.#measuring.bench.clip(this.#measuring.bench.active)
  }
  #sigma(clip: StageClip): number {
    return clickSigma(this.#measuring.state.getState().clickError, clip).sigmaPx
  }
  #addressTick(clip: StageClip): number | null {
    const pane = this.#measuring.paneOf(clip.id)
    return pane === null ? null : this.#measuring.positionTick(pane, 'address')
  }

  /** Shaft line, elbow line and head box of address, from their points, in one step. */
  lines(): void {
    const clip = this.#clip
    if (!clip) return
    const { marks, lacking } = linesOfAddress(this.#measuring.table, clip, this.#addressTick(clip), nextOrder(this.#measuring.bench.store.stage.marks))
    if (marks.length === 0) return this.#measuring.refuse(`No line could be drawn: ${lacking.join('; ')}.`)
    this.#measuring.bench.marks.put(marks)
    if (lacking.length > 0) tellDone(`Drawn as far as points are placed: ${lacking.join('; ')}.`)
  }

  /** The inclination line, frame after frame, with its change. Lines of an earlier call give way. */
  inclination(): void {
    const clip = this.#clip
    if (!clip) return
    const { bench, table } = { bench: this.#measuring.bench, table: this.#measuring.table }
    const sigma = this.#sigma(clip)
    const made = inclinationLines(table, clip, levelOfClip(table, clip, sigma), sigma, this.#addressTick(clip), nextOrder(bench.store.stage.marks))
    if (made.length === 0) return this.#measuring.refuse('The inclination line needs the base and the top of the spine (or hips and shoulders) on a frame.')
    const old = marksOf(bench.store.stage.marks, clip.id).filter(({ id }) => id.startsWith(`${clip.id}/inclination/`)).map(({ id }) => id)
    bench.marks.beginStep()
    bench.marks.remove(old.filter((id) => !made.some((mark) => mark.id === id)))
    bench.marks.put(made)
    bench.marks.endStep()
  }

  /** Writes onto the chosen line or angle how many degrees it has, with the error; once more takes the words away. */
  degrees(): void {
    const { bench } = this.#measuring
    const mark = bench.marks.selected
    const clip = mark && this.#measuring.clipOf(mark.clipId)
    if (!mark || !clip) return this.#measuring.refuse('Choose a line or an angle first: its degrees are then written on it.')
    const words = this.degreesOf(mark, clip)
    if (words === null) return this.#measuring.refuse('This mark has no direction: choose a line, a segment, an arrow or an angle.')
    bench.marks.put([{ ...mark, text: mark.text === words ? '' : words }])
  }
  /** A line's degrees from level, or an angle's; null where a mark has none. */
  degreesOf(mark: Mark, clip: StageClip): string | null {
    const sigma = this.#sigma(clip)
    if (mark.shape === 'angle') {
      const angle = pictureAngle(mark.points as unknown as readonly [ImagePoint, ImagePoint, ImagePoint], sigma)
      return angle && withErrorWords(angle.degrees, angle.sigma, '\u00b0')
    }
    if (mark.shape !== 'line' && mark.shape !== 'segment' && mark.shape !== 'arrow') return null
    const line = lineAngle(mark.points as unknown as readonly [ImagePoint, ImagePoint], levelOfClip(this.#measuring.table, clip, sigma), sigma)
    return line && `${withErrorWords(line.degrees, line.sigma, '\u00b0')} from level`
  }

  /** What each head box of the active clip has to say. */
  headBoxes(): { readonly id: string; readonly words: string }[] {
    const clip = this.#clip
    if (!clip) return []
    const { table } = this.#measuring
    const heads = landmarksOf(table, clip.id, 'head')
    const click = this.#sigma(clip)
    const { outcome } = this.#measuring.state.getState()
    const scale = outcome.kind === 'measured' && clip.view !== 'other' ? outcome.swing.scales.get(clip.view) ?? null : null
    return marksOf(this.#measuring.bench.store.stage.marks, clip.id).filter(({ meaning }) => meaning === 'head-box').map((mark) => {
      const [a, b] = mark.points as unknown as readonly [ImagePoint, ImagePoint]
      const report = headBoxReport([a, b], heads.filter(({ tick }) => showsAt({ ...mark, hidden: false }, tick)), clip, (record) => record.sigmaPx ?? click / Math.sqrt(record.placed))
      if (!report) return { id: mark.id, words: 'Head box: place the head on its frames, and it says when the head leaves it.' }
      if (report.left === null) return { id: mark.id, words: `The head stays in its box on all ${report.frames} frames it is placed on (to ${click.toFixed(1)} px).` }
      const far = scale ? withErrorWords(1000 * scale.metresPerPx * report.beyond, 1000 * Math.hypot(scale.metresPerPx * report.sigma, scale.sigma * report.beyond), ' mm') : withErrorWords(report.beyond, report.sigma, ' px')
      const height = Math.abs(b[1] - a[1])
      return { id: mark.id, words: `The head leaves its box at frame ${report.left + 1} and gets ${far} beyond it (${((100 * report.beyond) / height).toFixed(0)} % of the box) at frame ${report.farthestFrame! + 1}.` }
    })
  }

  // Sets.
  /** The marks of the active clip as a set under a name. */
  async saveSet(name: string): Promise<boolean> {
    const clip = this.#clip
    if (!clip) return false
    const marks = marksOf(this.#measuring.bench.store.stage.marks, clip.id).filter(({ id }) => !id.includes('/inclination/'))
    if (marks.length === 0) {
      this.#measuring.refuse('There are no marks on this clip to save as a set.')
      return false
    }
    const points = this.#pointsOf(clip)
    await this.#measuring.bench.desk.call('markSet.save', {
      id: null, name, width: clip.width, height: clip.height, handedness: pictureHand(clip), points,
      marks: marks.map((mark) => ({ ...mark, span: null, hidden: false })) as MarkSet['marks'],
    })
    return true
  }
  /** Lays a set on the active clip in one step. */
  lay(set: MarkSet): void {
    const clip = this.#clip
    if (!clip) return
    const laying = layingOf(set, { width: clip.width, height: clip.height, handedness: pictureHand(clip), points: this.#pointsOf(clip) })
    this.#measuring.bench.marks.put(laidMarks(set, clip.id, laying, nextOrder(this.#measuring.bench.store.stage.marks), () => crypto.randomUUID()))
    tellDone(laying.points > 0 ? `"${set.name}" is laid on, fitted to ${laying.points} points.` : `"${set.name}" is laid on, fitted to the size of the picture: place points of address to have it fitted to the player.`)
  }
  /** The points of the frame at address, else of the frame that is shown. */
  #pointsOf(clip: StageClip): Partial<Record<string, ImagePoint>> {
    const pane = this.#measuring.paneOf(clip.id)
    const ticks = [this.#addressTick(clip), pane === null ? null : this.#measuring.tickShown(pane)]
    for (const tick of ticks) {
      if (tick === null) continue
      const found = Object.entries(landmarksOn(this.#measuring.table, clip.id, tick))
      if (found.length > 0) return Object.fromEntries(found.map(([point, record]) => [point, record.at]))
    }
    return {}
  }
}
