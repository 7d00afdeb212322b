import type { PaneId } from '../../shared/walkthrough/stage.ts'
import { useLibrary } from '../ui/desk.tsx'
import { viewWords } from '../ui/words.ts'
import { useBench, useParts } from './benchContext.tsx'

/** Of other students' clips the newest; all of them stand on the Shelf, where they can be searched. */
const mostOthers = 100

/** Chooses the clip of a pane: the same student's first. */
export function ClipChoice({ pane }: { readonly pane: PaneId }) {
  const { opening } = useParts()
  const clips = useLibrary((library) => library.clips)
  const students = useLibrary((library) => library.students)
  const clipIds = useBench((state) => state.clipIds)
  const other = clips.find(({ id }) => id === clipIds[pane === 0 ? 1 : 0])
  const here = clips.find(({ id }) => id === clipIds[pane])
  const studentId = (here ?? other)?.studentId ?? null
  const groups = [
    { words: 'The same student', clips: clips.filter((clip) => clip.studentId === studentId), most: Infinity },
    { words: 'Others', clips: clips.filter((clip) => clip.studentId !== studentId), most: mostOthers },
  ].filter((group) => group.clips.length > 0)
  return (
    <select aria-label={pane === 0 ? 'Clip in the left pane' : 'Clip in the right pane'} value={clipIds[pane] ?? ''} onChange={(event) => {
        // The keys are the room's again.
        event.target.blur()
        void opening.put(pane, event.target.value || null)
      }}>
      <option value="">No clip</option>
      {groups.map((group) => (
        <optgroup key={group.words} label={group.words}>
          {group.clips.toSorted((a, b) => b.takenInAt - a.takenInAt).slice(0, group.most).map((clip) => (
            <option key={clip.id} value={clip.id}>
              {[viewWords[clip.view], clip.club, clip.studentId === studentId ? '' : students.find(({ id }) => id === clip.studentId)?.name, clip.fileName].filter(Boolean).join(', ')}
            </option>
          ))}
        </optgroup>
      ))}
    </select>
  )
}
