import { useState } from 'react'
import type { Permission, ShelfItem } from '../../shared/contract/shelf.ts'
import { consentGap } from '../../shared/contract/student.ts'
import { Button } from '../ui/Button.tsx'
import { CommitField } from '../ui/CommitField.tsx'
import { useLibrary } from '../ui/desk.tsx'
import { Check, Select, Warning, type Choice } from '../ui/Field.tsx'
import { dayWords, durationWords, handednessWords, isoDay, rateNumber, viewWords } from '../ui/words.ts'
import { besideOf, openItem, studentAndReference } from './open.ts'
import { useShelf, useShelfState } from './shelfContext.tsx'
import { itemName, permissionWords } from './shelfWords.ts'
import { Still } from './Still.tsx'
import { TagField } from './TagField.tsx'

/** What is chosen: what it is, what it may be used for, where it came from; and what can be done with it. */
export function Details() {
  const chosen = useShelfState((state) => state.chosen)
  const items = useShelfState((state) => state.chosenItems)
  if (chosen.length === 0) return <NothingChosen />
  const [one] = items
  if (!one) return <div className="inspector-body quiet" role="status">Fetching</div>
  return (
    <div className="inspector-body">
      {chosen.length === 1 ? <One item={one} /> : <Several items={items} count={chosen.length} />}
      <Notes keys={chosen} items={items} />
      {chosen.length === 1 ? <Facts item={one} /> : null}
    </div>
  )
}

function One({ item }: { readonly item: ShelfItem }) {
  const shelf = useShelf()
  const [playing, setPlaying] = useState(false)
  return (
    <>
      <div className="details-stills" onPointerEnter={() => setPlaying(true)} onPointerLeave={() => setPlaying(false)}>{item.clips.map((clip) => <Still key={clip.id} clip={clip} width={item.clips.length === 2 ? 134 : 270} height={232} playing={playing} />)}</div>
      <div className="details-head"><h2>{itemName(item)}</h2><p className="quiet">{[item.club, dayWords(item.date)].filter(Boolean).join(', ')}</p></div>
      <div className="details-acts">
        <Button look="primary" onClick={() => openItem(item)}>Open on the Bench</Button>
        <Button title="Beside what stands on the Bench (B)" onClick={() => besideOf([item])}>Set beside</Button>
        <Button onClick={() => shelf.openSheet({ kind: 'send', item })}>Write to a file</Button>
      </div>
    </>
  )
}

function Several({ items, count }: { readonly items: readonly ShelfItem[]; readonly count: number }) {
  const [a, b] = items
  const pair = count === 2 && a && b ? studentAndReference(a, b) : null
  return (
    <>
      <div className="details-head"><h2>{count.toLocaleString('en')} swings chosen</h2>{count === 2 ? null : <p className="quiet">Choose just two to set one beside the other.</p>}</div>
      {pair ? (
        <div className="details-pair">
          {pair.map((item, i) => (
            <figure key={item.key}>
              <Still clip={item.clips[0]!} width={132} height={150} playing={false} />
              <figcaption><strong>{i === 0 ? 'Looked at' : 'Held against'}</strong><span className="clip-text">{itemName(item)}</span><span className="clip-text quiet">{[item.club, dayWords(item.date)].filter(Boolean).join(', ')}</span></figcaption>
            </figure>
          ))}
          <Button look="primary" title="Key B" onClick={() => besideOf(items)}>Set them side by side</Button>
        </div>
      ) : null}
    </>
  )
}

const mixed = 'mixed'

