import { useState } from 'react'
import type { Input } from '../../shared/contract/operations.ts'
import type { Swing } from '../../shared/contract/student.ts'
import { openOnBench } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { Check, Choices, Select, type Choice } from '../ui/Field.tsx'
import type { ClipSummary } from '../ui/libraryStore.ts'
import { attempt } from '../ui/notices.ts'
import { byteWords, durationWords, handednessWords, minuteWords, pairingWords, rateNumber, viewWords } from '../ui/words.ts'
import { clubListId, rateListId } from './ChoiceLists.tsx'
import { rateFault, readRate } from './clubs.ts'
import { CommitField } from '../ui/CommitField.tsx'
import { stripStyle, useStrip } from '../ui/filmstrip.ts'
import { useClip, useSwingsOfClips } from '../ui/useRecords.ts'
import { pairOf, sides } from './groups.ts'
import { openSheet } from './roomStore.ts'

type Patch = Input<'clip.update'>['patch']
const mixed = 'mixed'

const basisWords = { tag: "from the phone's slow-motion tag", file: "from the file's own frame times", coach: 'set by you' } as const

/** One clip or several: what they are, and all that can be changed about them. */
export function ClipInspector({ clips }: { readonly clips: readonly ClipSummary[] }) {
  const desk = useDesk()
  const students = useLibrary((library) => library.students)
  const one = clips.length === 1 ? clips[0]! : null
  const change = (patch: Patch): void => void attempt(() => Promise.all(clips.map((clip) => desk.call('clip.update', { id: clip.id, patch }))))
  /** The value that all of the clips have, else `mixed`. */
  const shared = <T extends string>(read: (clip: ClipSummary) => T): T | typeof mixed => {
    const first = read(clips[0]!)
    return clips.every((clip) => read(clip) === first) ? first : mixed
  }
  const withMixed = <V extends string>(value: V | typeof mixed, choices: readonly Choice<V>[]): readonly Choice<V | typeof mixed>[] =>
    value === mixed ? [{ value: mixed, words: 'Several' }, ...choices] : choices
  const student = shared((clip) => clip.studentId ?? '')
  const view = shared((clip) => clip.view)
  const hand = shared((clip) => clip.handedness)
  const club = shared((clip) => clip.club)

  return (
    <div className="inspector-body">
      {one ? <Look clip={one} /> : <h2>{clips.length} clips chosen</h2>}
      {clips.length <= 2 ? <Pairing key={clips.map(({ id }) => id).join(' ')} clips={clips} /> : null}
      <div className="fields">
        <Select className="wide" label="Student" value={student} choices={withMixed(student, [{ value: '', words: 'No student yet' }, ...students.map(({ id, name }) => ({ value: id, words: name }))])}
          onChoose={(id) => id !== mixed && change({ studentId: id || null })} />
        <Select label="View" value={view} choices={withMixed(view, (['face-on', 'down-the-line', 'other'] as const).map((value) => ({ value, words: viewWords[value] })))}
          onChoose={(value) => value !== mixed && change({ view: value })} />
        <Select label="Player" value={hand} choices={withMixed(hand, (['right', 'left'] as const).map((value) => ({ value, words: handednessWords[value] })))}
          onChoose={(value) => value !== mixed && change({ handedness: value })} />
        <div className="wide"><Check label="Filmed mirrored" hint="As a phone’s front camera may save it: shown turned back, and measured as it was." checked={clips.every(({ mirrored }) => mirrored)} onCheck={(mirrored) => change({ mirrored })} /></div>
        <CommitField key={`club ${clips[0]!.id}`} label="Club" value={club === mixed ? '' : club} placeholder={club === mixed ? 'Several' : 'Not said'} list={clubListId} onCommit={(text) => change({ club: text })} />
        {one ? (
          <>
            <CommitField key={`rate ${one.id}`} label="Filmed at, frames/s" value={rateNumber(one.captureRate)} list={rateListId} inputMode="decimal" check={rateFault}
              onCommit={(text) => change({ captureRate: readRate(text) })} />
            <p className="wide field-hint">The file plays at {rateNumber(one.playRate)}; the rate it was filmed at is {basisWords[one.captureRateBasis]}. Speeds and tempo go by it, so correct it where it is wrong.</p>
            <CommitField key={`note ${one.id}`} className="wide" label="Note" value={one.note} placeholder="For you alone" onCommit={(text) => change({ note: text })} />
          </>
        ) : null}
      </div>
      {one ? <Facts clip={one} /> : null}
      <Button look="danger" onClick={() => openSheet({ kind: 'remove-clips', clipIds: clips.map((clip) => clip.id) })}>{one ? 'Delete clip' : `Delete ${clips.length} clips`}</Button>
    </div>
  )
}

