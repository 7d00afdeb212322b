import { useEffect, useId, useRef, useState, type ReactNode } from 'react'
import { Button } from './Button.tsx'
import { enterDialog } from './notices.ts'
import { Notices } from './Notices.tsx'

interface DialogProps {
  readonly title: string
  readonly onClose: () => void
  readonly children: ReactNode
  /** Buttons, the one that leads on last. */
  readonly actions?: ReactNode
  readonly size?: 'small' | 'middle' | 'large'
  /** Where Enter in a field leads. */
  readonly onSubmit?: () => void
}

/**
 * The platform's own modal dialog: the rest is inert, Esc closes, focus goes back where it was. It lives as long as it
 * is rendered.
 */
export function Dialog({ title, onClose, children, actions, size = 'middle', onSubmit }: DialogProps) {
  const ref = useRef<HTMLDialogElement>(null)
  const titleId = useId()
  const [place, setPlace] = useState(0)
  useEffect(() => {
    const { place: taken, leave } = enterDialog()
    setPlace(taken)
    return leave
  }, [])
  useEffect(() => {
    const dialog = ref.current!
    const before = document.activeElement
    dialog.showModal()
    const first = dialog.querySelector<HTMLElement>('.dialog-body :is(input, select, textarea):not(:disabled), footer button')
    first?.focus()
    return () => {
      dialog.close()
      if (before instanceof HTMLElement && before.isConnected) before.focus()
    }
  }, [])
  return (
    <dialog
      ref={ref}
      className={`dialog dialog-${size}`}
      aria-labelledby={titleId}
      onCancel={(event) => {
        if (event.target !== event.currentTarget) return
        event.preventDefault()
        onClose()
      }}
    >
      <form
        method="dialog"
        onSubmit={(event) => {
          event.preventDefault()
          onSubmit?.()
        }}
      >
        <header>
          <h2 id={titleId}>{title}</h2>
          <Button look="plain" onClick={onClose}>Close</Button>
        </header>
        <div className="dialog-body" tabIndex={-1}>{children}</div>
        {actions ? <footer>{actions}</footer> : null}
      </form>
      {place > 0 ? <Notices place={place} /> : null}
    </dialog>
  )
}

/** Asks before something is taken away, and lists what will go. */
export function Confirm({ title, goes, stays, act, onDo, onClose }: {
  readonly title: string
  /** One line each. */
  readonly goes: readonly string[]
  readonly stays?: string
  /** The button's words: what it does. */
  readonly act: string
  readonly onDo: () => Promise<unknown>
  readonly onClose: () => void
}) {
  const [busy, setBusy] = useState(false)
  const run = async (): Promise<void> => {
    setBusy(true)
    await onDo()
    onClose()
  }
  return (
    <Dialog
      title={title}
      size="small"
      onClose={onClose}
      actions={
        <>
          <Button onClick={onClose}>Keep</Button>
          <Button look="danger" disabled={busy} onClick={() => void run()}>{busy ? 'Removing' : act}</Button>
        </>
      }
    >
      <p>This goes for good:</p>
      <ul className="goes">{goes.map((line) => <li key={line}>{line}</li>)}</ul>
      {stays ? <p className="quiet">{stays}</p> : null}
    </Dialog>
  )
}
