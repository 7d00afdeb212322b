import type { KeyboardEvent } from 'react'

export interface Tab<T extends string> { readonly id: T; readonly title: string; readonly keys?: string }

/** Tabs; arrows move along them. The panel of tab X has the id `panel-X`. */
export function Tabs<T extends string>({ label, tabs, chosen, onChoose }: { readonly label: string; readonly tabs: readonly Tab<T>[]; readonly chosen: T; readonly onChoose: (id: T) => void }) {
  const move = (event: KeyboardEvent<HTMLDivElement>): void => {
    const by = event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0
    if (!by) return
    event.preventDefault()
    const at = tabs.findIndex((tab) => tab.id === chosen)
    const next = tabs.at((at + by) % tabs.length)!
    onChoose(next.id)
    event.currentTarget.querySelector<HTMLElement>(`#tab-${next.id}`)?.focus()
  }
  return (
    <div className="tabs" role="tablist" aria-label={label} onKeyDown={move}>
      {tabs.map((tab) => (
        <button
          key={tab.id}
          type="button"
          role="tab"
          id={`tab-${tab.id}`}
          aria-selected={tab.id === chosen}
          aria-controls={`panel-${tab.id}`}
          tabIndex={tab.id === chosen ? 0 : -1}
          title={tab.keys}
          onClick={() => onChoose(tab.id)}
        >
          {tab.title}
        </button>
      ))}
    </div>
  )
}
