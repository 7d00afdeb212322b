import { useId, type ComponentProps, type ReactNode } from 'react'

interface FieldProps {
  readonly label: string
  /** Said below the control: what it is for, or what is wrong with it. */
  readonly hint?: ReactNode
  readonly fault?: string | null
  readonly className?: string
}

interface Wiring { readonly id: string; readonly 'aria-describedby': string | undefined; readonly 'aria-invalid': true | undefined }

/** A label over any control, wired to it. */
export function Field({ label, hint, fault, className = '', children }: FieldProps & { readonly children: (wiring: Wiring) => ReactNode }) {
  const id = useId()
  const note = fault ?? hint
  return (
    <div className={`field ${className}`}>
      <label htmlFor={id}>{label}</label>
      {children({ id, 'aria-describedby': note ? `${id}-note` : undefined, 'aria-invalid': fault ? true : undefined })}
      {note ? <p id={`${id}-note`} className={fault ? 'field-fault' : 'field-hint'}>{fault ? <Warning /> : null}{note}</p> : null}
    </div>
  )
}

export function TextField({ label, hint, fault, className, ...rest }: FieldProps & ComponentProps<'input'>) {
  return (
    <Field {...given({ label, hint, fault, className })}>
      {(wiring) => <input type="text" autoComplete="off" spellCheck={false} {...rest} {...wiring} />}
    </Field>
  )
}

export function TextArea({ label, hint, fault, className, ...rest }: FieldProps & ComponentProps<'textarea'>) {
  return <Field {...given({ label, hint, fault, className })}>{(wiring) => <textarea rows={2} {...rest} {...wiring} />}</Field>
}

export interface Choice<V extends string> { readonly value: V; readonly words: string }

export function Select<V extends string>({ label, hint, fault, className, choices, value, onChoose, ...rest }:
  FieldProps & Omit<ComponentProps<'select'>, 'value' | 'onChange'> & {
    readonly choices: readonly Choice<V>[]; readonly value: V; readonly onChoose: (value: V) => void
  }) {
  return (
    <Field {...given({ label, hint, fault, className })}>
      {(wiring) => <BareSelect {...rest} {...wiring} choices={choices} value={value} onChoose={onChoose} />}
    </Field>
  )
}

/** A select whose label is elsewhere (a table's heading, aria-label). */
export function BareSelect<V extends string>({ choices, value, onChoose, ...rest }:
  Omit<ComponentProps<'select'>, 'value' | 'onChange'> & { readonly choices: readonly Choice<V>[]; readonly value: V; readonly onChoose: (value: V) => void }) {
  return (
    <select {...rest} value={value} onChange={(event) => onChoose(event.target.value as V)}>
      {choices.map((choice) => <option key={choice.value} value={choice.value}>{choice.words}</option>)}
    </select>
  )
}

/** One of a few, all in sight. */
export function Choices<V extends string>({ label, choices, value, onChoose }: {
  readonly label: string; readonly choices: readonly Choice<V>[]; readonly value: V; readonly onChoose: (value: V) => void
}) {
  const name = useId()
  return (
    <fieldset className="choices">
      <legend>{label}</legend>
      <div className="choices-row">
        {choices.map((choice) => (
          <label key={choice.value}>
            <input type="radio" name={name} checked={choice.value === value} onChange={() => onChoose(choice.value)} />
            <span>{choice.words}</span>
          </label>
        ))}
      </div>
    </fieldset>
  )
}

export function Check({ label, checked, onCheck, hint }: { readonly label: string; readonly checked: boolean; readonly onCheck: (checked: boolean) => void; readonly hint?: string }) {
  return (
    <label className="check">
      <input type="checkbox" checked={checked} onChange={(event) => onCheck(event.target.checked)} />
      <span>{label}{hint ? <span className="field-hint">{hint}</span> : null}</span>
    </label>
  )
}

/** The sign that goes with a warning's words. */
export function Warning() {
  return (
    <svg className="sign" width="14" height="14" viewBox="0 0 16 16" aria-hidden="true">
      <path d="M8 1.5 15.2 14.5H.8Z" fill="none" stroke="currentColor" strokeWidth="1.5" strokeLinejoin="round" />
      <path d="M8 6v4M8 11.7v.9" stroke="currentColor" strokeWidth="1.5" />
    </svg>
  )
}

/** Leaves out what is undefined, as exactOptionalPropertyTypes wants it. */
function given({ label, ...rest }: { label: string; hint: ReactNode; fault: string | null | undefined; className: string | undefined }): FieldProps {
  return { label, ...(Object.fromEntries(Object.entries(rest).filter(([, value]) => value !== undefined)) as Omit<FieldProps, 'label'>) }
}
