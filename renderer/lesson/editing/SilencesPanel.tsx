import { useStore } from 'zustand'
import { toMs } from '../../../shared/walkthrough/edits.ts'
import { Button } from '../../ui/Button.tsx'
import { Field } from '../../ui/Field.tsx'
import { clockWords } from '../clockWords.ts'
import { secondsWords, trimSilences } from './actions.ts'
import type { EditingParts } from './LessonEditing.tsx'
import type { SilenceList } from './Tray.tsx'

/** The silences that were found: heard, chosen, given other ends on the sound, trimmed one by one or all at once. */
export function SilencesPanel({ parts: { editor, player, sound }, silences: { list, change, options, onOptions } }: { readonly parts: EditingParts; readonly silences: SilenceList }) {
  const isRead = useStore(sound.view, (view) => view.peaks.size > 0)
  const chosen = list.filter((each) => each.chosen)
  const total = chosen.reduce((sum, { span }) => sum + span.to - span.from, 0)
  return (
    <>
      <div className="tray-row">
        <SecondsField label="Longer than" value={options.leastMs} least={300} most={10_000} onSet={(leastMs) => onOptions({ ...options, leastMs })} />
        <SecondsField label="Leave" value={options.leaveMs} least={0} most={2000} onSet={(leaveMs) => onOptions({ ...options, leaveMs })} />
      </div>
      {!isRead ? <p className="quiet" role="status">Reading the sound</p> : list.length === 0 ? <p className="quiet">No silence of that length was found. Where the room is as loud as the words, none can be told apart.</p> : null}
      {list.some(({ isShowing }) => isShowing) ? <p className="quiet">Where something plays, is drawn or is pointed at meanwhile, it says “shown” and is not ticked.</p> : null}
      <ol className="tray-list">
        {list.map(({ span, isShowing, chosen: isChosen }, i) => (
          <li key={`${span.from}-${span.to}`}>
            <label className="tray-check">
              <input type="checkbox" checked={isChosen} onChange={(event) => change(i, { chosen: event.target.checked })} />
              <span className="digits">{clockWords(toMs(span.from))}</span>
              <span className="digits">{secondsWords(span.to - span.from)}</span>
              {isShowing ? <span className="quiet" title="Something plays, is drawn or is pointed at meanwhile">shown</span> : null}
            </label>
            <Button look="plain" aria-label={`Hear the silence at ${clockWords(toMs(span.from))}`} onClick={() => player.playSpan(Math.max(0, toMs(span.from) - 1200), toMs(span.to) + 1200)}>Hear</Button>
            <Button look="plain" aria-label={`Trim the silence at ${clockWords(toMs(span.from))}`} onClick={() => trimSilences(editor, [span])}>Trim</Button>
          </li>
        ))}
      </ol>
      {list.length > 0 ? <Button look="primary" disabled={chosen.length === 0} onClick={() => trimSilences(editor, chosen.map(({ span }) => span))}>{chosen.length === 0 ? 'Choose what to trim' : `Trim ${chosen.length}, ${secondsWords(total)}`}</Button> : null}
    </>
  )
}

function SecondsField({ label, value, least, most, onSet }: { readonly label: string; readonly value: number; readonly least: number; readonly most: number; readonly onSet: (ms: number) => void }) {
  return (
    <Field label={`${label}, s`}>
      {(wiring) => (
        <input {...wiring} type="number" className="digits" min={least / 1000} max={most / 1000} step={0.1} defaultValue={value / 1000} onChange={(event) => {
          const ms = Number(event.target.value) * 1000
          if (event.target.value !== '' && ms >= least && ms <= most) onSet(ms)
        }} />
      )}
    </Field>
  )
}