function Notes({ keys, items }: { readonly keys: readonly string[]; readonly items: readonly ShelfItem[] }) {
  const shelf = useShelf()
  const every = (read: (item: ShelfItem) => boolean): boolean => items.every(read)
  const same = <T,>(read: (item: ShelfItem) => T): T | null => (items.every((item) => read(item) === read(items[0]!)) ? read(items[0]!) : null)
  const permission = same((item) => item.permission)
  const choices: Choice<Permission | typeof mixed>[] = (['not-said', 'lessons-only', 'may-be-sent'] as const).map((value) => ({ value, words: permissionWords[value] }))
  const about = { 'not-said': "The student's consent alone decides; other students do not get it.", 'lessons-only': 'No hand-off that shows it can be made.', 'may-be-sent': 'May be shown to other students, as far as consent goes.', mixed: 'They differ; what you choose holds for all.' } as const
  return (
    <div className="fields details-notes">
      <Check label="Favourite" checked={every((item) => item.favourite)} onCheck={(favourite) => void shelf.note(keys, { favourite }, favourite ? 'Made a favourite' : 'No favourite any more')} />
      <Check label="Reference" hint="A model to hold others against" checked={every((item) => item.reference)} onCheck={(reference) => void shelf.note(keys, { reference }, reference ? 'Made a reference' : 'No reference any more')} />
      <Select label="What it may be used for" hint={about[permission ?? mixed]} value={permission ?? mixed} choices={permission === null ? [{ value: mixed, words: 'Several' }, ...choices] : choices}
        onChoose={(value) => value !== mixed && void shelf.note(keys, { permission: value }, permissionWords[value])} />
      <CommitField key={`source ${keys.join()}`} label="Where it came from" value={same((item) => item.source) ?? ''} placeholder={same((item) => item.source) === null ? 'Several' : 'Filmed by you, given by whom'} onCommit={(source) => void shelf.note(keys, { source }, 'Changed where it came from')} />
      <CommitField key={`licence ${keys.join()}`} label="Licence or agreement" value={same((item) => item.licence) ?? ''} placeholder={same((item) => item.licence) === null ? 'Several' : 'What was agreed, and when'} onCommit={(licence) => void shelf.note(keys, { licence }, 'Changed the licence')} />
      <TagField keys={keys} items={items} />
      <Gathered keys={keys} items={items} />
    </div>
  )
}

/** The collections that hold what is chosen; each can be left, others entered. */
function Gathered({ keys, items }: { readonly keys: readonly string[]; readonly items: readonly ShelfItem[] }) {
  const shelf = useShelf()
  const collections = useShelfState((state) => state.collections)
  const held = collections.filter(({ id }) => items.some((item) => item.collections.includes(id)))
  return (
    <div className="field">
      <span className="field-title quiet">Collections</span>
      <ul className="chips">
        {held.map(({ id, name }) => <li key={id}><button type="button" className="chip" aria-label={`Take out of ${name}`} title="Take out" onClick={() => void shelf.gather(id, keys, false)}>{name}<span aria-hidden="true">×</span></button></li>)}
        <li><Button look="plain" onClick={() => shelf.openSheet({ kind: 'gather', keys })}>Put into one</Button></li>
      </ul>
    </div>
  )
}

function Facts({ item }: { readonly item: ShelfItem }) {
  const student = useLibrary((library) => library.students).find(({ id }) => id === item.studentId) ?? null
  const [today] = useState(() => isoDay(Date.now()))
  const gap = student && consentGap(student, today)
  return (
    <dl className="facts">
      {gap ? <div className="facts-gap"><dt>Consent</dt><dd><Warning /> {gap}</dd></div> : null}
      <div><dt>Player</dt><dd>{handednessWords[item.handedness]}</dd></div>
      {item.clips.map((clip) => <div key={clip.id}><dt>{viewWords[clip.view]}</dt><dd>{clip.fileName}, {durationWords(clip.seconds)}, filmed at {rateNumber(clip.captureRate)}, {clip.width} × {clip.height}</dd></div>)}
      {item.title ? <div><dt>Called</dt><dd>{item.title}</dd></div> : null}
      {item.note ? <div><dt>Note</dt><dd>{item.note}</dd></div> : null}
      {item.question ? <div><dt>Asked</dt><dd>{item.question}</dd></div> : null}
      {item.feel ? <div><dt>Felt</dt><dd>{item.feel}</dd></div> : null}
    </dl>
  )
}

function NothingChosen() {
  return (
    <div className="inspector-body quiet">
      <p>Choose a swing to see where it came from and what it may be used for. Hold Ctrl or Shift to choose several.</p>
      <p>With two chosen, B sets one beside the other on the Bench. With one, B sets it beside what stands there.</p>
    </div>
  )
}
