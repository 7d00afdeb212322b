import { useEffect, useState } from 'react'
import type { Student } from '../../shared/contract/student.ts'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { Confirm } from '../ui/Dialog.tsx'
import type { ClipSummary } from '../ui/libraryStore.ts'
import { attempt, tellDone, tellFault } from '../ui/notices.ts'
import { countWords } from '../ui/words.ts'
import { footprint, goesWithClips, goesWithStudent, type Footprint } from './removal.ts'
import { chooseAll, chooseStudent } from './roomStore.ts'

/** What hangs on some clips; null until the desk has told. Asked once: the dialog is short-lived. */
function useFootprint(clips: readonly ClipSummary[]): Footprint | null {
  const desk = useDesk()
  const walkthroughs = useLibrary((library) => library.walkthroughs)
  const [asked] = useState(() => footprint(desk, clips, walkthroughs))
  const [found, setFound] = useState<Footprint | null>(null)
  useEffect(() => {
    asked.then(setFound, tellFault)
  }, [asked])
  return found
}

export function RemoveClips({ clips, onClose }: { readonly clips: readonly ClipSummary[]; readonly onClose: () => void }) {
  const desk = useDesk()
  const library = useLibrary((state) => state)
  const hanging = useFootprint(clips)
  if (!hanging) return null
  const remove = async (): Promise<void> => {
    for (const { id } of clips) await desk.call('clip.remove', { id })
    chooseAll([])
    tellDone(`Deleted ${countWords({ clip: clips.length })}.`)
  }
  return (
    <Confirm title={clips.length === 1 ? 'Delete this clip' : `Delete ${clips.length} clips`} goes={goesWithClips(clips, hanging, library)} act={clips.length === 1 ? 'Delete clip' : 'Delete clips'}
      onDo={() => attempt(remove)} onClose={onClose} />
  )
}

export function RemoveStudent({ student, onClose }: { readonly student: Student; readonly onClose: () => void }) {
  const desk = useDesk()
  const library = useLibrary((state) => state)
  const hanging = useFootprint(library.clips.filter((clip) => clip.studentId === student.id))
  if (!hanging) return null
  const remove = async (): Promise<void> => {
    const went = await desk.call('student.remove', { id: student.id })
    chooseStudent(null)
    tellDone(`${student.name} is gone, with ${countWords({ clip: went.clips, mark: went.marks, walkthrough: went.walkthroughs, 'hand-off': went.handoffs })}.`)
  }
  return <Confirm title={`Delete ${student.name}`} goes={goesWithStudent(student, hanging, library)} act="Delete everything" onDo={() => attempt(remove)} onClose={onClose} />
}
