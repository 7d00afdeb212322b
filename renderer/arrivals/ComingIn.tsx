import { useStore } from 'zustand'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { JobRow } from '../ui/Jobs.tsx'
import { comesIn, isOpen, secondsLeftOf } from '../ui/jobTimes.ts'
import { attempt } from '../ui/notices.ts'
import { ProgressBar } from '../ui/ProgressBar.tsx'
import { timeLeft } from '../ui/words.ts'
import { useToldClips } from '../ui/useRecords.ts'
import { bringingStore, cancelBringing } from './bringIn.ts'

/** Take-ins that are under way or went wrong. Those that went well stand among the clips. */
export function ComingIn() {
  const desk = useDesk()
  const jobs = useLibrary((library) => library.jobs)
  const batches = useStore(bringingStore, (state) => state.batches)
  const takeIns = jobs.filter(comesIn)
  const open = takeIns.filter(isOpen)
  const wrong = takeIns.filter((job) => job.state === 'failed')
  // A file that was taken in before: its clip is older than the job that found it.
  const done = takeIns.filter((job) => job.state === 'done' && job.result !== null)
  const clips = useToldClips(done.map(({ result }) => result))
  const repeats = done.filter((job, i) => (clips[i]?.takenInAt ?? Infinity) < job.createdAt)
  const settled = [...wrong, ...repeats]
  if (!batches.length && !open.length && !settled.length) return null
  const heading = open.length ? `${open.length} on the way in, ${timeLeft(secondsLeftOf(open))}` : batches.length ? 'On the way in' : [wrong.length ? `${wrong.length} could not be taken in` : '', repeats.length ? `${repeats.length} known already` : ''].filter(Boolean).join(', ')
  return (
    <section className="coming-in" aria-label="Coming in">
      <header>
        <h2>{heading}</h2>
        {open.length > 1 ? <Button look="plain" onClick={() => void attempt(() => Promise.all(open.map((job) => desk.call('job.cancel', { id: job.id }))))}>Cancel all</Button> : null}
        {settled.length && !open.length ? <Button look="plain" onClick={() => void attempt(() => desk.call('job.clear', {}))}>Clear</Button> : null}
      </header>
      <ul>
        {batches.map((batch) => (
          <li key={batch.id} className="job">
            <div className="job-head">
              <span className="clip-text job-title">{batch.files === 1 ? batch.now : `${batch.files} files`}</span>
              <Button look="plain" onClick={() => cancelBringing(batch.id)}>Cancel</Button>
            </div>
            <ProgressBar label={`Reading ${batch.now}`} value={batch.progress} step={`Reading ${batch.now}`} secondsLeft={batch.secondsLeft} />
          </li>
        ))}
        {[...open, ...settled].map((job) => <JobRow key={job.id} job={job} />)}
      </ul>
    </section>
  )
}
