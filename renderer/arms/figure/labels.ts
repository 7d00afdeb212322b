import type { Vec2 } from '../../../shared/geometry/vec.ts'

/** How words stand over the figure; sizes in CSS pixels. */
export interface Look {
  readonly size: number
  readonly align: 'left' | 'center' | 'right'
  readonly alpha?: number
  /** On a dark plate of their own. */
  readonly plate?: boolean
  /** With the sign of a warning before them. */
  readonly sign?: boolean
}

interface Label {
  readonly element: HTMLElement
  text: string
  look: string
  place: string
}

/** Milliseconds between two wordings while something moves: faster than that nobody reads. */
const wordsEvery = 100

/** Words over the figure, each on a small layer of its own that the page only has to shift. */
export class Labels {
  readonly #host: HTMLElement
  readonly #labels: Label[] = []
  #used = 0
  #saidAt = -Infinity
  #maySay = true

  constructor(host: HTMLElement) {
    this.#host = host
  }

  /** @param isMoving whether another drawing is about to follow: then words that are there already need not change each time */
  begin(isMoving: boolean): void {
    const at = performance.now()
    this.#maySay = !isMoving || at - this.#saidAt >= wordsEvery
    if (this.#maySay) this.#saidAt = at
    this.#used = 0
  }

  put(text: string, [x, y]: Vec2, { size, align, alpha = 0.9, plate = false, sign = false }: Look): void {
    const label = (this.#labels[this.#used] ??= this.#made())
    this.#used++
    const look = `${size} ${alpha} ${plate} ${sign}`
    if (label.look !== look) {
      label.look = look
      Object.assign(label.element.style, { fontSize: `${size}px`, opacity: String(plate ? 1 : alpha) })
      label.element.dataset.plate = String(plate)
      label.element.dataset.sign = String(sign)
    } else if (label.text !== text && !this.#maySay) text = label.text
    if (label.text !== text) label.element.textContent = label.text = text
    const place = `translate(${Math.round(x)}px, ${Math.round(y)}px) translate(${align === 'center' ? -50 : align === 'right' ? -100 : 0}%, -50%)`
    if (label.place !== place) label.element.style.transform = label.place = place
  }

  end(): void {
    for (const label of this.#labels.splice(this.#used)) label.element.remove()
  }

  dispose(): void {
    this.#used = 0
    this.end()
  }

  #made(): Label {
    const element = document.createElement('span')
    element.className = 'figure-label'
    element.ariaHidden = 'true'
    this.#host.append(element)
    return { element, text: '', look: '', place: '' }
  }
}
