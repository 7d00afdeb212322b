import { useState } from 'react'
import type { PaneId } from '../../shared/walkthrough/stage.ts'
import { ClipFinder } from '../ui/ClipFinder.tsx'
import { useLibrary } from '../ui/desk.tsx'
import type { ClipSummary } from '../ui/libraryStore.ts'
import { useClips, useClipsOf, useClipsOfOthers } from '../ui/useRecords.ts'
import { viewWords } from '../ui/words.ts'
import { useBench, useParts } from './benchContext.tsx'

/** Of other students' clips the newest; all others are found by a word. */
const mostOthers = 100
const find = 'find a clip'

/** Chooses the clip of a pane: the same student's first. */
export function ClipChoice({ pane }: { readonly pane: PaneId }) {
  const { opening } = useParts()
  const students = useLibrary((library) => library.students)
  const clipIds = useBench((state) => state.clipIds)
  const [finding, setFinding] = useState(false)
  const open = useClips(clipIds)
  const here = open.find(({ id }) => id === clipIds[pane]) ?? null
  const studentId = (here ?? open[0])?.studentId ?? null
  const own = useClipsOf(studentId) ?? []
  const others = useClipsOfOthers(studentId, mostOthers) ?? []
  // The clip that is open stands in the list, also where it is older than those that are.
  const ownAndOpen = here && !own.some(({ id }) => id === here.id) ? [here, ...own] : own
  const groups = [{ words: 'The same student', clips: ownAndOpen }, { words: 'Others', clips: others }].filter((group) => group.clips.length > 0)
  const words = (clip: ClipSummary): string =>
    [viewWords[clip.view], clip.club, clip.studentId === studentId ? '' : students.find(({ id }) => id === clip.studentId)?.name, clip.fileName].filter(Boolean).join(', ')
  return (
    <>
      <select aria-label={pane === 0 ? 'Clip in the left pane' : 'Clip in the right pane'} value={clipIds[pane] ?? ''} onChange={(event) => {
          const { value } = event.target
          // The keys are the room's again.
          event.target.blur()
          if (value === find) setFinding(true)
          else void opening.put(pane, value || null)
        }}>
        <option value="">No clip</option>
        {groups.map((group) => (
          <optgroup key={group.words} label={group.words}>
            {group.clips.map((clip) => <option key={clip.id} value={clip.id}>{words(clip)}</option>)}
          </optgroup>
        ))}
        <option value={find}>Find another clip</option>
      </select>
      {finding ? <ClipFinder title={pane === 0 ? 'A clip for the left pane' : 'A clip for the right pane'} onFind={(id) => void opening.put(pane, id)} onClose={() => setFinding(false)} /> : null}
    </>
  )
}
