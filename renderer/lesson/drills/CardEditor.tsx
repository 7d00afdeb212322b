import { useMemo, useState } from 'react'
import { bodyParts, drillAreas, drillTextSchema, type BodyPart, type DrillArea, type DrillCard, type DrillText } from '../../../shared/contract/drill.ts'
import { partWords } from '../../../shared/plan/safety.ts'
import { areaTitles } from '../../../shared/plan/words.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk, useLibrary } from '../../ui/desk.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { Check, Choices, Select, TextArea, TextField } from '../../ui/Field.tsx'
import { attempt } from '../../ui/notices.ts'
import { dayWords, viewWords } from '../../ui/words.ts'
import { ClipFinder } from '../../ui/ClipFinder.tsx'
import { useClip, useNewestClips } from '../../ui/useRecords.ts'
import { useLessonWork } from '../lessonWork.tsx'
import { DoseFields } from './Prescribed.tsx'

/** The newest clips stand in the list; any other is found by a word. */
const mostClips = 100
const find = 'find a clip'

const bare = (area: DrillArea, title: string): DrillText =>
  ({ title, area, changes: '', needs: [], how: [], feel: '', dose: { sets: 2, repetitions: 8, daysAWeek: 4 }, film: '', mistake: '', loads: [], swing: 'slow' })

const swings = [{ value: 'none', words: 'No swing' }, { value: 'slow', words: 'Slow or part swings' }, { value: 'full', words: 'Swings at speed' }] as const
const textOf = ({ id: _id, origin: _origin, clipId: _clip, ...text }: DrillCard): DrillText => text
const lines = (text: string): string[] => text.split('\n').map((line) => line.trim()).filter((line) => line !== '')

/** Writes a card, or the coach's own version of one: every part of it, with a clip that demonstrates it. */
export function CardEditor({ card, area, title, onSaved, onClose }: {
  /** Null for a new one. */
  readonly card: DrillCard | null
  readonly area: DrillArea
  readonly title: string
  readonly onSaved: (id: string) => void
  readonly onClose: () => void
}) {
  const desk = useDesk()
  const { steps } = useLessonWork()
  const students = useLibrary((library) => library.students)
  const [text, setText] = useState<DrillText>(() => (card ? textOf(card) : bare(area, title)))
  const [how, setHow] = useState(() => text.how.join('\n'))
  const [needs, setNeeds] = useState(() => text.needs.join(', '))
  const [clipId, setClipId] = useState(card?.clipId ?? '')
  const [finding, setFinding] = useState(false)
  const newest = useNewestClips(mostClips)
  const chosen = useClip(clipId || null)
  const [faults, setFaults] = useState<Readonly<Record<string, string>>>({})
  const set = (patch: Partial<DrillText>): void => setText((old) => ({ ...old, ...patch }))
  const choices = useMemo(() => [{ value: '', words: 'None' }, ...[...(chosen && !newest?.some(({ id }) => id === chosen.id) ? [chosen] : []), ...(newest ?? [])].map((clip) => ({
    value: clip.id, words: [students.find(({ id }) => id === clip.studentId)?.name ?? 'No student', viewWords[clip.view].toLowerCase(), clip.club, dayWords(clip.takenInAt), clip.fileName].filter(Boolean).join(', '),
  })), { value: find, words: 'Find another clip' }], [newest, chosen, students])

  const save = async (): Promise<void> => {
    const parsed = drillTextSchema.safeParse({ ...text, how: lines(how), needs: needs.split(',').map((word) => word.trim()).filter((word) => word !== '') })
    if (!parsed.success) return setFaults(Object.fromEntries(parsed.error.issues.map((issue) => [String(issue.path[0]), `${issue.message[0]!.toUpperCase()}${issue.message.slice(1)}.`])))
    const saved = await attempt(() => desk.call('drill.save', { ...parsed.data, id: card?.id ?? null, clipId: clipId === '' ? null : clipId }))
    if (!saved) return
    onSaved(saved.id)
    onClose()
  }
  const goBack = (): void => {
    if (!card) return
    const { origin, ...before } = card
    void steps.act(origin === 'copy' ? 'Took back your version of a card' : 'Removed a card', () => desk.call('drill.remove', { id: card.id }), () => desk.call('drill.save', before))
    onClose()
  }
  return (
    <Dialog
      title={card ? (card.origin === 'starter' ? `Your version of “${card.title}”` : `Edit “${card.title}”`) : 'Write a drill card'}
      size="large"
      onClose={onClose}
      actions={
        <>
          {card && card.origin !== 'starter' ? <Button look="danger" onClick={goBack}>{card.origin === 'copy' ? 'Back to the card as it came' : 'Remove this card'}</Button> : null}
          <Button onClick={onClose}>Cancel</Button>
          <Button look="primary" onClick={() => void save()}>Save the card</Button>
        </>
      }
    >
      <div className="card-editor">
        <div className="fields">
          <TextField label="Title" value={text.title} maxLength={80} fault={faults.title ?? null} onChange={(event) => set({ title: event.target.value })} />
          <Select label="Part of the swing" value={text.area} choices={drillAreas.map((value) => ({ value, words: areaTitles[value] }))} onChoose={(value) => set({ area: value })} />
          <TextArea label="What it changes" rows={3} value={text.changes} maxLength={400} fault={faults.changes ?? null} onChange={(event) => set({ changes: event.target.value })} />
          <TextArea label="How to do it" hint="A line for each step, eight at most. Lead and trail serve both hands." rows={7} value={how} fault={faults.how ?? null} onChange={(event) => setHow(event.target.value)} />
          <TextArea label="The feel" hint="One sentence." rows={2} value={text.feel} maxLength={240} fault={faults.feel ?? null} onChange={(event) => set({ feel: event.target.value })} />
        </div>
        <div className="fields">
          <div className="field"><span className="quiet small">Dose</span><DoseFields title={text.title || 'the card'} dose={text.dose} onChange={(dose) => set({ dose })} /></div>
          <TextField label="What it needs" hint="Words with commas between; the club is understood." value={needs} fault={faults.needs ?? null} onChange={(event) => setNeeds(event.target.value)} />
          <TextArea label="How to film it" rows={2} value={text.film} maxLength={300} fault={faults.film ?? null} onChange={(event) => set({ film: event.target.value })} />
          <TextArea label="Common mistake" rows={2} value={text.mistake} maxLength={300} fault={faults.mistake ?? null} onChange={(event) => set({ mistake: event.target.value })} />
          <Choices label="How much of the swing it takes" choices={swings} value={text.swing} onChoose={(swing) => set({ swing })} />
          <fieldset className="choices">
            <legend>What it loads</legend>
            <div className="card-loads">{bodyParts.map((part: BodyPart) => <Check key={part} label={partWords[part]} checked={text.loads.includes(part)} onCheck={(on) => set({ loads: bodyParts.filter((each) => (each === part ? on : text.loads.includes(each))) })} />)}</div>
          </fieldset>
          <Select label="Clip that demonstrates it" hint="From your library. It goes out only with the consent of whoever is in it." value={clipId} choices={choices} onChoose={(id) => (id === find ? setFinding(true) : setClipId(id))} />
          {finding ? <ClipFinder title="The clip that demonstrates it" onFind={setClipId} onClose={() => setFinding(false)} /> : null}
          {clipId ? <video className="card-clip" src={desk.mediaUrl(`review/${clipId}.mp4`)} controls muted loop playsInline aria-label="The demonstration" /> : null}
        </div>
      </div>
    </Dialog>
  )
}
