import type { ReactNode } from 'react'

/** What to do where nothing is yet. */
export function EmptyState({ title, children, actions }: { readonly title: string; readonly children: ReactNode; readonly actions?: ReactNode }) {
  return (
    <section className="empty" aria-label={title}>
      <h2>{title}</h2>
      <div className="empty-words">{children}</div>
      {actions ? <div className="empty-actions">{actions}</div> : null}
    </section>
  )
}

/** Holds the place of what is on its way, and says what that is. */
export const Waiting = ({ words }: { readonly words: string }) => <p className="waiting-words" role="status">{words}</p>
