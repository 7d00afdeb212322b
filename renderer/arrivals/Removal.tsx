import type { Student } from '../../shared/contract/student.ts'
import { useAsked, type Part } from '../ui/asked.ts'
import { useDesk } from '../ui/desk.tsx'
import { Confirm } from '../ui/Dialog.tsx'
import type { ClipSummary } from '../ui/libraryStore.ts'
import { attempt, tellDone } from '../ui/notices.ts'
import { countWords, removedCounts } from '../ui/words.ts'
import { goesWithClips, goesWithStudent } from './removal.ts'
import { chooseAll, chooseStudent } from './roomStore.ts'

// Asked once: the dialog is short-lived, and what it lists must not change under the coach's eyes.
const once: readonly Part[] = []

export function RemoveClips({ clips, onClose }: { readonly clips: readonly ClipSummary[]; readonly onClose: () => void }) {
  const desk = useDesk()
  const { answer } = useAsked('clip.footprint', { ids: clips.map(({ id }) => id) }, once)
  if (!answer || clips.length === 0) return null
  const remove = async (): Promise<void> => {
    for (const { id } of clips) await desk.call('clip.remove', { id })
    chooseAll([])
    tellDone(`Deleted ${countWords({ clip: clips.length })}.`)
  }
  return (
    <Confirm title={clips.length === 1 ? 'Delete this clip' : `Delete ${clips.length} clips`} goes={goesWithClips(clips, answer)} act={clips.length === 1 ? 'Delete clip' : 'Delete clips'}
      onDo={() => attempt(remove)} onClose={onClose} />
  )
}

export function RemoveStudent({ student, onClose }: { readonly student: Student; readonly onClose: () => void }) {
  const desk = useDesk()
  const { answer } = useAsked('student.footprint', { id: student.id }, once)
  if (!answer) return null
  const remove = async (): Promise<void> => {
    const went = await desk.call('student.remove', { id: student.id })
    chooseStudent(null)
    tellDone(`${student.name} is gone, with ${removedCounts(went)}.`)
  }
  return <Confirm title={`Delete ${student.name}`} goes={goesWithStudent(student, answer)} act="Delete everything" onDo={() => attempt(remove)} onClose={onClose} />
}
