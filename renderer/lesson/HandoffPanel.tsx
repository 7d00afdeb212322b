import { useState, type RefObject } from 'react'
import type { Job } from '../../shared/contract/job.ts'
import { consentGap } from '../../shared/contract/student.ts'
import type { Handoff, Walkthrough } from '../../shared/contract/walkthrough.ts'
import { goTo } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { TextField, Warning } from '../ui/Field.tsx'
import { attempt } from '../ui/notices.ts'
import { waitingWords } from '../ui/jobTimes.ts'
import { ProgressBar } from '../ui/ProgressBar.tsx'
import { byteWords, isoDay, minuteWords } from '../ui/words.ts'
import { useSendGaps } from './sendGaps.ts'
import { CaptionsDialog } from './CaptionsDialog.tsx'
import { HandoffDialog } from './HandoffDialog.tsx'

/** What the student gets: made here, followed here, watched here. */
export function HandoffPanel({ walkthrough, handoffs, restMs }: { readonly walkthrough: Walkthrough; readonly handoffs: readonly Handoff[]; /** Where the lesson rests, milliseconds. */ readonly restMs: RefObject<number> }) {
  /** Where the lesson rested when the dialog was opened. */
  const [asking, setAsking] = useState<number | null>(null)
  const [captioning, setCaptioning] = useState<number | null>(null)
  const [watched, setWatched] = useState<string | null>(null)
  const desk = useDesk()
  const student = useLibrary((library) => library.students).find(({ id }) => id === walkthrough.studentId)
  const gap = student ? consentGap(student, isoDay(Date.now())) : null
  const sendGaps = useSendGaps(walkthrough.id)
  const newestFirst = handoffs.toSorted((a, b) => b.createdAt - a.createdAt)
  return (
    <aside className="lesson-handoffs" aria-label="Hand-offs">
      <h2>Hand-off</h2>
      <p className="quiet">One video with your voice and marks that any phone plays.</p>
      {gap ? (
        <div className="lesson-gap" role="alert">
          <p><Warning /> {gap}</p>
          <Button onClick={() => goTo('arrivals')}>Go to the student</Button>
        </div>
      ) : null}
      {sendGaps.length > 0 ? (
        <div className="lesson-gap" role="alert">
          {sendGaps.map((why) => <p key={why}><Warning /> {why}</p>)}
          <Button onClick={() => goTo('shelf')}>Go to the Shelf</Button>
        </div>
      ) : null}
      <div className="handoff-acts">
        <Button look="primary" disabled={gap !== null || sendGaps.length > 0} onClick={() => setAsking(restMs.current)}>Make the video</Button>
        <Button onClick={() => setCaptioning(restMs.current)}>Captions</Button>
      </div>
      <ul className="handoff-list">
        {newestFirst.map((handoff) => <HandoffRow key={handoff.id} handoff={handoff} onWatch={() => setWatched(handoff.id)} />)}
      </ul>
      {newestFirst.length === 0 ? <p className="quiet">No video of this lesson on the list.</p> : null}
      {asking === null ? null : <HandoffDialog walkthrough={walkthrough} atMs={asking} onClose={() => setAsking(null)} />}
      {captioning === null ? null : <CaptionsDialog lessonId={walkthrough.id} atMs={captioning} onClose={() => setCaptioning(null)} />}
      {watched ? (
        <Dialog title="As the student sees it" size="large" onClose={() => setWatched(null)}>
          <video className="handoff-video" src={desk.mediaUrl(`handoff/${watched}.mp4`)} controls autoPlay aria-label="The finished video">
            <track kind="captions" />
          </video>
        </Dialog>
      ) : null}
    </aside>
  )
}

