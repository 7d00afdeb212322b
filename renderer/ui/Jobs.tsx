import { useEffect, useId, useState } from 'react'
import type { Job } from '../../shared/contract/job.ts'
import { Button } from './Button.tsx'
import { useDesk, useLibrary } from './desk.tsx'
import { isOpen, jobsSummary, waitingWords } from './jobTimes.ts'
import { attempt } from './notices.ts'
import { FaultNote } from './Notices.tsx'
import { ProgressBar } from './ProgressBar.tsx'
import { timeLeft } from './words.ts'

/** The same bad file stays bad: another try is offered only where it could go otherwise. */
const canTryAgain = ({ state, fault }: Job): boolean => state === 'cancelled' || (state === 'failed' && fault?.kind !== 'bad-media' && fault?.kind !== 'bad-input')

/** One job: where it stands and what can be done about it. */
export function JobRow({ job, line = [] }: { readonly job: Job; /** Ids of all that wait with it, in order; left out, its turn cannot be changed here. */ readonly line?: readonly string[] }) {
  const desk = useDesk()
  const isLive = isOpen(job)
  const at = line.indexOf(job.id)
  // A sentence that names the file stands in the place of its name.
  const isNamed = job.state === 'failed' && job.fault !== null && job.fault.message.includes(job.title)
  const move = (before: string | null) => void attempt(() => desk.call('job.move', { id: job.id, before }))
  return (
    <li className="job" data-state={job.state}>
      <div className="job-head">
        {isNamed ? <FaultNote message={job.fault!.message} remedy={job.fault!.remedy} /> : <span className="clip-text job-title" title={job.title}>{job.title}</span>}
        {at > 0 ? <Button look="plain" onClick={() => move(line[at - 1]!)} aria-label={`${job.title}: earlier`}>Earlier</Button> : null}
        {at >= 0 && at < line.length - 1 ? <Button look="plain" onClick={() => move(line[at + 2] ?? null)} aria-label={`${job.title}: later`}>Later</Button> : null}
        {isLive ? <Button look="plain" onClick={() => void attempt(() => desk.call('job.cancel', { id: job.id }))} aria-label={`Cancel ${job.title}`}>Cancel</Button> : null}
        {canTryAgain(job)
          ? <Button look="plain" onClick={() => void attempt(() => desk.call('job.retry', { id: job.id }))} aria-label={`Try again: ${job.title}`}>Try again</Button>
          : null}
      </div>
      {job.state === 'waiting' ? <p className="quiet">{waitingWords(job)}</p> : null}
      {job.state === 'running' ? <ProgressBar label={job.title} value={job.progress} step={job.step} secondsLeft={job.secondsLeft} /> : null}
      {job.state === 'done' ? <p className="quiet">{job.step || 'Done'}</p> : null}
      {job.state === 'cancelled' ? <p className="quiet">Cancelled; nothing of it was kept</p> : null}
      {job.state === 'failed' && job.fault && !isNamed ? <FaultNote message={job.fault.message} remedy={job.fault.remedy} /> : null}
    </li>
  )
}

/** The indicator in the top bar and the list behind it. */
export function JobsIndicator() {
  const desk = useDesk()
  const jobs = useLibrary((library) => library.jobs)
  const id = useId()
  const open = jobs.filter(isOpen)
  const settled = jobs.filter((job) => !isOpen(job))
  const line = jobs.filter(({ kind, state }) => kind === 'handoff' && state === 'waiting').map((job) => job.id)
  const done = open.length ? open.reduce((sum, job) => sum + job.progress, 0) / open.length : 0
  return (
    <>
      <button type="button" className="button button-plain jobs-button" popoverTarget={id} aria-haspopup="dialog">
        <span>{jobsSummary(jobs, timeLeft)}</span>
        <span className="jobs-line" aria-hidden="true" style={{ scale: `${done} 1` }} />
      </button>
      <div id={id} popover="auto" role="dialog" aria-label="Jobs" className="jobs-panel">
        <header>
          <h2>Jobs</h2>
          <PauseVideos />
          <Button look="plain" disabled={!settled.length} onClick={() => void attempt(() => desk.call('job.clear', {}))}>Clear finished</Button>
        </header>
        {jobs.length
          ? <ul>{[...open, ...settled.toReversed()].map((job) => <JobRow key={job.id} job={job} line={line} />)}</ul>
          : <p className="quiet">Take-ins and hand-offs show here while they run. You can go on working meanwhile.</p>}
      </div>
    </>
  )
}

/** Videos can be put off while the coach needs the machine whole. */
function PauseVideos() {
  const desk = useDesk()
  const [paused, setPaused] = useState<boolean | null>(null)
  useEffect(() => {
    const look = (): void => void desk.call('settings.get', {}).then(({ handoffsPaused }) => setPaused(handoffsPaused), () => setPaused(null))
    look()
    return desk.listen((event) => {
      if (event.type === 'changed' && event.what === 'settings') look()
    })
  }, [desk])
  if (paused === null) return null
  return <Button look="plain" aria-pressed={paused} onClick={() => void attempt(() => desk.call('job.pause', { paused: !paused }))}>{paused ? 'Go on with videos' : 'Pause videos'}</Button>
}
