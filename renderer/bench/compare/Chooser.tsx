import { useEffect, useId, useMemo, useRef, useState, type KeyboardEvent } from 'react'
import type { ShelfItem } from '../../../shared/contract/shelf.ts'
import type { BenchRequest } from '../../ui/appStore.ts'
import { useDesk } from '../../ui/desk.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { faultOf } from '../../ui/notices.ts'
import { isoDay, viewWords } from '../../ui/words.ts'
import { useCompare, useComparison } from './compareContext.tsx'

const most = 24
interface Group { readonly words: string; readonly items: readonly ShelfItem[] }

const requestOf = (item: ShelfItem): BenchRequest => (item.swingId !== null ? { swingId: item.swingId } : { clipId: item.clips[0]!.id })

/** What can be set beside the student: references first, then the same student's others, then whatever is searched for. */
export function Chooser() {
  const comparison = useComparison()
  const desk = useDesk()
  const id = useId()
  const list = useRef<HTMLDivElement>(null)
  const [text, setText] = useState('')
  const [groups, setGroups] = useState<readonly Group[] | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  const [at, setAt] = useState(0)
  const current = useCompare((state) => state.beside?.key ?? null)
  const subject = useMemo(() => subjectOf(comparison), [comparison])

  useEffect(() => {
    let isCurrent = true
    const search = (terms: string) => desk.call('shelf.search', { text: `${text} ${terms}`.trim(), order: 'newest', offset: 0, limit: most })
    const student = subject.student
    Promise.all([search('is:reference'), student ? search(`student:"${student.name.replaceAll('"', ' ')}"`) : null, search('')]).then(([references, own, all]) => {
      if (!isCurrent) return
      const seen = new Set<string>()
      const fresh = (items: readonly ShelfItem[]): ShelfItem[] => items.filter((item) => {
        if (seen.has(item.key) || item.clips.some((clip) => subject.clipIds.includes(clip.id))) return false
        seen.add(item.key)
        return true
      })
      setGroups([
        { words: 'References', items: fresh(references.items) },
        { words: student ? `${student.name}, other swings` : 'Other swings', items: fresh((own?.items ?? []).filter(({ studentId }) => studentId === student?.id)) },
        { words: 'Everything else', items: fresh(all.items) },
      ].filter(({ items }) => items.length > 0))
      setAt(0)
      setFault(null)
    }, (error: unknown) => { if (isCurrent) setFault(faultOf(error).message) })
    return () => { isCurrent = false }
  }, [desk, text, subject])

  const items = useMemo(() => groups?.flatMap((group) => group.items) ?? [], [groups])
  const chosen = items[at] ?? null
  const isFirst = at === 0 && text === ''
  // The one at hand is on its way before it is asked for.
  useEffect(() => {
    if (!chosen) return
    void comparison.ahead.fetch(requestOf(chosen)).catch(() => undefined)
    return comparison.ahead.warm(requestOf(chosen), isFirst)
  }, [chosen, isFirst, comparison])
  useEffect(() => list.current?.querySelector('[aria-selected="true"]')?.scrollIntoView({ block: 'nearest' }), [at])

  const take = (item: ShelfItem | null): void => { if (item) void comparison.setBeside(requestOf(item)) }
  const move = (event: KeyboardEvent): void => {
    const to = event.key === 'ArrowDown' ? at + 1 : event.key === 'ArrowUp' ? at - 1 : event.key === 'PageDown' ? at + 8 : event.key === 'PageUp' ? at - 8 : null
    if (to === null) return
    event.preventDefault()
    setAt(Math.min(Math.max(to, 0), items.length - 1))
  }
  return (
    <Dialog title="Set beside" size="middle" onClose={() => comparison.choose(false)} onSubmit={() => take(chosen)}>
      <div className="chooser" onKeyDown={move}>
        <input
          type="search" role="combobox" aria-expanded="true" aria-controls={id} aria-activedescendant={chosen ? `${id}-${chosen.key}` : undefined}
          aria-label="Search swings" placeholder="Student, club, tag, date" value={text} onChange={(event) => setText(event.target.value)}
        />
        {fault ? <p role="alert">{fault}</p> : null}
        {groups !== null && !groups.some(({ words }) => words === 'References') ? <p className="quiet small">No swing {text ? 'found here ' : ''}is a reference{text ? '' : ' yet: mark one on the Shelf and it stands here first'}.</p> : null}
        {groups !== null && items.length === 0 ? <p>{text ? 'Nothing on the Shelf answers to this.' : 'There is no other swing in the library yet. Take one in, or bring in a reference on the Shelf.'}</p> : null}
        <div className="chooser-list" id={id} role="listbox" aria-label="Swings" ref={list} tabIndex={-1}>
          {groups?.map((group) => (
            <div key={group.words} role="group" aria-label={group.words}>
              <div className="chooser-head" aria-hidden="true">{group.words}</div>
              {group.items.map((item) => (
                <Item key={item.key} id={`${id}-${item.key}`} item={item} isChosen={item === chosen} isCurrent={item.key === current} onPoint={() => setAt(items.indexOf(item))} onTake={() => take(item)} />
              ))}
            </div>
          ))}
        </div>
        <p className="quiet small"><kbd>{'\u2191'}</kbd> <kbd>{'\u2193'}</kbd> choose, <kbd>Enter</kbd> sets it beside</p>
      </div>
    </Dialog>
  )
}

function Item({ id, item, isChosen, isCurrent, onPoint, onTake }: { readonly id: string; readonly item: ShelfItem; readonly isChosen: boolean; readonly isCurrent: boolean; readonly onPoint: () => void; readonly onTake: () => void }) {
  const desk = useDesk()
  const views = item.clips.map(({ view }) => viewWords[view].toLowerCase()).join(' and ')
  return (
    <div className="chooser-item" role="option" id={id} aria-selected={isChosen} onMouseMove={onPoint} onClick={onTake}>
      <span className="chooser-stills">{item.clips.map((clip) => <img key={clip.id} src={desk.mediaUrl(`poster/${clip.id}.jpg`)} alt="" loading="lazy" data-mirrored={clip.mirrored} />)}</span>
      <span className="chooser-words">
        <strong>{item.student || item.title || item.clips[0]!.fileName}</strong>
        <span className="quiet small">{[item.club, views, item.handedness === 'left' ? 'left-handed' : '', item.permission === 'lessons-only' ? 'for lessons only' : ''].filter(Boolean).join(', ')}</span>
      </span>
      <span className="quiet small numbers">{isCurrent ? 'stands beside now' : isoDay(item.date)}</span>
    </div>
  )
}

function subjectOf({ bench, known }: ReturnType<typeof useComparison>) {
  const clipIds = bench.state.getState().clipIds.filter((clipId) => clipId !== null)
  const studentId = known.clips.find((clip) => clipIds.includes(clip.id))?.studentId ?? null
  return { clipIds, student: known.students.find((student) => student.id === studentId) ?? null }
}
