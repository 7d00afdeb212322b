import { useEffect, useState } from 'react'
import { consentGap } from '../../shared/contract/student.ts'
import type { Handoff, HandoffSettings, Walkthrough } from '../../shared/contract/walkthrough.ts'
import { goTo } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { Choices, TextField, Warning } from '../ui/Field.tsx'
import { attempt, tellFault } from '../ui/notices.ts'
import { ProgressBar } from '../ui/ProgressBar.tsx'
import { byteWords, isoDay, minuteWords } from '../ui/words.ts'
import { useSendGaps } from './sendGaps.ts'
import { HandoffPreview } from './HandoffPreview.tsx'

const sizes = [{ value: '1080p', words: '1080p' }, { value: '720p', words: '720p, smaller file' }] as const
const orientations = [{ value: 'landscape', words: 'Landscape' }, { value: 'portrait', words: 'Portrait' }] as const
const rates = [{ value: '30', words: '30 a second' }, { value: '60', words: '60 a second' }] as const

/** What the student gets: made here, followed here, watched here. */
export function HandoffPanel({ walkthrough, handoffs, atMs }: { readonly walkthrough: Walkthrough; readonly handoffs: readonly Handoff[]; readonly atMs: number }) {
  const [asking, setAsking] = useState(false)
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
      <Button look="primary" disabled={gap !== null || sendGaps.length > 0} onClick={() => setAsking(true)}>Make the video</Button>
      <ul className="handoff-list">
        {newestFirst.map((handoff) => <HandoffRow key={handoff.id} handoff={handoff} onWatch={() => setWatched(handoff.id)} />)}
      </ul>
      {newestFirst.length === 0 ? <p className="quiet">Nothing made from this walkthrough yet.</p> : null}
      {asking ? <HandoffDialog walkthrough={walkthrough} atMs={atMs} onClose={() => setAsking(false)} /> : null}
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
  const words = `${settings.size}, ${settings.orientation}, ${settings.fps} a second`
  const act = (name: 'job.cancel' | 'job.retry') => void attempt(() => desk.call(name, { id: handoff.jobId }))
  return (
    <li className="handoff-row">
      <p><strong className="clip-text">{settings.title || 'Untitled'}</strong><span className="quiet">{words}</span></p>
      {handoff.path ? (
        <>
          <p className="quiet">{minuteWords(handoff.createdAt)}{handoff.bytes === null ? '' : `, ${byteWords(handoff.bytes)}`}</p>
          <div className="handoff-acts">
            <Button onClick={onWatch}>Watch</Button>
            <a className="button button-normal" href={desk.mediaUrl(`handoff/${handoff.id}.mp4`)} download={`${fileWords(settings.title)}.mp4`}>Save a copy</a>
          </div>
        </>
      ) : job && (job.state === 'running' || job.state === 'waiting') ? (
        <>
          <ProgressBar label={`Making ${settings.title || 'the video'}`} value={job.progress} step={job.state === 'waiting' ? 'Waits for its turn' : job.step} secondsLeft={job.secondsLeft} />
          <Button onClick={() => act('job.cancel')}>Cancel</Button>
        </>
      ) : (
        <>
          <p className="lesson-fault"><Warning /> {job?.fault?.message ?? (job?.state === 'cancelled' ? 'Cancelled.' : 'Not finished.')} {job?.fault?.remedy ?? ''}</p>
          {job ? <Button onClick={() => act('job.retry')}>Try again</Button> : null}
        </>
      )}
    </li>
  )
}

/** A title as a file name on any system. */
const fileWords = (title: string): string => title.replaceAll(/[^\p{L}\p{N} _-]+/gu, '').trim().slice(0, 80) || 'lesson'

function HandoffDialog({ walkthrough, atMs, onClose }: { readonly walkthrough: Walkthrough; readonly atMs: number; readonly onClose: () => void }) {
  const desk = useDesk()
  const [settings, setSettings] = useState<HandoffSettings>({ size: '1080p', orientation: 'landscape', fps: 30, title: walkthrough.title })
  const [busy, setBusy] = useState(false)
  useEffect(() => {
    desk.call('settings.get', {}).then(({ handoff }) => setSettings((old) => ({ ...old, ...handoff })), tellFault)
  }, [desk])
  const set = (patch: Partial<HandoffSettings>) => setSettings((old) => ({ ...old, ...patch }))
  const start = async () => {
    setBusy(true)
    const { size, orientation, fps } = settings
    const started = await attempt(async () => {
      await desk.call('settings.set', { handoff: { size, orientation, fps } })
      return desk.call('handoff.start', { walkthroughId: walkthrough.id, settings, to: null })
    })
    setBusy(false)
    if (started) onClose()
  }
  return (
    <Dialog
      title="Make the video"
      size="large"
      onClose={onClose}
      onSubmit={() => void start()}
      actions={<><Button onClick={onClose}>Cancel</Button><Button look="primary" disabled={busy} onClick={() => void start()}>{busy ? 'Queueing' : 'Make it'}</Button></>}
    >
      <div className="handoff-dialog">
        <div className="handoff-choices">
          <TextField label="Title" value={settings.title} maxLength={120} hint="Stands in the file; nothing else about the student does." onChange={(event) => set({ title: event.target.value })} />
          <Choices label="Size" choices={sizes} value={settings.size} onChoose={(size) => set({ size })} />
          <Choices label="Way round" choices={orientations} value={settings.orientation} onChoose={(orientation) => set({ orientation })} />
          <Choices label="Pictures" choices={rates} value={String(settings.fps) as '30' | '60'} onChoose={(fps) => set({ fps: fps === '60' ? 60 : 30 })} />
          <p className="quiet">It is made in the background; you can go on working.</p>
        </div>
        <HandoffPreview walkthrough={walkthrough} settings={settings} atMs={atMs} />
      </div>
    </Dialog>
  )
}
