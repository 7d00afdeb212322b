import { useState, type KeyboardEvent } from 'react'
import { TextField } from './Field.tsx'

/** A text field that takes effect on Enter or when it is left; Esc puts back what was. */
export function CommitField({ label, value, check, onCommit, hint, ...rest }: {
  readonly label: string
  readonly value: string
  /** Why the text cannot be taken, or null. */
  readonly check?: (text: string) => string | null
  readonly onCommit: (text: string) => void
  readonly hint?: string
  readonly className?: string
  readonly placeholder?: string
  readonly list?: string
  readonly inputMode?: 'decimal' | 'text'
}) {
  const [draft, setDraft] = useState<string | null>(null)
  const text = draft ?? value
  const fault = draft === null ? null : (check?.(draft.trim()) ?? null)
  const commit = (): void => {
    if (draft === null || fault) return
    setDraft(null)
    if (draft.trim() !== value) onCommit(draft.trim())
  }
  const key = (event: KeyboardEvent<HTMLInputElement>): void => {
    if (event.key === 'Enter') {
      event.preventDefault()
      commit()
    } else if (event.key === 'Escape' && draft !== null) {
      event.stopPropagation()
      setDraft(null)
    }
  }
  return <TextField label={label} hint={hint} fault={fault} {...rest} value={text} onChange={(event) => setDraft(event.target.value)} onBlur={commit} onKeyDown={key} />
}
