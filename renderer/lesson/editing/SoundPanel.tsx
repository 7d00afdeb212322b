import { useStore } from 'zustand'
import type { SoundCleaning } from '../../../shared/walkthrough/edits.ts'
import { Button } from '../../ui/Button.tsx'
import { Check, Choices, Warning } from '../../ui/Field.tsx'
import { ProgressBar } from '../../ui/ProgressBar.tsx'
import type { EditingParts } from './LessonEditing.tsx'
import type { Compare } from './Tray.tsx'

const strengths = [
  { value: 'off', words: 'Off' },
  { value: 'light', words: 'Light' },
  { value: 'firm', words: 'Firm' },
] as const

/** How the sound is cleaned, for the room and for what the student gets; and the switch between before and after. */
export function SoundPanel({ parts: { editor, sound }, compare }: { readonly parts: EditingParts; readonly compare: Compare }) {
  const lesson = useStore(editor.view, (view) => view.lesson)!
  const cleaned = useStore(sound.view, (view) => view.cleaned)
  const { sound: cleaning } = lesson.edits
  const set = (patch: Partial<SoundCleaning>, words: string): void => void editor.edit(words, (edits) => ({ ...edits, sound: { ...edits.sound, ...patch } }))
  return (
    <>
      <Check label="Clean the sound" hint="In here and in the video. The recording stays as it is." checked={cleaning.on} onCheck={(on) => set({ on }, on ? 'Clean the sound' : 'Leave the sound as recorded')} />
      {cleaning.on ? (
        <>
          <Check label="Take out mains hum" checked={cleaning.hum} onCheck={(hum) => set({ hum }, hum ? 'Take out hum' : 'Leave hum')} />
          <Choices label="Reduce noise" choices={strengths} value={cleaning.noise} onChoose={(noise) => set({ noise }, `Reduce noise: ${noise}`)} />
          <Check label="Even the level" hint="Quiet words are lifted, loud ones held." checked={cleaning.even} onCheck={(even) => set({ even }, even ? 'Even the level' : 'Leave the level')} />
          {cleaned.state === 'making' ? <ProgressBar label="Cleaning the sound" step="Cleaning" value={cleaned.share} secondsLeft={cleaned.secondsLeft} /> : null}
          {cleaned.state === 'failed' ? <p className="lesson-fault" role="alert"><Warning /> {cleaned.fault} <Button onClick={() => sound.again(lesson)}>Try again</Button></p> : null}
          {cleaned.state === 'ready' ? (
            <>
              <p className="quiet" role="status">
                {cleaned.humHz === null ? (cleaning.hum ? 'No mains hum was found. ' : '') : `Hum at ${cleaned.humHz.toFixed(1)} Hz and its harmonics are taken out. `}
                {cleaned.noiseDb ? `Between words it went from ${cleaned.noiseDb[0]} to ${cleaned.noiseDb[1]} dB.` : ''}
              </p>
              <Choices label="Hear it" choices={[{ value: 'after', words: 'Cleaned' }, { value: 'before', words: 'As recorded' }]} value={compare.asRecorded ? 'before' : 'after'} onChoose={(value) => compare.onAsRecorded(value === 'before')} />
              <p className="quiet">Holding B while it plays does the same.</p>
            </>
          ) : null}
        </>
      ) : null}
    </>
  )
}
