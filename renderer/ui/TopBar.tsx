import { useState, type MouseEvent } from 'react'
import { goTo, rooms, useApp, type AppState } from './appStore.ts'
import { Button } from './Button.tsx'
import { useSilence, useDesk, useLibrary } from './desk.tsx'
import { Warning } from './Field.tsx'
import { JobsIndicator } from './Jobs.tsx'
import { keyWords } from './keys.ts'
import { Tabs } from './Tabs.tsx'
import { LibraryDialog } from './LibraryDialog.tsx'
import { setTheme } from './theme.ts'
import { byteWords } from './words.ts'

/** Two sightlines and where they cross. */
function Sign() {
  return (
    <svg width="18" height="18" viewBox="0 0 18 18" aria-hidden="true">
      <path d="M1.5 15.5 14 3M16.5 15.5 4 3" stroke="var(--text-quiet)" strokeWidth="1.5" strokeLinecap="round" />
      <circle cx="9" cy="8" r="2.6" fill="var(--raised)" stroke="var(--accent)" strokeWidth="1.6" />
    </svg>
  )
}

export const roomKeys = (index: number): string => `Shift+${index + 1}`

const recordingWords: Readonly<Record<NonNullable<AppState['recording']>, string>> = {
  'counting-in': 'Recording begins', recording: 'Recording', paused: 'Recording paused', finishing: 'Saving the recording',
}

/** A microphone is never open unseen: while the recorder's own room is hidden, this says so and leads back to it. */
function RecordingSign() {
  const recording = useApp((state) => state.recording)
  const room = useApp((state) => state.room)
  if (recording === null || room === 'bench') return null
  return <Button look="plain" className="recording-sign" data-state={recording} title="Back to the Bench, where it can be paused and stopped" onClick={() => goTo('bench')}>{recordingWords[recording]}</Button>
}

/** A button that was clicked gives the keyboard back to the room: Space goes on playing. Keys leave the focus where it is. */
function giveBack(event: MouseEvent): void {
  const { activeElement } = document
  if (event.detail > 0 && activeElement instanceof HTMLButtonElement && event.currentTarget.contains(activeElement)) activeElement.blur()
}

/** The rooms at the left, what concerns the whole window at the right. */
export function TopBar({ onHelp }: { readonly onHelp: () => void }) {
  const desk = useDesk()
  const room = useApp((state) => state.room)
  const theme = useApp((state) => state.theme)
  const [libraryOpen, setLibraryOpen] = useState(false)
  const info = useLibrary((library) => library.info)
  const silent = useSilence()
  const name = info?.folder.split(/[/\\]/).findLast((part) => part !== '') ?? ''
  return (
    <header className="top-bar" onClickCapture={giveBack}>
      <div className="top-bar-name"><Sign /><h1>Crossbearing</h1></div>
      <Tabs label="Rooms" tabs={rooms.map((one, i) => ({ ...one, keys: keyWords(roomKeys(i)).join(' ') }))} chosen={room} onChoose={goTo} />
      <div className="top-bar-right">
        <RecordingSign />
        {name ? (
          <Button look="plain" className="library-name" title={info ? `${info.folder}, ${byteWords(info.bytes)}` : undefined} onClick={() => setLibraryOpen(true)}>
            <span className="clip-text">Library: {name}</span>
          </Button>
        ) : null}
        {silent ? <span className="no-contact" role="alert"><Warning />The desk does not answer; trying again</span> : <JobsIndicator />}
        <Button look="plain" onClick={() => setTheme(theme === 'dark' ? 'light' : 'dark', desk)}>{theme === 'dark' ? 'Light theme' : 'Dark theme'}</Button>
        <Button look="plain" onClick={onHelp}>Keys <kbd aria-hidden="true">?</kbd></Button>
      </div>
      {libraryOpen ? <LibraryDialog onClose={() => setLibraryOpen(false)} /> : null}
    </header>
  )
}
