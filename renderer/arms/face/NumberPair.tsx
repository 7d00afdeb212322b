import { useEffect, useId, useState } from 'react'
import { Warning } from '../../ui/Field.tsx'

const parsed = (text: string): number | null => {
  const value = Number(text.replace(',', '.').replace('\u2212', '-').trim())
  return text.trim() === '' || !Number.isFinite(value) ? null : value
}

interface Bounds { readonly min?: number; readonly max?: number }

/** A number and, where it has one, its error, taken over when the field is left or Enter is pressed. */
export function NumberPair({ label, unit, value, sigma, min = -Infinity, max = Infinity, hint, onTake }: Bounds & {
  readonly label: string
  readonly unit: string
  readonly value: number
  /** Undefined: the number is set and has no error. */
  readonly sigma?: number
  readonly hint?: string
  readonly onTake: (value: number, sigma: number) => void
}) {
  const id = useId()
  const [text, setText] = useState(String(value))
  const [sigmaText, setSigmaText] = useState(String(sigma ?? 0))
  const [fault, setFault] = useState<string | null>(null)
  useEffect(() => setText(shown(value)), [value])
  useEffect(() => setSigmaText(shown(sigma ?? 0)), [sigma])
  const take = (): void => {
    const [v, s] = [parsed(text), parsed(sigmaText)]
    if (v === null || s === null) return setFault('a number, please')
    if (v < min || v > max) return setFault(`from ${shown(min)} to ${shown(max)}`)
    if (s < 0) return setFault('the error must be 0 or more')
    setFault(null)
    if (v !== value || s !== (sigma ?? 0)) onTake(v, s)
  }
  const onKey = (event: React.KeyboardEvent): void => {
    if (event.key === 'Enter') take()
  }
  return (
    <div className="number-pair" title={hint}>
      <label htmlFor={id}>{label}</label>
      <input id={id} inputMode="decimal" value={text} aria-invalid={fault ? true : undefined} aria-describedby={fault ? `${id}-fault` : undefined} onChange={(event) => setText(event.target.value)} onBlur={take} onKeyDown={onKey} />
      {sigma === undefined ? <span /> : (
        <>
          <span aria-hidden="true">{'\u00b1'}</span>
          <input inputMode="decimal" value={sigmaText} aria-label={`${label}, error`} onChange={(event) => setSigmaText(event.target.value)} onBlur={take} onKeyDown={onKey} />
        </>
      )}
      <span className="number-unit">{unit}</span>
      {fault ? <p id={`${id}-fault`} className="field-fault"><Warning />{fault}</p> : null}
    </div>
  )
}

const shown = (value: number): string => String(Math.round(value * 1000) / 1000)
