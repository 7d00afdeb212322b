import { useCallback, useEffect, useRef, useState } from 'react'
import type { Output } from '../../shared/contract/operations.ts'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import { appStore, goTo, openInLesson, useApp } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { Confirm, Dialog } from '../ui/Dialog.tsx'
import { EmptyState, Waiting } from '../ui/EmptyState.tsx'
import { TextField, Warning } from '../ui/Field.tsx'
import { attempt } from '../ui/notices.ts'
import { useHandoffsOf, useTakesOf, useWalkthrough, useWalkthroughs } from '../ui/useRecords.ts'
import { minuteWords } from '../ui/words.ts'
import { clockWords } from './clockWords.ts'
import { HandoffPanel } from './HandoffPanel.tsx'
import { LessonEditing } from './editing/LessonEditing.tsx'
import { LessonPages } from './LessonPages.tsx'
import './lesson.css'

/** The walkthroughs, the one that is open played back, and what the student gets of it. */
export function LessonRoom() {
  const asked = useApp((state) => state.lesson)
  const [text, setText] = useState('')
  const [limit, setLimit] = useState(atOnce)
  const page = useWalkthroughs({ text, limit })
  const wanted = useWalkthrough(asked?.walkthroughId ?? null)
  const [newest, setNewest] = useState<Walkthrough | null>(null)
  // While words are looked for, what is open stays open.
  if (text === '' && page && (page.items[0] ?? null) !== newest) setNewest(page.items[0] ?? null)
  const open = wanted && wanted.state !== 'recording' && !wanted.takeOf ? wanted : newest

  if (!page || wanted === undefined) return <Waiting words="Reading the walkthroughs" />
  if (!open)
    return (
      <EmptyState title="No walkthrough yet" actions={<Button look="primary" onClick={() => goTo('bench')}>Go to the Bench</Button>}>
        <p>Open a swing on the Bench, press Record and talk it through. What you say, show and draw is kept here, to be played back and handed over as one video.</p>
      </EmptyState>
    )
  return (
    <div className="lesson">
      <WalkthroughList page={page} openId={open.id} text={text} onText={setText} onMore={() => setLimit((old) => Math.min(old + atOnce, mostLessons))} />
      <Opened key={open.id} walkthrough={open} />
    </div>
  )
}

/** So many lessons are in the list at first, and so many more each time its end comes near; words find those beyond `mostLessons`. */
const atOnce = 60
const mostLessons = 1200
/** A list that is longer can be looked through by words. */
const longList = 12

function WalkthroughList({ page: { items, total }, openId, text, onText, onMore }: {
  readonly page: Output<'walkthrough.page'>
  readonly openId: string
  readonly text: string
  readonly onText: (text: string) => void
  readonly onMore: () => void
}) {
  const students = useLibrary((library) => library.students)
  const end = useRef<HTMLLIElement>(null)
  const hasMore = items.length < total && items.length < mostLessons
  useEffect(() => {
    if (!hasMore || !end.current) return
    const observer = new IntersectionObserver(([entry]) => entry?.isIntersecting && onMore(), { rootMargin: '600px' })
    observer.observe(end.current)
    return () => observer.disconnect()
  })
  return (
    <nav className="lesson-list" aria-label="Walkthroughs">
      <h2>Walkthroughs</h2>
      {total > longList || text !== '' ? <input type="search" className="search" aria-label="Find a walkthrough" placeholder="Find a title, a student" value={text} onChange={(event) => onText(event.target.value)} /> : null}
      {items.length === 0 ? <p className="quiet">No walkthrough has these words.</p> : null}
      <ul>
        {items.map((each) => (
          <li key={each.id}>
            <button type="button" className="lesson-item" aria-current={each.id === openId} onClick={() => openInLesson(each.id)}>
              <span className="clip-text">{each.title}</span>
              <span className="quiet digits">{clockWords(each.durationMs)}</span>
              <span className="quiet clip-text">{students.find(({ id }) => id === each.studentId)?.name ?? 'no student'}</span>
              <span className="quiet">{minuteWords(each.createdAt)}</span>
              {each.state === 'recovered' ? <span className="lesson-recovered"><Warning /> recovered</span> : null}
            </button>
          </li>
        ))}
        {items.length < total ? <li ref={end} className="quiet">{(total - items.length).toLocaleString('en')} more</li> : null}
      </ul>
    </nav>
  )
}

function Opened({ walkthrough }: { readonly walkthrough: Walkthrough }) {
  const desk = useDesk()
  const [dialog, setDialog] = useState<'rename' | 'remove' | null>(null)
  const handoffs = useHandoffsOf(walkthrough.id) ?? []
  const takes = useTakesOf(walkthrough.id) ?? []
  const nowMs = useRef(0)
  const onRest = useCallback((ms: number) => void (nowMs.current = ms), [])
  useEffect(() => {
    // What was asked for stays asked for: a recording that has just ended may reach the list after the wish to see it.
    if (appStore.getState().lesson === null) appStore.setState({ lesson: { walkthroughId: walkthrough.id } })
  }, [walkthrough.id])

  return (
    <>
      <section className="lesson-stage" aria-label={walkthrough.title}>
        <header className="lesson-head">
          <h2 className="clip-text">{walkthrough.title}</h2>
          {walkthrough.state === 'recovered' ? (
            <p className="lesson-recovered"><Warning /> The recording was cut off; it is kept up to its last second on the disk.</p>
          ) : null}
          <Button look="plain" onClick={() => setDialog('rename')}>Rename</Button>
          <Button look="plain" onClick={() => setDialog('remove')}>Remove</Button>
        </header>
        <LessonPages walkthrough={walkthrough}><LessonEditing walkthrough={walkthrough} onRest={onRest} /></LessonPages>
      </section>
      <HandoffPanel walkthrough={walkthrough} handoffs={handoffs} restMs={nowMs} />
      {dialog === 'rename' ? <Rename walkthrough={walkthrough} onClose={() => setDialog(null)} /> : null}
      {dialog === 'remove' ? (
        <Confirm
          title={`Remove "${walkthrough.title}"`}
          goes={[`${clockWords(walkthrough.durationMs)} of sound and everything shown with it`, ...(takes.length ? [`${takes.length} take${takes.length === 1 ? '' : 's'} recorded for it`] : []), ...(handoffs.length ? [`${handoffs.length} hand-off${handoffs.length === 1 ? '' : 's'} in the library`] : [])]}
          stays="The clips and the marks on them stay."
          act="Remove walkthrough"
          onDo={() => attempt(() => desk.call('walkthrough.remove', { id: walkthrough.id }))}
          onClose={() => setDialog(null)}
        />
      ) : null}
    </>
  )
}

function Rename({ walkthrough, onClose }: { readonly walkthrough: Walkthrough; readonly onClose: () => void }) {
  const desk = useDesk()
  const [title, setTitle] = useState(walkthrough.title)
  const save = async () => {
    if (title.trim() === '') return
    if (await attempt(() => desk.call('walkthrough.rename', { id: walkthrough.id, title: title.trim() }))) onClose()
  }
  return (
    <Dialog
      title="Rename walkthrough"
      size="small"
      onClose={onClose}
      onSubmit={() => void save()}
      actions={<><Button onClick={onClose}>Cancel</Button><Button look="primary" disabled={title.trim() === ''} onClick={() => void save()}>Rename</Button></>}
    >
      <TextField label="Title" value={title} autoFocus onFocus={(event) => event.target.select()} onChange={(event) => setTitle(event.target.value)} />
    </Dialog>
  )
}
