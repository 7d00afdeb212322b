import { useEffect, useRef, useState } from 'react'
import type { Handedness, View } from '../../shared/contract/clip.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { BareSelect, Check, Choices, Select, TextArea, TextField } from '../ui/Field.tsx'
import { faultOf } from '../ui/notices.ts'
import { FaultNote } from '../ui/Notices.tsx'
import { byteWords, handednessWords, viewWords } from '../ui/words.ts'
import { bringIn } from './bringIn.ts'
import { clubListId, rateListId } from './ChoiceLists.tsx'
import { rateFault, readRate } from './clubs.ts'
import { blankStudent } from './studentDraft.ts'

interface Row { readonly file: File; readonly view: View | ''; readonly isGuess: boolean; readonly rate: string }

const newStudent = 'new'
const pairChoices = [
  { value: 'one-swing', words: 'One swing, two cameras' },
  { value: 'two-swings', words: 'Two swings, one after the other' },
  { value: 'none', words: 'Leave them single' },
] as const

/** Asks once for all the files of a batch what the files cannot tell, and starts. */
export function TakeInSheet({ files, studentId, onAddFiles, onClose }: {
  readonly files: readonly File[]; readonly studentId: string | null; readonly onAddFiles: () => void; readonly onClose: () => void
}) {
  const desk = useDesk()
  const students = useLibrary((library) => library.students)
  const [rows, setRows] = useState<readonly Row[]>([])
  const [student, setStudent] = useState(studentId ?? (students.length ? '' : newStudent))
  const [name, setName] = useState('')
  const [minor, setMinor] = useState(false)
  const [hand, setHand] = useState<Handedness | null>(null)
  const [club, setClub] = useState('')
  const [pair, setPair] = useState<(typeof pairChoices)[number]['value']>('two-swings')
  const [question, setQuestion] = useState('')
  const [feel, setFeel] = useState('')
  const [fault, setFault] = useState<{ message: string; remedy: string | null } | null>(null)
  const asked = useRef(new Set<File>())

  // Files may be added while the sheet is open: only the new ones are guessed at.
  useEffect(() => {
    const fresh = files.filter((file) => !asked.current.has(file))
    if (!fresh.length) return
    for (const file of fresh) asked.current.add(file)
    setRows((old) => [...old, ...fresh.map((file): Row => ({ file, view: '', isGuess: false, rate: '' }))])
    void desk.call('takeIn.guess', { fileNames: fresh.map((file) => file.name) }).then((guesses) => {
      setRows((old) => old.map((row) => {
        const guess = guesses[fresh.indexOf(row.file)]
        return guess?.view && row.view === '' ? { ...row, view: guess.view, isGuess: true } : row
      }))
      const known = guesses.find((guess) => guess.studentId)?.studentId
      const named = guesses.find((guess) => guess.studentName)?.studentName
      if (studentId === null && known) setStudent((old) => (old === '' || old === newStudent ? known : old))
      else if (named) setName((old) => old || named)
    }, () => undefined)
  }, [files, desk, studentId])

  const chosen = students.find((one) => one.id === student) ?? null
  const handedness = hand ?? chosen?.handedness ?? 'right'
  const patch = (at: number, change: Partial<Row>): void => setRows(rows.with(at, { ...rows[at]!, ...change }))
  const views = new Set(rows.map((row) => row.view))
  const canPair = rows.length > 1 && (views.has('') || (views.has('face-on') && views.has('down-the-line')))
  const badRate = rows.some((row) => row.rate.trim() !== '' && rateFault(row.rate.trim()) !== null)
  const ready = rows.length > 0 && !badRate && (student !== newStudent || name.trim() !== '')

  const start = async (): Promise<void> => {
    if (!ready) return
    try {
      const id = student === newStudent ? (await desk.call('student.save', { ...blankStudent, id: null, name: name.trim(), handedness, minor })).id : student || null
      void bringIn(
        desk,
        rows.map(({ file, view, rate }) => ({ file, view: view || null, captureRate: rate.trim() ? readRate(rate.trim()) : null })),
        { studentId: id, club: club.trim(), handedness, question: question.trim(), feel: feel.trim(), pair: canPair ? pair : 'none' },
      )
      onClose()
    } catch (error) {
      setFault(faultOf(error))
    }
  }

  return (
    <Dialog
      title={`Take in ${rows.length} ${rows.length === 1 ? 'file' : 'files'}`}
      size="large"
      onClose={onClose}
      onSubmit={() => void start()}
      actions={
        <>
          {fault ? <FaultNote {...fault} /> : <p className="quiet sheet-sum">{student === newStudent && name.trim() === '' ? "The new student's name is still missing." : <>{byteWords(rows.reduce((sum, row) => sum + row.file.size, 0))} will be copied into the library. The files themselves stay as they are.</>}</p>}
          <Button onClick={onClose}>Cancel</Button>
          <Button look="primary" type="submit" disabled={!ready}>Take in</Button>
        </>
      }
    >
      <div className="take-in">
        <div className="fields">
          <Select label="Student" value={student} onChoose={setStudent}
            choices={[{ value: '', words: 'Decide later' }, { value: newStudent, words: 'New student' }, ...students.map((one) => ({ value: one.id, words: one.name }))]} />
          {student === newStudent ? (
            <>
              <TextField label="New student's name" required maxLength={120} value={name} onChange={(event) => setName(event.target.value)} />
              <Check label="A minor" hint="Consent of child and parent is recorded in their record." checked={minor} onCheck={setMinor} />
            </>
          ) : null}
          <Choices label="Plays" value={handedness} choices={(['right', 'left'] as const).map((value) => ({ value, words: handednessWords[value] }))} onChoose={setHand} />
          <TextField label="Club" list={clubListId} placeholder="For all of these clips" value={club} onChange={(event) => setClub(event.target.value)} />
          <TextArea label="What the student asks" value={question} onChange={(event) => setQuestion(event.target.value)} />
          <TextArea label="What the student feels" value={feel} onChange={(event) => setFeel(event.target.value)} />
          {canPair
            ? <Choices label="A face-on and a down-the-line clip are" value={pair} choices={pairChoices} onChoose={setPair} />
            : <p className="quiet">{rows.length > 1 ? 'A face-on clip and a down-the-line clip in one batch can be paired at once.' : 'Clips can be paired later on the table.'}</p>}
        </div>
        <div className="take-in-files">
          <table>
            <thead><tr><th scope="col">File</th><th scope="col">View</th><th scope="col">Filmed at, frames/s</th><th scope="col"><span className="unseen">Leave out</span></th></tr></thead>
            <tbody>
              {rows.map((row, i) => (
                <tr key={`${row.file.name} ${i}`}>
                  <td><span className="clip-text" title={row.file.name}>{row.file.name}</span><span className="quiet">{byteWords(row.file.size)}{row.isGuess ? ', view guessed from the name' : ''}</span></td>
                  <td>
                    <BareSelect aria-label={`View of ${row.file.name}`} value={row.view} onChoose={(view) => patch(i, { view, isGuess: false })}
                      choices={[{ value: '', words: 'Not said' }, ...(['face-on', 'down-the-line', 'other'] as const).map((value) => ({ value, words: viewWords[value] }))]} />
                  </td>
                  <td>
                    <input aria-label={`Frames a second of ${row.file.name}`} list={rateListId} inputMode="decimal" placeholder="from the file" value={row.rate}
                      aria-invalid={row.rate.trim() !== '' && rateFault(row.rate.trim()) !== null ? true : undefined} onChange={(event) => patch(i, { rate: event.target.value })} />
                  </td>
                  <td><Button look="plain" aria-label={`Leave out ${row.file.name}`} onClick={() => setRows(rows.toSpliced(i, 1))}>Leave out</Button></td>
                </tr>
              ))}
            </tbody>
          </table>
          <div className="take-in-more"><Button onClick={onAddFiles}>Add files</Button>{badRate ? <p className="field-fault">Filmed at is frames a second, such as 240.</p> : null}</div>
        </div>
      </div>
    </Dialog>
  )
}
