import { useEffect, useState } from 'react'
import type { Mark } from '../../shared/markup/mark.ts'
import type { Student } from '../../shared/contract/student.ts'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { Confirm } from '../ui/Dialog.tsx'
import type { ClipSummary } from '../ui/libraryStore.ts'
import { attempt, tellDone } from '../ui/notices.ts'
import { countWords } from '../ui/words.ts'
import { goesWithClips, goesWithStudent } from './removal.ts'
import { chooseAll, chooseStudent } from './roomStore.ts'

/** The marks drawn on some clips; null until the desk has told. */
function useMarks(clipIds: readonly string[]): readonly Mark[] | null {
  const desk = useDesk()
  const [marks, setMarks] = useState<readonly Mark[] | null>(null)
  const key = clipIds.join(' ')
  useEffect(() => {
    void desk.call('marks.list', { clipIds: key ? key.split(' ') : [] }).then(setMarks, () => setMarks([]))
  }, [desk, key])
  return marks
}

export function RemoveClips({ clips, onClose }: { readonly clips: readonly ClipSummary[]; readonly onClose: () => void }) {
  const desk = useDesk()
  const swings = useLibrary((library) => library.swings)
  const marks = useMarks(clips.map((clip) => clip.id))
  if (!marks) return null
  const remove = async (): Promise<void> => {
    for (const { id } of clips) await desk.call('clip.remove', { id })
    chooseAll([])
    tellDone(`Deleted ${countWords({ clip: clips.length })}.`)
  }
  return (
    <Confirm title={clips.length === 1 ? 'Delete this clip' : `Delete ${clips.length} clips`} goes={goesWithClips(clips, marks, { swings })} act={clips.length === 1 ? 'Delete clip' : 'Delete clips'}
      stays="The student's own phone still has what was sent; what was handed off stays." onDo={() => attempt(remove)} onClose={onClose} />
  )
}

export function RemoveStudent({ student, onClose }: { readonly student: Student; readonly onClose: () => void }) {
  const desk = useDesk()
  const library = useLibrary((state) => state)
  const marks = useMarks(library.clips.filter((clip) => clip.studentId === student.id).map((clip) => clip.id))
  if (!marks) return null
  const remove = async (): Promise<void> => {
    const went = await desk.call('student.remove', { id: student.id })
    chooseStudent(null)
    tellDone(`${student.name} is gone, with ${countWords({ clip: went.clips, mark: went.marks, walkthrough: went.walkthroughs, 'hand-off': went.handoffs })}.`)
  }
  return <Confirm title={`Delete ${student.name}`} goes={goesWithStudent(student, marks, library)} act="Delete everything" onDo={() => attempt(remove)} onClose={onClose} />
}
