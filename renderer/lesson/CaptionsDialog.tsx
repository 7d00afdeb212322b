import { useEffect, useRef, useState } from 'react'
import type { Caption } from '../../shared/walkthrough/captions.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk } from '../ui/desk.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { Warning } from '../ui/Field.tsx'
import { attempt, faultOf } from '../ui/notices.ts'
import { captionFault, captionTime, readCaptionTime } from './captionTimes.ts'

interface Row {
  readonly key: number
  readonly from: string
  readonly to: string
  readonly text: string
}

/** Milliseconds that a caption lasts until the coach says otherwise. */
const usual = 3000

/** Words under the picture: typed here at the instant that stands on the player, or taken over from a WebVTT file. */
export function CaptionsDialog({ lessonId, atMs, onClose }: { readonly lessonId: string; readonly atMs: number; readonly onClose: () => void }) {
  const desk = useDesk()
  const [rows, setRows] = useState<readonly Row[] | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  const nextKey = useRef(0)
  const [added, setAdded] = useState<number | null>(null)
  const file = useRef<HTMLInputElement>(null)
  const rowOf = ({ fromMs, toMs, text }: Caption): Row => ({ key: nextKey.current++, from: captionTime(fromMs), to: captionTime(toMs), text })
  const show = ({ captions }: { readonly captions: readonly Caption[] }) => setRows(captions.map(rowOf))
  useEffect(() => {
    desk.call('captions.get', { id: lessonId }).then(show, (error: unknown) => setFault(faultOf(error).message))
  }, [desk, lessonId])

  const set = (key: number, patch: Partial<Row>) => setRows((old) => old?.map((row) => (row.key === key ? { ...row, ...patch } : row)) ?? null)
  const add = () => {
    const row = rowOf({ fromMs: atMs, toMs: atMs + usual, text: '' })
    setAdded(row.key)
    setRows((old) => [...(old ?? []), row])
  }
  const read = async (chosen: File | undefined) => {
    if (!chosen) return
    setFault(null)
    await desk.call('captions.import', { id: lessonId, name: chosen.name, text: await chosen.text() }).then(show, (error: unknown) => {
      const { message, remedy } = faultOf(error)
      setFault([message, remedy].filter(Boolean).join(' '))
    })
  }
  const save = async () => {
    const written = (rows ?? []).filter(({ text }) => text.trim() !== '')
    const wrong = written.map(captionFault).find((each) => each !== null)
    if (wrong) return setFault(wrong)
    const captions = written.map(({ from, to, text }) => ({ fromMs: readCaptionTime(from)!, toMs: readCaptionTime(to)!, text: text.trim() }))
    if (await attempt(() => desk.call('captions.set', { id: lessonId, captions }))) onClose()
  }
  return (
    <Dialog
      title="Captions"
      size="large"
      onClose={onClose}
      onSubmit={() => void save()}
      actions={<><Button onClick={onClose}>Cancel</Button><Button look="primary" disabled={rows === null} onClick={() => void save()}>Save captions</Button></>}
    >
      <div className="captions-acts">
        <Button onClick={add}>{`Add one at ${captionTime(atMs)}`}</Button>
        <Button onClick={() => file.current?.click()}>Import a WebVTT file</Button>
        <input ref={file} type="file" accept=".vtt,text/vtt" hidden aria-label="WebVTT file" onChange={(event) => { void read(event.target.files?.[0]); event.target.value = '' }} />
        <p className="quiet">A caption goes with what you say under it, whatever you cut later. An imported file takes the place of what is here.</p>
      </div>
      {fault ? <p className="lesson-fault" role="alert"><Warning /> {fault}</p> : null}
      {rows?.length === 0 ? <p className="quiet">No captions yet. Move the player to where the words begin, then add one; or import a file.</p> : null}
      <ul className="captions-list">
        {rows?.map(({ key, from, to, text }, i) => (
          <li key={key}>
            <input className="digits" aria-label={`Caption ${i + 1} from`} value={from} onChange={(event) => set(key, { from: event.target.value })} />
            <input className="digits" aria-label={`Caption ${i + 1} to`} value={to} onChange={(event) => set(key, { to: event.target.value })} />
            {/* One goes on writing in a caption that was just added. */}
            <textarea autoFocus={key === added} rows={1} maxLength={1000} aria-label={`Caption ${i + 1}`} value={text} onChange={(event) => set(key, { text: event.target.value })} />
            <Button look="plain" aria-label={`Remove caption ${i + 1}`} onClick={() => setRows((old) => old?.filter((row) => row.key !== key) ?? null)}>Remove</Button>
          </li>
        ))}
      </ul>
    </Dialog>
  )
}
