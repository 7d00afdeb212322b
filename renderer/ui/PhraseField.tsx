import { useEffect, useId, useRef, useState, type KeyboardEvent } from 'react'
import type { Phrase, PhraseKind } from '../../shared/contract/plan.ts'
import { Button } from './Button.tsx'
import { useDesk } from './desk.tsx'
import { Field } from './Field.tsx'
import { attempt } from './notices.ts'
import './phrase.css'

interface PhraseFieldProps {
  readonly label: string
  readonly kind: PhraseKind
  readonly value: string
  /** Called when the field is left, or a sentence is chosen, with what then stands in it. */
  readonly onCommit: (text: string) => void
  readonly hint?: string
  readonly placeholder?: string
  readonly rows?: number
  readonly most?: number
  /** The label is for readers of the screen alone. */
  readonly bare?: boolean
}

const offered = 6

/**
 * Words of the coach's own: sentences that were written before, or are kept, are offered as one types. Arrow keys choose one,
 * Enter takes it; what stands there is saved when the field is left.
 */
export function PhraseField({ label, kind, value, onCommit, hint = '', placeholder, rows = 2, most = 600, bare = false }: PhraseFieldProps) {
  const desk = useDesk()
  const [text, setText] = useState(value)
  const [phrases, setPhrases] = useState<readonly Phrase[]>([])
  const [isOpen, setOpen] = useState(false)
  const [at, setAt] = useState(-1)
  const list = useRef<HTMLDivElement>(null)
  const area = useRef<HTMLTextAreaElement>(null)
  const id = useId()
  const listId = `${id}-phrases`
  const anchor = `--phrase-${id.replaceAll(/[^a-z0-9]/gi, '')}`
  const [last, setLast] = useState(value)
  if (value !== last) {
    setLast(value)
    setText(value)
  }

  useEffect(() => {
    if (!isOpen) return
    let wanted = true
    const timer = setTimeout(() => {
      desk.call('phrase.search', { kind, words: text.slice(0, 600), most: offered }).then(
        (found) => {
          if (wanted) setPhrases(found.filter((phrase) => phrase.text !== text.trim()))
        },
        () => undefined,
      )
    }, 90)
    return () => {
      wanted = false
      clearTimeout(timer)
    }
  }, [desk, kind, text, isOpen])

  const shows = isOpen && phrases.length > 0
  useEffect(() => {
    const element = list.current
    if (!element) return
    if (shows) element.showPopover()
    else if (element.matches(':popover-open')) element.hidePopover()
  }, [shows])

  const commit = (now: string): void => {
    if (now.trim() !== value.trim()) onCommit(now.trim())
  }
  const take = (phrase: Phrase): void => {
    setText(phrase.text)
    setOpen(false)
    setAt(-1)
    commit(phrase.text)
    area.current?.focus()
  }
  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.key === 'ArrowDown' && shows && (at >= 0 || text === '' || area.current?.selectionStart === text.length)) {
      event.preventDefault()
      setAt((at + 1) % phrases.length)
    } else if (event.key === 'ArrowUp' && shows && at >= 0) {
      event.preventDefault()
      setAt(at - 1)
    } else if (event.key === 'Enter' && !event.shiftKey) {
      event.preventDefault()
      const chosen = shows ? phrases[at] : undefined
      if (chosen) take(chosen)
      else area.current?.blur()
    } else if (event.key === 'Escape') {
      event.preventDefault()
      event.stopPropagation()
      if (shows) {
        setOpen(false)
        setAt(-1)
      } else {
        setText(value)
        area.current?.blur()
      }
    }
  }
  const control = (wiring: { readonly id?: string; readonly 'aria-describedby'?: string | undefined }) => (
    <>
      <textarea
        ref={area}
        rows={rows}
        spellCheck
        autoComplete="off"
        value={text}
        maxLength={most}
        placeholder={placeholder}
        role="combobox"
        aria-autocomplete="list"
        aria-expanded={shows}
        aria-controls={listId}
        aria-activedescendant={shows && at >= 0 ? `${listId}-${at}` : undefined}
        {...(bare ? { 'aria-label': label } : {})}
        {...wiring}
        style={{ anchorName: anchor }}
        onChange={(event) => {
          setText(event.target.value)
          setOpen(true)
          setAt(-1)
        }}
        onFocus={() => setOpen(true)}
        onBlur={() => {
          setOpen(false)
          setAt(-1)
          commit(text)
        }}
        onKeyDown={onKeyDown}
      />
      <div ref={list} id={listId} popover="manual" role="listbox" aria-label={`Sentences for ${label}`} className="phrases" style={{ positionAnchor: anchor }}>
        {phrases.map((phrase, i) => (
          <div
            key={phrase.text}
            id={`${listId}-${i}`}
            role="option"
            aria-selected={i === at}
            className="phrase"
            onMouseDown={(event) => {
              event.preventDefault()
              take(phrase)
            }}
          >
            <span>{phrase.text}</span>
            <span className="quiet numbers">{phrase.id !== null ? 'kept' : phrase.used > 1 ? `${phrase.used} times` : ''}</span>
          </div>
        ))}
      </div>
    </>
  )
  if (bare) return <div className="phrase-field">{control({})}</div>
  return (
    <div className="phrase-field">
      <Field label={label} hint={hint}>{(wiring) => control(wiring)}</Field>
      <KeepPhrase kind={kind} text={text.trim()} />
    </div>
  )
}

/** Keeps the sentence that stands in a field, so that it is offered even when nothing holds it any more; or lets it go. */
function KeepPhrase({ kind, text }: { readonly kind: PhraseKind; readonly text: string }) {
  const desk = useDesk()
  const [kept, setKept] = useState<string | null>(null)
  const [turn, setTurn] = useState(0)
  useEffect(() => {
    let wanted = true
    const timer = setTimeout(() => {
      if (text === '') return setKept(null)
      desk.call('phrase.search', { kind, words: text.slice(0, 600), most: 20 }).then(
        (found) => {
          if (wanted) setKept(found.find((phrase) => phrase.text === text)?.id ?? null)
        },
        () => undefined,
      )
    }, 250)
    return () => {
      wanted = false
      clearTimeout(timer)
    }
  }, [desk, kind, text, turn])
  if (text === '') return null
  const act = () => attempt(async () => {
    if (kept === null) await desk.call('phrase.keep', { kind, text })
    else await desk.call('phrase.forget', { id: kept })
    setTurn((before) => before + 1)
  })
  return <Button look="plain" className="phrase-keep" aria-pressed={kept !== null} title="A kept sentence is offered first, in every lesson" onClick={() => void act()}>{kept === null ? 'Keep this sentence' : 'Kept'}</Button>
}
