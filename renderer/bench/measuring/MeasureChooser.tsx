import { useEffect, useId, useRef, useState, type KeyboardEvent } from 'react'
import { positionNames, type PointName } from '../../../shared/contract/pointsFile.ts'
import { pointTitle, positionTitle } from '../../../shared/swing/digitised.ts'
import { measureTitle } from '../../../shared/swing/measureWords.ts'
import type { Choice } from '../../../shared/swing/plan.ts'
import { placingOrder } from '../../../shared/swing/placing.ts'
import { measures } from '../../../shared/swing/registry.ts'
import '../../ui/phrase.css'
import { capital } from './placer.ts'

/** What the points are placed for. */
export type Wish = Choice | { readonly kind: 'follow'; readonly point: PointName }

interface Offer {
  readonly key: string
  readonly title: string
  readonly group: string
  readonly wish: Wish
  /** What is searched besides the title. */
  readonly more: string
}

const ofMeasures = (group: string, isBoth: boolean): Offer[] =>
  measures.filter(({ views }) => (views === 'both') === isBoth).map(({ id, definition }) => ({ key: `measure:${id}`, title: measureTitle(id), group, wish: { kind: 'measure', id }, more: definition }))

const offers: readonly Offer[] = [
  ...positionNames.map((name): Offer => ({ key: `position:${name}`, title: capital(positionTitle(name)), group: 'All that is read at a position', wish: { kind: 'position', name }, more: '' })),
  ...ofMeasures('One measure', false),
  ...ofMeasures('From both views together', true),
  ...placingOrder.map((point): Offer => ({ key: `follow:${point}`, title: capital(pointTitle(point)), group: 'One point, frame after frame', wish: { kind: 'follow', point }, more: '' })),
]

const keyOf = (wish: Wish): string => (wish.kind === 'measure' ? `measure:${wish.id}` : wish.kind === 'position' ? `position:${wish.name}` : `follow:${wish.point}`)

/** Offers whose title holds every word; then those whose definition does. */
function found(typed: string): readonly Offer[] {
  const words = typed.toLowerCase().split(/[\s,]+/).filter((word) => word !== '')
  if (words.length === 0) return offers
  const holds = (text: string) => words.every((word) => text.toLowerCase().includes(word))
  const first = offers.filter(({ title }) => holds(title))
  return [...first, ...offers.filter((offer) => !first.includes(offer) && holds(`${offer.title} ${offer.group} ${offer.more}`))]
}

/** The offers under their headings; those that were found are one list, the likeliest first. */
const groupsOf = (shown: readonly Offer[], isAll: boolean): readonly (readonly [string, readonly Offer[]])[] =>
  isAll ? [...Map.groupBy(shown, ({ group }) => group)] : shown.length > 0 ? [['Found', shown]] : []

/** What to measure: found by words, or taken from the list of all; Esc leaves it as it was. */
export function MeasureChooser({ wish, onChoose }: { readonly wish: Wish | null; readonly onChoose: (wish: Wish | null) => void }) {
  const [typed, setTyped] = useState<string | null>(null)
  const [at, setAt] = useState(0)
  const pop = useRef<HTMLDivElement>(null)
  const box = useRef<HTMLInputElement>(null)
  const id = useId()
  const anchor = `--choice-${id.replaceAll(/[^a-z0-9]/gi, '')}`
  const isOpen = typed !== null
  const shown = isOpen ? found(typed) : []
  const now = wish && offers.find(({ key }) => key === keyOf(wish))

  useEffect(() => {
    const element = pop.current
    if (!element) return
    if (isOpen) element.showPopover()
    else if (element.matches(':popover-open')) element.hidePopover()
  }, [isOpen])
  useEffect(() => {
    void pop.current?.querySelector('[aria-selected="true"]')?.scrollIntoView({ block: 'nearest' })
  }, [at, typed])

  const close = (): void => {
    setTyped(null)
    setAt(0)
  }
  const take = (offer: Offer | null): void => {
    close()
    box.current?.blur()
    onChoose(offer?.wish ?? null)
  }
  const onKeyDown = (event: KeyboardEvent): void => {
    const by = { ArrowDown: 1, ArrowUp: -1, PageDown: 8, PageUp: -8 }[event.key]
    if (by !== undefined) {
      event.preventDefault()
      if (isOpen) setAt(Math.min(Math.max(at + by, 0), shown.length - 1))
      else setTyped('')
    } else if (event.key === 'Enter') {
      event.preventDefault()
      const offer = shown[at]
      if (offer) take(offer)
    } else if (event.key === 'Escape') {
      event.preventDefault()
      event.stopPropagation()
      close()
      box.current?.blur()
    }
  }
  return (
    <div className="measure-chooser">
      <input
        ref={box} type="search" role="combobox" aria-label="What to measure" aria-expanded={isOpen} aria-controls={id} aria-autocomplete="list"
        aria-activedescendant={isOpen && shown[at] ? `${id}-${shown[at].key}` : undefined} autoComplete="off" spellCheck={false}
        placeholder={isOpen && now ? now.title : 'Choose what to measure'} value={typed ?? now?.title ?? ''} style={{ anchorName: anchor }}
        onFocus={() => { setTyped(''); setAt(0) }} onBlur={close} onKeyDown={onKeyDown}
        onChange={(event) => { setTyped(event.target.value); setAt(0) }}
      />
      <div ref={pop} id={id} popover="manual" role="listbox" aria-label="What can be measured" className="phrases measure-list" style={{ positionAnchor: anchor }} onMouseDown={(event) => event.preventDefault()}>
        {groupsOf(shown, typed === '').map(([group, list]) => (
          <div key={group} role="group" aria-label={group}>
            {typed === '' ? <p className="measure-group quiet" aria-hidden="true">{group}</p> : null}
            {list.map((offer) => (
              <div key={offer.key} id={`${id}-${offer.key}`} role="option" aria-selected={offer === shown[at]} className="phrase" data-choice={offer.key} onClick={() => take(offer)}>
                <span>{offer.title}</span>
                {typed === '' ? null : <span className="quiet">{offer.group.toLowerCase()}</span>}
              </div>
            ))}
          </div>
        ))}
        {isOpen && shown.length === 0 ? <p className="quiet measure-group">Nothing is called so: try a part of the body, the club or a position.</p> : null}
      </div>
    </div>
  )
}
