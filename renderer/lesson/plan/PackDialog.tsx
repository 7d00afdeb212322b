import { useState } from 'react'
import type { Pack } from '../../../shared/contract/plan.ts'
import { useAsked, type Part } from '../../ui/asked.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk, useLibrary } from '../../ui/desk.tsx'
import { useHandoffsOf } from '../../ui/useRecords.ts'
import { Dialog } from '../../ui/Dialog.tsx'
import { Check, Choices, Select, TextField, Warning } from '../../ui/Field.tsx'
import { FolderField } from '../../ui/FolderField.tsx'
import { isOpen } from '../../ui/jobTimes.ts'
import { attempt } from '../../ui/notices.ts'
import { ProgressBar } from '../../ui/ProgressBar.tsx'
import { byteWords, countWords, minuteWords } from '../../ui/words.ts'
import { useLessonWork } from '../lessonWork.tsx'

const kinds = [{ value: 'zip', words: 'One zip file' }, { value: 'folder', words: 'A folder' }] as const
const parts: readonly Part[] = ['plans']

/** The video, the plan and its pictures together, with a manifest of what is in it. */
export function PackDialog({ onClose }: { readonly onClose: () => void }) {
  const desk = useDesk()
  const { walkthrough } = useLessonWork()
  const videos = (useHandoffsOf(walkthrough.id) ?? []).filter(({ path }) => path !== null)
  const { answer: packs } = useAsked('plan.packs', { walkthroughId: walkthrough.id }, parts)
  const [kind, setKind] = useState<Pack['kind']>('zip')
  const [title, setTitle] = useState('Your lesson')
  const [chosenVideo, setVideoId] = useState<string | null>(null)
  const videoId = chosenVideo ?? videos[0]?.id ?? ''
  const [demonstrations, setDemonstrations] = useState(true)
  const [to, setTo] = useState('')
  const [jobId, setJobId] = useState<string | null>(null)
  const job = useLibrary((library) => library.jobs).find(({ id }) => id === jobId)
  const busy = job !== undefined && isOpen(job)
  const make = async (): Promise<void> => {
    const started = await attempt(() => desk.call('plan.pack', { walkthroughId: walkthrough.id, kind, title, videoId: videoId === '' ? null : videoId, demonstrations, to: to.trim() === '' ? null : to.trim() }))
    if (started) setJobId(started.id)
  }
  return (
    <Dialog
      title="Hand over everything"
      size="middle"
      onClose={onClose}
      onSubmit={() => void make()}
      actions={<><Button onClick={onClose}>Close</Button><Button look="primary" disabled={busy || title.trim() === ''} onClick={() => void make()}>{busy ? 'Putting it together' : kind === 'zip' ? 'Make the zip' : 'Make the folder'}</Button></>}
    >
      <div className="fields">
        <TextField label="Title" value={title} maxLength={120} hint="Names the files; nothing of the student stands in them but what you chose." onChange={(event) => setTitle(event.target.value)} />
        <Select label="Video" value={videoId} hint={videos.length === 0 ? 'None is finished yet: make it beside the plan, under Hand-off, or hand over without it.' : 'With its sound and marks.'} choices={[...videos.map((one) => ({ value: one.id, words: [one.settings.title || 'Untitled', one.settings.size, minuteWords(one.createdAt), one.bytes === null ? '' : byteWords(one.bytes)].filter(Boolean).join(', ') })), { value: '', words: 'No video' }]} onChoose={setVideoId} />
        <Choices label="As" choices={kinds} value={kind} onChoose={(value) => { setKind(value); setTo('') }} />
        <Check label="The clips that demonstrate the drills" checked={demonstrations} onCheck={setDemonstrations} hint="Where a card has one; without the phone's tags of place and device." />
        {kind === 'folder' ? <FolderField label="Into a new folder" hint="Empty: it stays in the library." value={to} newName={title.trim() || 'Lesson'} disabled={busy} onChange={setTo} /> : null}
      </div>
      {busy ? (
        <div className="pack-progress">
          <ProgressBar label={`Putting ${title} together`} value={job.progress} step={job.step} secondsLeft={job.secondsLeft} />
          <Button onClick={() => void attempt(() => desk.call('job.cancel', { id: job.id }))}>Stop it</Button>
        </div>
      ) : job?.state === 'failed' ? <p className="lesson-fault" role="alert"><Warning /> {[job.fault?.message, job.fault?.remedy].filter(Boolean).join(' ')}</p> : null}
      {packs && packs.length > 0 ? (
        <ul className="pack-list" aria-label="Put together before">
          {packs.map((pack) => (
            <li key={pack.id}>
              <p><strong className="clip-text">{pack.path.split(/[/\\]/).at(-1)}</strong><span className="quiet">{minuteWords(pack.createdAt)}, {byteWords(pack.bytes)}: {countWords(counted(pack))}</span></p>
              {pack.kind === 'zip' ? <a className="button button-normal" href={desk.mediaUrl(`pack/${pack.id}.zip`)} download={`${title.replaceAll(/[^\p{L}\p{N} _-]+/gu, '').trim() || 'lesson'}.zip`}>Save a copy</a> : <span className="quiet small pack-path">{pack.path}</span>}
            </li>
          ))}
        </ul>
      ) : null}
    </Dialog>
  )
}

function counted({ files }: Pack): Record<string, number> {
  const of = (what: Pack['files'][number]['what']): number => files.filter((file) => file.what === what).length
  return { video: of('video'), plan: of('plan-pdf'), page: of('plan-page'), picture: of('picture'), demonstration: of('demonstration') }
}