/** The clip's picture, and a slider through its filmstrip. */
function Look({ clip }: { readonly clip: ClipSummary }) {
  const desk = useDesk()
  const [at, setAt] = useState<{ id: string; frame: number } | null>(null)
  const strip = useStrip(clip.id, true)
  const frame = at?.id === clip.id ? at.frame : null
  return (
    <div className="look">
      <div className="look-well">
        <img src={desk.mediaUrl(`poster/${clip.id}.jpg`)} alt={`${viewWords[clip.view]}, first look at ${clip.fileName}`} data-mirrored={clip.mirrored} />
        {strip && frame !== null ? <span className="clip-strip" style={stripStyle(strip, frame, { width: 264, height: 232 })} data-mirrored={clip.mirrored} /> : null}
      </div>
      <input type="range" aria-label="Look through the clip" min={0} max={Math.max(1, (strip?.frames.length ?? 2) - 1)} value={frame ?? 0} disabled={!strip}
        aria-valuetext={strip && frame !== null ? `frame ${strip.frames[frame] ?? 0} of ${clip.frameCount}` : 'poster'}
        onChange={(event) => setAt({ id: clip.id, frame: Number(event.target.value) })} />
      <h2 className="clip-text" title={clip.fileName}>{clip.fileName}</h2>
    </div>
  )
}

/** Opening, pairing and parting. */
function Pairing({ clips }: { readonly clips: readonly ClipSummary[] }) {
  const desk = useDesk()
  const swings = useSwingsOfClips(clips.map(({ id }) => id))
  const [first, second] = clips as readonly [ClipSummary, ClipSummary?]
  const pair = pairOf(first.id, swings ?? [])
  const other = useClip(pair === null ? null : pair.leftClipId === first.id ? pair.rightClipId : pair.leftClipId)
  if (!swings) return null
  const isThisPair = pair !== null && (!second || pairOf(second.id, swings)?.id === pair.id)
  if (!isThisPair) return second ? <PairThese one={first} other={second} swings={swings} /> : <Button look="primary" onClick={() => openOnBench({ clipId: first.id })}>Open on the Bench</Button>
  return (
    <div className="pairing">
      <Button look="primary" onClick={() => openOnBench({ swingId: pair.id })}>Open both on the Bench</Button>
      {second ? null : <Button onClick={() => openOnBench({ clipId: first.id })}>Open this one alone</Button>}
      {second || !other ? null : <p className="quiet">Paired with {other.fileName}, {viewWords[other.view].toLowerCase()}</p>}
      <Choices label="The two clips are" value={pair.pairing} choices={(['one-swing', 'two-swings'] as const).map((value) => ({ value, words: pairingWords[value] }))}
        onChoose={(pairing) => void attempt(() => desk.call('swing.save', { ...pair, pairing }))} />
      <Button onClick={() => void attempt(() => desk.call('swing.remove', { id: pair.id }))}>Unpair</Button>
    </div>
  )
}

function PairThese({ one, other, swings }: { readonly one: ClipSummary; readonly other: ClipSummary; readonly swings: readonly Swing[] }) {
  const desk = useDesk()
  const [pairing, setPairing] = useState<'one-swing' | 'two-swings'>('two-swings')
  const taken = [one, other].find((clip) => pairOf(clip.id, swings))
  const apart = one.studentId !== other.studentId
  const pairThem = (): void => {
    const [left, right] = sides(one, other)
    void attempt(() => desk.call('swing.save', {
      id: null, studentId: one.studentId, deliveryId: one.deliveryId, title: [one.club, viewWords[left.view], viewWords[right.view]].filter(Boolean).join(', '),
      leftClipId: left.id, rightClipId: right.id, pairing, tie: null,
    }))
  }
  const why = taken ? `${taken.fileName} is paired already: unpair it first.` : apart ? 'They are of two students: give both the same student first.' : null
  return (
    <div className="pairing">
      <Choices label="The two clips are" value={pairing} choices={(['one-swing', 'two-swings'] as const).map((value) => ({ value, words: pairingWords[value] }))} onChoose={setPairing} />
      <Button look="primary" disabled={why !== null} onClick={pairThem}>Pair these two</Button>
      {why ? <p className="quiet">{why}</p> : null}
    </div>
  )
}

function Facts({ clip }: { readonly clip: ClipSummary }) {
  const slow = clip.captureRate / clip.playRate
  const rows: readonly (readonly [string, string])[] = [
    ['Picture', `${clip.width} x ${clip.height}, ${clip.codec}${clip.hdr ? ', HDR' : ''}`],
    ['Frames', `${clip.frameCount} in ${durationWords(clip.seconds)}`],
    ...(Math.abs(slow - 1) > 0.01 ? [['Real time', durationWords(clip.seconds / slow)] as const] : []),
    ['Sound', clip.hasSound ? 'Yes' : 'None'],
    ['Size', byteWords(clip.bytes)],
    ['Filmed', clip.filmedAt === null ? 'The file does not say' : minuteWords(clip.filmedAt)],
    ['Came in', minuteWords(clip.takenInAt)],
  ]
  return <dl className="facts">{rows.map(([name, value]) => <div key={name}><dt>{name}</dt><dd>{value}</dd></div>)}</dl>
}
