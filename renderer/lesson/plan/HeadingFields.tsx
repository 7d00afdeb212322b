import { useEffect, useState } from 'react'
import type { PlanSettings } from '../../../shared/contract/plan.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk } from '../../ui/desk.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { Choices, TextArea, TextField } from '../../ui/Field.tsx'
import { attempt } from '../../ui/notices.ts'

const papers = [{ value: 'a4', words: 'A4' }, { value: 'letter', words: 'Letter' }] as const

/** What stands at the head of every plan; said once. */
export function HeadingFields({ onClose }: { readonly onClose: () => void }) {
  const desk = useDesk()
  const [settings, setSettings] = useState<PlanSettings | null>(null)
  const [lines, setLines] = useState('')
  useEffect(() => {
    void attempt(async () => {
      const { plan } = await desk.call('settings.get', {})
      setSettings(plan)
      setLines(plan.lines.join('\n'))
    })
  }, [desk])
  const save = async (): Promise<void> => {
    if (!settings) return
    const plan = { ...settings, lines: lines.split('\n').map((line) => line.trim().slice(0, 80)).filter((line) => line !== '').slice(0, 3) }
    if (await attempt(() => desk.call('settings.set', { plan }))) onClose()
  }
  if (!settings) return null
  return (
    <Dialog title="Your heading and paper" size="small" onClose={onClose} onSubmit={() => void save()} actions={<><Button onClick={onClose}>Cancel</Button><Button look="primary" onClick={() => void save()}>Save</Button></>}>
      <div className="fields">
        <TextField label="Name" value={settings.name} maxLength={80} hint="As it stands at the head of every plan." onChange={(event) => setSettings({ ...settings, name: event.target.value })} />
        <TextArea label="How to reach you" rows={3} hint="Three lines at most." value={lines} onChange={(event) => setLines(event.target.value)} />
        <Choices label="Paper" choices={papers} value={settings.paper} onChoose={(paper) => setSettings({ ...settings, paper })} />
      </div>
    </Dialog>
  )
}
