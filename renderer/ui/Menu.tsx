import { useId, useRef, type KeyboardEvent, type ReactNode } from 'react'

export interface MenuItem {
  readonly words: string
  readonly run: () => void
  readonly disabled?: boolean
}

/** A button that opens a short list of commands; arrows move, Esc closes. */
export function Menu({ label, items }: { readonly label: ReactNode; readonly items: readonly MenuItem[] }) {
  const id = useId()
  const anchor = `--menu-${id.replaceAll(/[^a-z0-9]/gi, '')}`
  const list = useRef<HTMLDivElement>(null)
  const move = (event: KeyboardEvent): void => {
    const buttons = [...list.current!.querySelectorAll<HTMLButtonElement>('button:not(:disabled)')]
    const at = buttons.indexOf(document.activeElement as HTMLButtonElement)
    const to = event.key === 'ArrowDown' ? at + 1 : event.key === 'ArrowUp' ? at - 1 : event.key === 'Home' ? 0 : event.key === 'End' ? -1 : null
    if (to === null) return
    event.preventDefault()
    buttons.at(to % buttons.length)?.focus()
  }
  return (
    <>
      <button type="button" className="button button-normal menu-button" popoverTarget={id} aria-haspopup="menu" style={{ anchorName: anchor }}>{label}</button>
      <div
        ref={list}
        id={id}
        popover="auto"
        role="menu"
        tabIndex={-1}
        className="menu"
        style={{ positionAnchor: anchor }}
        onKeyDown={move}
        onToggle={(event) => {
          if (event.newState === 'open') list.current?.querySelector<HTMLButtonElement>('button:not(:disabled)')?.focus()
        }}
      >
        {items.map((item) => (
          <button
            key={item.words}
            type="button"
            role="menuitem"
            disabled={item.disabled}
            onClick={() => {
              list.current?.hidePopover()
              item.run()
            }}
          >
            {item.words}
          </button>
        ))}
      </div>
    </>
  )
}
