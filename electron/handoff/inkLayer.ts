import type { Marks } from '../../shared/markup/mark.ts'
import type { Overlay } from '../../shared/picture/drawInstant.ts'
import type { Size } from '../../shared/picture/layout.ts'
import type { Covered } from './covered.ts'
import { registerFonts } from './fonts.ts'
import { InkSheet } from './inkSheet.ts'
import type { Planes } from './planes.ts'

/**
 * What is drawn over the video, on four sheets: the lines of a comparison; above them the marks that stand; above those the one
 * in the making; above that the pointer. While the coach plays, draws or points, one of them changes with nearly every picture.
 */
export class InkLayer {
  readonly #references: InkSheet
  readonly #standing: InkSheet
  readonly #draft: InkSheet
  readonly #pointer: InkSheet
  #marks: Marks = {}
  #draftId: string | undefined
  #others: Marks = {}

  constructor(size: Size) {
    registerFonts()
    this.#references = new InkSheet(size)
    this.#standing = new InkSheet(size)
    this.#draft = new InkSheet(size)
    this.#pointer = new InkSheet(size)
  }

  get empty(): boolean {
    return this.#references.empty && this.#standing.empty && this.#draft.empty && this.#pointer.empty
  }

  /** Draws anew where anything drawn has changed; says whether. */
  update(overlay: Overlay): boolean {
    const { stage } = overlay
    const references = this.#references.update({ ...overlay, only: 'references' })
    const standing = this.#standing.update({ ...overlay, only: 'marks', stage: { ...stage, marks: this.#without(stage.marks, stage.draft?.id), draft: null, pointer: null } })
    const draft = this.#draft.update({ ...overlay, only: 'marks', stage: { ...stage, marks: noMarks, pointer: null } })
    const pointer = this.#pointer.update({ ...overlay, only: 'marks', stage: { ...stage, marks: noMarks, draft: null } })
    return references || standing || draft || pointer
  }

  /** Lays the ink over a picture of the layer's size, noting what it covers, if wanted. */
  lay(to: Planes, covered?: Covered): void {
    for (const sheet of [this.#references, this.#standing, this.#draft, this.#pointer]) sheet.lay(to, covered)
  }

  /** The marks but the one that is being changed: the same object for the same arguments, for the watch goes by identity. */
  #without(marks: Marks, id: string | undefined): Marks {
    if (marks === this.#marks && id === this.#draftId) return this.#others
    this.#marks = marks
    this.#draftId = id
    if (id === undefined || !marks[id]) return (this.#others = marks)
    const { [id]: _, ...others } = marks
    return (this.#others = others)
  }
}

const noMarks: Marks = {}
