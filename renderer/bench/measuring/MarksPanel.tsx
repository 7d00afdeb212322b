import { useCallback, useEffect, useState } from 'react'
import type { MarkSet } from '../../../shared/contract/digitising.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk } from '../../ui/desk.tsx'
import { attempt, tellFault } from '../../ui/notices.ts'
import { useBench } from '../benchContext.tsx'
import { useMeasuring, useMeasuringParts } from './measuringContext.tsx'

/** Marks drawn from points, what marks come to, and sets of them to lay on another clip. */
export function MarksPanel() {
  const { marks } = useMeasuringParts()
  useMeasuring((state) => state.table)
  useMeasuring((state) => state.outcome)
  useBench((state) => state.marks)
  useBench((state) => state.active)
  const isChosen = useBench((state) => state.selected !== null)
  const reports = marks.headBoxes()
  return (
    <details className="evidence-part marks-part">
      <summary><h3>Marks that measure</h3></summary>
      <div className="marks-acts">
        <Button look="plain" onClick={() => marks.lines()}>Lines of address <kbd aria-hidden="true">Z</kbd></Button>
        <Button look="plain" onClick={() => marks.inclination()}>Inclination, frame by frame</Button>
        <Button look="plain" disabled={!isChosen} onClick={() => marks.degrees()}>Degrees of the chosen mark <kbd aria-hidden="true">;</kbd></Button>
      </div>
      {reports.map(({ id, words }) => <p key={id} className="small">{words}</p>)}
      <Sets />
    </details>
  )
}

function Sets() {
  const desk = useDesk()
  const { marks } = useMeasuringParts()
  const [sets, setSets] = useState<readonly MarkSet[]>([])
  const [name, setName] = useState('')
  const load = useCallback(() => void desk.call('markSet.list', {}).then(setSets, tellFault), [desk])
  useEffect(() => {
    load()
    return desk.listen((event) => {
      if (event.type === 'changed' && event.what === 'markSets') load()
    })
  }, [desk, load])
  const save = async (): Promise<void> => {
    if (name.trim() === '' || !(await attempt(() => marks.saveSet(name.trim())))) return
    setName('')
    // The keys are the Bench's again.
    if (document.activeElement instanceof HTMLElement) document.activeElement.blur()
  }
  return (
    <>
      <ul className="mark-sets">
        {sets.map((set) => (
          <li key={set.id}>
            <span className="clip-text">{set.name}</span><span className="quiet numbers">{set.marks.length}</span>
            <Button look="plain" onClick={() => marks.lay(set)} aria-label={`Lay ${set.name} on this clip`}>Lay on</Button>
            <Button look="plain" aria-label={`Forget the set ${set.name}`} onClick={() => void attempt(() => desk.call('markSet.remove', { id: set.id }))}>{'\u00d7'}</Button>
          </li>
        ))}
      </ul>
      <form className="save-set" onSubmit={(event) => { event.preventDefault(); void save() }}>
        <input type="text" aria-label="Name of the set" placeholder="This clip's marks as a set" value={name} maxLength={80} onChange={(event) => setName(event.target.value)} />
        <Button type="submit" look="plain" disabled={name.trim() === ''}>Save</Button>
      </form>
    </>
  )
}