function HandoffRow({ handoff, onWatch }: { readonly handoff: Handoff; readonly onWatch: () => void }) {
  const desk = useDesk()
  const job = useLibrary((library) => library.jobs).find(({ id }) => id === handoff.jobId)
  const { settings } = handoff
  const words = [settings.size, settings.orientation, `${settings.fps} a second`, settings.sizeGoalMb ? `at most ${settings.sizeGoalMb} MB` : '', settings.captions ? 'captions' : ''].filter(Boolean).join(', ')
  const saveCaptions = () => void attempt(async () => saveText((await desk.call('captions.text', { id: handoff.walkthroughId })).text, `${fileWords(settings.title)}.vtt`))
  const [removing, setRemoving] = useState(false)
  const remove = (file: 'keep' | 'delete') => attempt(() => desk.call('handoff.remove', { id: handoff.id, file }))
  const act = (name: 'job.cancel' | 'job.retry') => void attempt(() => desk.call(name, { id: handoff.jobId }))
  return (
    <li className="handoff-row">
      <p><strong className="clip-text">{settings.title || 'Untitled'}</strong><span className="quiet">{words}</span></p>
      {handoff.path ? (
        <>
          <p className="quiet">{minuteWords(handoff.createdAt)}{handoff.bytes === null ? '' : `, ${byteWords(handoff.bytes)}`}</p>
          {job?.state === 'done' && job.step !== 'Ready' ? <p className="quiet">{job.step}</p> : null}
          <div className="handoff-acts">
            <Button onClick={onWatch}>Watch</Button>
            <a className="button button-normal" href={desk.mediaUrl(`handoff/${handoff.id}.mp4`)} download={`${fileWords(settings.title)}.mp4`}>Save a copy</a>
            {settings.captions ? <Button onClick={saveCaptions}>Save captions</Button> : null}
            <Button look="plain" onClick={() => setRemoving(true)}>Remove</Button>
          </div>
          {removing ? <RemoveVideo handoff={handoff} path={handoff.path} onRemove={remove} onClose={() => setRemoving(false)} /> : null}
        </>
      ) : job && (job.state === 'running' || job.state === 'waiting') ? (
        <>
          {job.state === 'waiting'
            ? <p className={job.retryAt === null ? 'quiet' : 'lesson-fault'}>{job.retryAt === null ? null : <Warning />} {waitingWords({ ...job, promisedOn: null })}</p>
            : <ProgressBar label={`Making ${settings.title || 'the video'}`} value={job.progress} step={job.step} secondsLeft={job.secondsLeft} />}
          <div className="handoff-acts">
            {job.state === 'waiting' ? <PromisedFor job={job} /> : null}
            {job.retryAt === null ? null : <Button onClick={() => act('job.retry')}>Try now</Button>}
            <Button onClick={() => act('job.cancel')}>Cancel</Button>
          </div>
        </>
      ) : (
        <>
          <p className="lesson-fault"><Warning /> {job?.fault?.message ?? (job?.state === 'cancelled' ? 'Cancelled.' : 'Not finished.')} {job?.fault?.remedy ?? ''}</p>
          <div className="handoff-acts">
            {job ? <Button onClick={() => act('job.retry')}>Try again</Button> : null}
            <Button look="plain" onClick={() => void remove('keep')}>Remove</Button>
          </div>
        </>
      )}
    </li>
  )
}

/** The day that a video is promised for, while it waits: another day gives it another turn. */
function PromisedFor({ job }: { readonly job: Job }) {
  const desk = useDesk()
  const today = isoDay(Date.now())
  /** A day that is still being typed; null: as it is promised. */
  const [typed, setTyped] = useState<string | null>(null)
  const promise = (day: string) => void attempt(() => desk.call('job.promise', { id: job.id, promisedOn: day || null })).then(() => setTyped(null))
  return (
    <TextField
      label="Promised for" type="date" min={today} value={typed ?? job.promisedOn ?? ''}
      onChange={({ target: { value } }) => {
        setTyped(value)
        // Half a year number is a day too, long past.
        if (value >= today) promise(value)
      }}
      onBlur={() => typed !== null && (typed === '' || typed >= today ? promise(typed) : setTyped(null))}
    />
  )
}

function RemoveVideo({ handoff: { settings, bytes }, path, onRemove, onClose }: {
  readonly handoff: Handoff
  readonly path: string
  readonly onRemove: (file: 'keep' | 'delete') => Promise<unknown>
  readonly onClose: () => void
}) {
  const act = (file: 'keep' | 'delete') => void onRemove(file).then(onClose)
  return (
    <Dialog
      title={`Remove \u201c${settings.title || 'Untitled'}\u201d`}
      size="small"
      onClose={onClose}
      actions={<><Button onClick={onClose}>Cancel</Button><Button onClick={() => act('keep')}>Keep the file</Button><Button look="danger" onClick={() => act('delete')}>Delete the file</Button></>}
    >
      <div className="remove-video">
        <p>The video goes off this list. The lesson and its recordings stay, so it can be made again.</p>
        <p>Its file{bytes === null ? '' : `, ${byteWords(bytes)},`} can stay where it is or go for good:</p>
        <p className="quiet">{path}</p>
      </div>
    </Dialog>
  )
}

/** Hands a text to the browser as a file to save. */
function saveText(text: string, name: string): void {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(new Blob([text], { type: 'text/vtt' }))
  link.download = name
  link.click()
  setTimeout(() => URL.revokeObjectURL(link.href), 1000)
}

/** A title as a file name on any system. */
const fileWords = (title: string): string => title.replaceAll(/[^\p{L}\p{N} _-]+/gu, '').trim().slice(0, 80) || 'lesson'
