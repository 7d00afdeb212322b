import { useState } from 'react'
import { bundleEnding } from '../../shared/contract/bundle.ts'
import type { ShelfItem } from '../../shared/contract/shelf.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk } from '../ui/desk.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { Check, TextField, Warning } from '../ui/Field.tsx'
import { FolderField } from '../ui/FolderField.tsx'
import { attempt, tellDone } from '../ui/notices.ts'
import { isoDay } from '../ui/words.ts'
import { useShelf, useShelfState } from './shelfContext.tsx'
import { itemName } from './shelfWords.ts'

/** The Shelf's dialogs, one at a time. */
export function Sheets() {
  const shelf = useShelf()
  const sheet = useShelfState((state) => state.sheet)
  const close = (): void => shelf.openSheet(null)
  if (sheet?.kind === 'collection') return <CollectionSheet key={sheet.id} id={sheet.id} keys={sheet.keys} onClose={close} />
  if (sheet?.kind === 'gather') return <GatherSheet keys={sheet.keys} onClose={close} />
  if (sheet?.kind === 'send') return <SendSheet item={sheet.item} onClose={close} />
  return null
}

function CollectionSheet({ id, keys, onClose }: { readonly id: string | null; readonly keys: readonly string[]; readonly onClose: () => void }) {
  const shelf = useShelf()
  const old = useShelfState((state) => state.collections).find((one) => one.id === id)
  const [name, setName] = useState(old?.name ?? '')
  const save = async (): Promise<void> => {
    if (name.trim() !== '' && await shelf.saveCollection(id, name.trim(), keys)) onClose()
  }
  return (
    <Dialog title={old ? `Rename ${old.name}` : 'New collection'} size="small" onClose={onClose} onSubmit={() => void save()}
      actions={<><Button onClick={onClose}>Cancel</Button><Button look="primary" disabled={name.trim() === ''} onClick={() => void save()}>{old ? 'Rename' : keys.length > 0 ? 'Make it and put them in' : 'Make it'}</Button></>}>
      <TextField label="Name" value={name} maxLength={80} placeholder="Good tops" onChange={(event) => setName(event.target.value.replaceAll('"', ''))} />
    </Dialog>
  )
}

function GatherSheet({ keys, onClose }: { readonly keys: readonly string[]; readonly onClose: () => void }) {
  const shelf = useShelf()
  const collections = useShelfState((state) => state.collections)
  const put = (id: string): void => {
    void shelf.gather(id, keys, true)
    onClose()
  }
  return (
    <Dialog title={keys.length === 1 ? 'Put the swing into a collection' : `Put ${keys.length.toLocaleString('en')} swings into a collection`} size="small" onClose={onClose} actions={<><Button onClick={onClose}>Cancel</Button><Button onClick={() => shelf.openSheet({ kind: 'collection', id: null, keys })}>New collection</Button></>}>
      {collections.length === 0 ? <p className="quiet">There is none yet: make the first.</p> : null}
      <ul className="gather">{collections.map(({ id, name, count }) => <li key={id}><button type="button" className="way" onClick={() => put(id)}><span className="clip-text">{name}</span><span className="numbers quiet">{count}</span></button></li>)}</ul>
    </Dialog>
  )
}

const fileWords = (text: string): string => text.replaceAll(/[^\p{L}\p{N} _-]+/gu, '').trim().slice(0, 60) || 'Swing'

function SendSheet({ item, onClose }: { readonly item: ShelfItem; readonly onClose: () => void }) {
  const desk = useDesk()
  const [withName, setWithName] = useState(true)
  const fileName = `${fileWords([withName ? itemName(item) : 'Swing', item.club, isoDay(item.date)].filter(Boolean).join(' '))}${bundleEnding}`
  const [to, setTo] = useState('')
  const [busy, setBusy] = useState(false)
  const start = async (): Promise<void> => {
    if (to.trim() === '' || busy) return
    setBusy(true)
    const job = await attempt(() => desk.call('shelf.bundle', { key: item.key, to: to.trim(), withName }))
    setBusy(false)
    if (!job) return
    tellDone('The swing is being written; Jobs at the top says how far it is.')
    onClose()
  }
  return (
    <Dialog title="Write the swing to a file" onClose={onClose} onSubmit={() => void start()} actions={<><Button onClick={onClose}>Cancel</Button><Button look="primary" disabled={to.trim() === '' || busy} onClick={() => void start()}>Write it</Button></>}>
      <div className="fields">
        <p>One file with {item.clips.length === 2 ? 'both clips' : 'the clip'}, points, positions, marks, scales and the record of consent, for another library or another coach. Where it was filmed and with which phone is left out; so are your notes.</p>
        <FolderField label="File to write" value={to} newName={fileName} hint={`Its name ends in ${bundleEnding}.`} onChange={setTo} />
        <Check label="With the player's name" hint="Without it nobody is named, in the consent neither." checked={withName} onCheck={(on) => {
            setWithName(on)
            setTo('')
          }} />
        {item.permission === 'lessons-only' ? <p className="facts-gap"><Warning /> It is marked as for your lessons only. The file says so, and wherever it is brought in it gets into no hand-off.</p> : null}
      </div>
    </Dialog>
  )
}
