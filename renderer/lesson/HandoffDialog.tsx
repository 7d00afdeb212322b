import { useEffect, useState } from 'react'
import type { HandoffSettings, Walkthrough } from '../../shared/contract/walkthrough.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk } from '../ui/desk.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { Check, Choices, TextField } from '../ui/Field.tsx'
import { attempt, tellFault } from '../ui/notices.ts'
import { isoDay } from '../ui/words.ts'
import { HandoffPreview } from './HandoffPreview.tsx'

const sizes = [{ value: '1080p', words: '1080p' }, { value: '720p', words: '720p, smaller file' }] as const
const orientations = [{ value: 'landscape', words: 'Landscape' }, { value: 'portrait', words: 'Portrait' }] as const
const rates = [{ value: '30', words: '30 a second' }, { value: '60', words: '60 a second' }] as const

/** How the video is to be, and by when. */
export function HandoffDialog({ walkthrough, atMs, onClose }: { readonly walkthrough: Walkthrough; readonly atMs: number; readonly onClose: () => void }) {
  const desk = useDesk()
  const [settings, setSettings] = useState<HandoffSettings>({ size: '1080p', orientation: 'landscape', fps: 30, title: walkthrough.title })
  const [most, setMost] = useState('')
  const [promisedOn, setPromisedOn] = useState('')
  const [captionCount, setCaptionCount] = useState(0)
  const [busy, setBusy] = useState(false)
  useEffect(() => {
    desk.call('settings.get', {}).then(({ handoff }) => {
      setSettings((old) => ({ ...old, ...handoff }))
      setMost(handoff.sizeGoalMb ? String(handoff.sizeGoalMb) : '')
    }, tellFault)
    desk.call('captions.get', { id: walkthrough.id }).then(({ captions }) => setCaptionCount(captions.length), tellFault)
  }, [desk, walkthrough.id])
  const set = (patch: Partial<HandoffSettings>) => setSettings((old) => ({ ...old, ...patch }))
  const megabytes = most.trim() === '' ? null : Number(most.replace(',', '.'))
  const mostFault = megabytes !== null && !(megabytes >= 1 && megabytes <= 100_000) ? 'A number of megabytes, 1 or more; empty for no limit.' : undefined
  const captions = captionCount > 0 && (settings.captions ?? true)
  const start = async () => {
    if (mostFault) return
    setBusy(true)
    const { size, orientation, fps } = settings
    const kept = { size, orientation, fps, sizeGoalMb: megabytes, captions: settings.captions ?? true }
    const started = await attempt(async () => {
      await desk.call('settings.set', { handoff: kept })
      return desk.call('handoff.start', { walkthroughId: walkthrough.id, settings: { ...settings, ...kept, captions }, to: null, promisedOn: promisedOn || null })
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
      actions={<><Button onClick={onClose}>Cancel</Button><Button look="primary" disabled={busy || mostFault !== undefined} onClick={() => void start()}>{busy ? 'Queueing' : 'Make it'}</Button></>}
    >
      <div className="handoff-dialog">
        <div className="handoff-choices">
          <TextField label="Title" value={settings.title} maxLength={120} hint="Stands in the file; nothing else about the student does." onChange={(event) => set({ title: event.target.value })} />
          <Choices label="Size" choices={sizes} value={settings.size} onChoose={(size) => set({ size })} />
          <Choices label="Way round" choices={orientations} value={settings.orientation} onChoose={(orientation) => set({ orientation })} />
          <Choices label="Pictures" choices={rates} value={String(settings.fps) as '30' | '60'} onChoose={(fps) => set({ fps: fps === '60' ? 60 : 30 })} />
          <div className="handoff-pair">
            <TextField label="At most, MB" inputMode="decimal" value={most} placeholder="no limit" {...(mostFault ? { fault: mostFault } : {})} onChange={(event) => setMost(event.target.value)} />
            <TextField label="Promised for" type="date" min={isoDay(Date.now())} value={promisedOn} onChange={(event) => setPromisedOn(event.target.value)} />
          </div>
          {captionCount > 0
            ? <Check label={`Put in the ${captionCount === 1 ? 'caption' : `${captionCount} captions`}`} checked={captions} onCheck={(on) => set({ captions: on })} hint="The student's player can switch them on." />
            : null}
          <p className="quiet">It is made in the background, the soonest promised first; you can go on working.{megabytes ? ' A limit may take two or three tries, each as long as the first.' : ''}</p>
        </div>
        <HandoffPreview walkthrough={walkthrough} settings={settings} atMs={atMs} />
      </div>
    </Dialog>
  )
}
