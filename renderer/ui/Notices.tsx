import { useStore } from 'zustand'
import { Button } from './Button.tsx'
import { Warning } from './Field.tsx'
import { dismiss, noticeStore } from './notices.ts'

/**
 * What went wrong and what to do about it, or word that something is done; at the foot of the window. `place` says where this
 * one stands: 0 in the window itself, else in the dialog of that place. Only the uppermost shows.
 */
export function Notices({ place = 0 }: { readonly place?: number }) {
  const notices = useStore(noticeStore, (state) => state.notices)
  const isUppermost = useStore(noticeStore, (state) => state.dialogs === place)
  if (!isUppermost) return null
  return (
    <div className="notices" role="region" aria-label="Notices" aria-live="polite">
      {notices.map((notice) => (
        <div key={notice.id} className="notice" data-kind={notice.kind} role={notice.kind === 'fault' ? 'alert' : 'status'}>
          {notice.kind === 'fault' ? <Warning /> : null}
          <p><span>{notice.message}</span>{notice.remedy ? <span className="quiet">{notice.remedy}</span> : null}</p>
          <Button look="plain" onClick={() => dismiss(notice.id)}>Dismiss</Button>
        </div>
      ))}
    </div>
  )
}

/** A fault in its place in a list or a form. */
export function FaultNote({ message, remedy }: { readonly message: string; readonly remedy: string | null }) {
  return (
    <p className="fault-note"><Warning /><span>{message}{remedy ? <> <span className="quiet">{remedy}</span></> : null}</span></p>
  )
}
