import { useEffect, useMemo, useState } from 'react'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import { appStore, goTo, openInLesson, useApp } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { Confirm, Dialog } from '../ui/Dialog.tsx'
import { EmptyState, Waiting } from '../ui/EmptyState.tsx'
import { TextField, Warning } from '../ui/Field.tsx'
import { attempt } from '../ui/notices.ts'
import { minuteWords } from '../ui/words.ts'
import { clockWords } from './clockWords.ts'
import { HandoffPanel } from './HandoffPanel.tsx'
import { LessonEditing } from './editing/LessonEditing.tsx'
import { LessonPages } from './LessonPages.tsx'
import './lesson.css'

/** The walkthroughs, the one that is open played back, and what the student gets of it. */
export function LessonRoom() {
  const loaded = useLibrary((library) => library.loaded)
  const walkthroughs = useLibrary((library) => library.walkthroughs)
  const asked = useApp((state) => state.lesson)
  const newestFirst = useMemo(() => walkthroughs.filter((each) => each.state !== 'recording' && !each.takeOf).toSorted((a, b) => b.createdAt - a.createdAt), [walkthroughs])
  const open = newestFirst.find((each) => each.id === asked?.walkthroughId) ?? newestFirst[0]

  if (!loaded) return <Waiting words="Reading the walkthroughs" />
  if (!open)
    return (
      <EmptyState title="No walkthrough yet" actions={<Button look="primary" onClick={() => goTo('bench')}>Go to the Bench</Button>}>
        <p>Open a swing on the Bench, press Record and talk it through. What you say, show and draw is kept here, to be played back and handed over as one video.</p>
      </EmptyState>
    )
  return (
    <div className="lesson">
      <WalkthroughList walkthroughs={newestFirst} openId={open.id} />
      <Opened key={open.id} walkthrough={open} />
    </div>
  )
}

function WalkthroughList({ walkthroughs, openId }: { readonly walkthroughs: readonly Walkthrough[]; readonly openId: string }) {
  const students = useLibrary((library) => library.students)
  return (
    <nav className="lesson-list" aria-label="Walkthroughs">
      <h2>Walkthroughs</h2>
      <ul>
        {walkthroughs.map((each) => (
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
      </ul>
    </nav>
  )
}

function Opened({ walkthrough }: { readonly walkthrough: Walkthrough }) {
  const desk = useDesk()
  const [dialog, setDialog] = useState<'rename' | 'remove' | null>(null)
  const handoffs = useLibrary((library) => library.handoffs).filter(({ walkthroughId }) => walkthroughId === walkthrough.id)
  const takes = useLibrary((library) => library.walkthroughs).filter(({ takeOf }) => takeOf === walkthrough.id)
  const [nowMs, setNowMs] = useState(0)
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
        <LessonPages walkthrough={walkthrough}><LessonEditing walkthrough={walkthrough} onRest={setNowMs} /></LessonPages>
      </section>
      <HandoffPanel walkthrough={walkthrough} handoffs={handoffs} atMs={nowMs} />
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
