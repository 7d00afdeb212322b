import { useEffect, useState } from 'react'
import type { Settings } from '../../shared/contract/operations.ts'
import { Button } from './Button.tsx'
import { useDesk, useLibrary } from './desk.tsx'
import { Dialog } from './Dialog.tsx'
import { Choices, Select } from './Field.tsx'
import { FolderField } from './FolderField.tsx'
import { attempt, faultOf } from './notices.ts'
import { FaultNote } from './Notices.tsx'
import { byteWords, countWords } from './words.ts'

/** The local day as 2026-04-30, which sorts. */
const today = (): string => new Date().toLocaleDateString('sv-SE')

type Said = { readonly kind: 'busy' | 'done'; readonly words: string } | { readonly kind: 'fault'; readonly message: string; readonly remedy: string | null }

/** What is kept and where; copying it out and back; looking it over; the few settings that are the coach's own. */
export function LibraryDialog({ onClose }: { readonly onClose: () => void }) {
  const desk = useDesk()
  const info = useLibrary((library) => library.info)
  const [backupTo, setBackupTo] = useState('')
  const [restoreFrom, setRestoreFrom] = useState('')
  const [restoreTo, setRestoreTo] = useState('')
  const [said, setSaid] = useState<Said | null>(null)
  const busy = said?.kind === 'busy'

  const run = async (words: string, work: () => Promise<string>): Promise<void> => {
    setSaid({ kind: 'busy', words })
    try {
      setSaid({ kind: 'done', words: await work() })
    } catch (error) {
      setSaid({ kind: 'fault', ...faultOf(error) })
    }
  }
  const backup = () => run('Copying the library out', async () => {
    const { path, bytes } = await desk.call('library.backup', { to: backupTo.trim() })
    return `${byteWords(bytes)} copied to ${path}.`
  })
  const restore = () => run('Bringing the backup back', async () => {
    const { path, bytes } = await desk.call('library.restore', { from: restoreFrom.trim(), to: restoreTo.trim() })
    return `${byteWords(bytes)} restored. Start Crossbearing with --library "${path}" to open it.`
  })
  const check = () => run('Reading every clip again', async () => {
    const { sound, findings } = await desk.call('library.check', { deep: true })
    return sound ? 'The library is sound: every clip is what it was when it came in.' : findings.join(' ')
  })

  return (
    <Dialog title="Library and settings" onClose={onClose}>
      <section className="library-part">
        {info ? (
          <p>
            <span className="library-folder">{info.folder}</span>
            <span className="quiet">{countWords({ student: info.students, clip: info.clips, walkthrough: info.walkthroughs })}, {byteWords(info.bytes)}</span>
          </p>
        ) : null}
        <Button disabled={busy} onClick={() => void check()}>Look it over</Button>
      </section>
      <section className="library-part">
        <FolderField label="Back up to a new folder" hint="It must not exist yet; best on another disk." value={backupTo} newName={`Crossbearing backup ${today()}`} disabled={busy} onChange={setBackupTo} />
        <Button disabled={busy || backupTo.trim() === ''} onClick={() => void backup()}>Back up</Button>
      </section>
      <section className="library-part">
        <FolderField label="Restore a backup from" value={restoreFrom} disabled={busy} onChange={setRestoreFrom} />
        <FolderField label="as a library in a new folder" value={restoreTo} newName={`Crossbearing library ${today()}`} disabled={busy} onChange={setRestoreTo} />
        <Button disabled={busy || restoreFrom.trim() === '' || restoreTo.trim() === ''} onClick={() => void restore()}>Restore</Button>
      </section>
      <OwnSettings />
      <div className="library-said" role="status">
        {said?.kind === 'fault' ? <FaultNote message={said.message} remedy={said.remedy} /> : said ? <p>{said.words}</p> : null}
      </div>
    </Dialog>
  )
}

const countIns = ['0', '1', '3', '5'] as const

function OwnSettings() {
  const desk = useDesk()
  const [settings, setSettings] = useState<Settings | null>(null)
  useEffect(() => {
    void attempt(async () => setSettings(await desk.call('settings.get', {})))
  }, [desk])
  if (!settings) return null
  const set = (patch: Partial<Settings>) => void attempt(async () => setSettings(await desk.call('settings.set', patch)))
  const countIn = countIns.find((each) => each === String(settings.countInSeconds)) ?? '3'
  return (
    <section className="library-part">
      <Select
        label="Count-in before recording"
        value={countIn}
        choices={countIns.map((value) => ({ value, words: value === '0' ? 'None' : `${value} s` }))}
        onChoose={(value) => set({ countInSeconds: Number(value) })}
      />
      <Choices
        label="What to draw with"
        value={settings.palette}
        choices={[{ value: 'at-pointer', words: 'Opens at the pointer' }, { value: 'docked', words: 'Stands beside the panes' }]}
        onChoose={(palette) => set({ palette })}
      />
    </section>
  )
}
