import { useMemo, useState, type DragEvent, type KeyboardEvent } from 'react'
import type { Finding, FindingOrder, FindingRole } from '../../../shared/contract/finding.ts'
import { listOf, moved, orderOf, stepped } from '../../../shared/plan/order.ts'
import { mostPictures } from '../../../shared/plan/page.ts'
import { useAsked, type Part } from '../../ui/asked.ts'
import { goTo, openOnBench } from '../../ui/appStore.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk } from '../../ui/desk.tsx'
import { EmptyState, Waiting } from '../../ui/EmptyState.tsx'
import { useLessonWork } from '../lessonWork.tsx'
import { FindingCard } from './FindingCard.tsx'
import './findings.css'

const parts: readonly Part[] = ['findings', 'clips', 'swings', 'walkthroughs', 'lessons']

const zones: readonly { readonly role: FindingRole; readonly title: string; readonly bare: string }[] = [
  { role: 'cause', title: 'The one cause', bare: 'Drag a finding here, or press its “Make it the cause”: the one thing worth changing.' },
  { role: 'follows', title: 'What follows from it', bare: 'What the cause makes: drag findings here, in the order in which you tell them.' },
  { role: 'aside', title: 'Kept aside', bare: 'What you keep for yourself; the student does not get it.' },
]

/** A lesson's findings in the coach's order: one cause, what follows from it, and what is kept aside. */
export function FindingsPage() {
  const desk = useDesk()
  const { walkthrough, steps } = useLessonWork()
  const { answer, again } = useAsked('finding.list', { walkthroughId: walkthrough.id }, parts)
  const [said, setSaid] = useState('')
  const [dragged, setDragged] = useState<string | null>(null)
  const order = useMemo(() => orderOf(answer ?? []), [answer])
  const shown = useMemo(() => onPlan(order, answer ?? []), [order, answer])
  if (!answer) return <Waiting words="Reading the findings" />

  const byId = new Map(answer.map((finding) => [finding.id, finding]))
  const arrange = async (to: FindingOrder, words: string): Promise<void> => {
    if (JSON.stringify(to) === JSON.stringify(order)) return
    const from = order
    setSaid(words)
    await steps.act(words, () => desk.call('finding.arrange', to), () => desk.call('finding.arrange', from))
    await again()
  }
  const place = (id: string, role: FindingRole, before: string | null = null): void => {
    const title = zones.find((zone) => zone.role === role)!.title
    void arrange(moved(order, id, role, before), `Moved to “${title}”`)
  }
  const step = (id: string, by: 1 | -1): void => {
    const next = stepped(order, id, by)
    void arrange(next, next.cause === id && order.cause !== id ? 'Made it the cause' : by < 0 ? 'Moved up' : 'Moved down')
  }
  const save = (finding: Finding, patch: Partial<Finding>, words: string): void => {
    const { createdAt: _at, ...before } = finding
    void steps.act(words, () => desk.call('finding.save', { ...before, ...patch }), () => desk.call('finding.save', before))
  }
  const remove = (finding: Finding): void => {
    const { createdAt: _at, ...before } = finding
    const from = order
    // Where the focus was is gone: it goes on to the next.
    const ids = listOf(order)
    const next = ids[ids.indexOf(finding.id) + 1] ?? ids[ids.indexOf(finding.id) - 1]
    void steps
      .act('Removed the finding', () => desk.call('finding.remove', { id: finding.id }), async () => {
        await desk.call('finding.save', before)
        await desk.call('finding.arrange', from)
      })
      .then(() => document.querySelector<HTMLElement>(`[data-finding="${next}"]`)?.focus())
  }
  const onKey = (event: KeyboardEvent, finding: Finding): void => {
    if (event.target !== event.currentTarget) return
    const by = event.key === 'ArrowUp' ? -1 : event.key === 'ArrowDown' ? 1 : 0
    if (by && event.altKey) {
      event.preventDefault()
      step(finding.id, by)
    } else if (by) {
      event.preventDefault()
      const ids = listOf(order)
      document.querySelector<HTMLElement>(`[data-finding="${ids[ids.indexOf(finding.id) + by]}"]`)?.focus()
    } else if (event.key === 'Delete' || event.key === 'Backspace') {
      event.preventDefault()
      remove(finding)
    } else if (event.key === 'Enter') {
      event.preventDefault()
      event.currentTarget.querySelector('textarea')?.focus()
    }
  }
  const dropOn = (role: FindingRole, before: string | null) => ({
    onDragOver: (event: DragEvent) => {
      if (dragged === null) return
      event.preventDefault()
      event.dataTransfer.dropEffect = 'move' as const
    },
    onDrop: (event: DragEvent) => {
      if (dragged === null) return
      event.preventDefault()
      event.stopPropagation()
      if (dragged !== before) place(dragged, role, before)
      setDragged(null)
    },
  })
  const toBench = (finding: Finding): void => openOnBench(walkthrough.swingId === null ? { clipId: finding.clipId } : { swingId: walkthrough.swingId })

  if (answer.length === 0)
    return (
      <EmptyState title="No findings yet" actions={<Button look="primary" onClick={() => (walkthrough.swingId === null ? goTo('bench') : openOnBench({ swingId: walkthrough.swingId }))}>Go to the Bench</Button>}>
        <p>On the Bench, choose a mark or point at a measure and press <kbd>Shift</kbd> <kbd>F</kbd>: its number, its error and a picture of its frame come here. Here you name the one cause and what follows from it.</p>
      </EmptyState>
    )
  return (
    <div className="findings-page">
      <p className="quiet findings-hint">Drag a finding, or press <kbd>Alt</kbd> with the up or down arrow on it. The first {mostPictures} pictures go onto the plan. <span className="unseen" aria-live="polite">{said}</span></p>
      {zones.map(({ role, title, bare }) => {
        const ids = role === 'cause' ? (order.cause === null ? [] : [order.cause]) : order[role]
        return (
          <section key={role} className="findings-zone" data-role={role} data-over={dragged !== null} aria-label={title} {...dropOn(role, null)}>
            <h3>{title}</h3>
            {ids.length === 0 ? <p className="quiet findings-bare">{bare}</p> : null}
            <ul>
              {ids.map((id) => {
                const finding = byId.get(id)!
                return (
                  <FindingCard
                    key={id}
                    finding={finding}
                    isOnPlan={shown.has(id)}
                    isFirst={order.cause === id || (order.cause === null && order.follows[0] === id)}
                    isDragged={dragged === id}
                    drop={dropOn(role, id)}
                    onDrag={setDragged}
                    onKey={(event) => onKey(event, finding)}
                    onStep={(by) => step(id, by)}
                    onCause={() => place(id, 'cause')}
                    onSave={(patch, words) => save(finding, patch, words)}
                    onRemove={() => remove(finding)}
                    onBench={() => toBench(finding)}
                  />
                )
              })}
            </ul>
          </section>
        )
      })}
    </div>
  )
}

/** The findings whose pictures the plan shows. */
function onPlan({ cause, follows }: FindingOrder, findings: readonly Finding[]): ReadonlySet<string> {
  const wanted = new Set(findings.filter((finding) => finding.shown).map(({ id }) => id))
  return new Set([...(cause === null ? [] : [cause]), ...follows].filter((id) => wanted.has(id)).slice(0, mostPictures))
}
