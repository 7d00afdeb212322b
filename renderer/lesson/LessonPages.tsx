import { useMemo, type ReactNode } from 'react'
import { useStore } from 'zustand'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import { Button } from '../ui/Button.tsx'
import { useLibrary } from '../ui/desk.tsx'
import { keyWords, type KeyBinding } from '../ui/keys.ts'
import { Tabs } from '../ui/Tabs.tsx'
import { useKeys } from '../ui/useKeys.ts'
import { DrillsPage } from './drills/DrillsPage.tsx'
import { FindingsPage } from './findings/FindingsPage.tsx'
import { isWalkthroughShown, lessonPages, lessonPageStore, type LessonPage } from './lessonPage.ts'
import { LessonWorkProvider, useLessonWork, useSteps, type LessonWork } from './lessonWork.tsx'
import { PlanEditor } from './plan/PlanEditor.tsx'
import { Steps } from './steps.ts'

const goTo = (page: LessonPage): void => lessonPageStore.setState({ page })
const keysOf = (i: number): string => `Alt+${i + 1}`

/** The pages of an opened lesson: the walkthrough, what was found, what is to be practised, and the plan made of it. */
export function LessonPages({ walkthrough, children }: { readonly walkthrough: Walkthrough; /** The walkthrough's own page. */ readonly children: ReactNode }) {
  const page = useStore(lessonPageStore, (state) => state.page)
  const student = useLibrary((library) => library.students).find(({ id }) => id === walkthrough.studentId) ?? null
  const steps = useMemo(() => new Steps(), [])
  const work = useMemo<LessonWork>(() => ({ walkthrough, student, steps }), [walkthrough, student, steps])
  useKeys(useMemo<KeyBinding[]>(() => [
    ...lessonPages.map(({ id, title }, i): KeyBinding => ({ id: `page-${id}`, keys: keysOf(i), words: `${title} of the lesson`, scope: 'lesson', group: 'Pages', run: () => goTo(id) })),
    { id: 'work-undo', keys: 'Mod+z', words: 'Undo what was done to findings, drills or plan', scope: 'lesson', group: 'Pages', when: () => !isWalkthroughShown(), run: () => void steps.undo() },
    { id: 'work-redo', keys: ['Mod+Shift+z', 'Mod+y'], words: 'Do it again', scope: 'lesson', group: 'Pages', when: () => !isWalkthroughShown(), run: () => void steps.redo() },
  ], [steps]))
  return (
    <LessonWorkProvider value={work}>
      <div className="lesson-pages">
        <Tabs label="Pages of the lesson" tabs={lessonPages.map((one, i) => ({ ...one, keys: keyWords(keysOf(i)).join(' ') }))} chosen={page} onChoose={goTo} />
        {page === 'lesson-walkthrough' ? null : <UndoButtons />}
      </div>
      <div id="panel-lesson-walkthrough" role="tabpanel" aria-labelledby="tab-lesson-walkthrough" className="lesson-page" hidden={page !== 'lesson-walkthrough'}>{children}</div>
      {lessonPages.slice(1).map(({ id }) => (
        <div key={id} id={`panel-${id}`} role="tabpanel" aria-labelledby={`tab-${id}`} className="lesson-page" hidden={page !== id}>
          {page !== id ? null : id === 'lesson-findings' ? <FindingsPage /> : id === 'lesson-drills' ? <DrillsPage /> : <PlanEditor />}
        </div>
      ))}
    </LessonWorkProvider>
  )
}

function UndoButtons() {
  const { steps } = useLessonWork()
  const { canUndo, canRedo } = useSteps()
  return (
    <>
      <Button look="plain" disabled={canUndo === null} title={canUndo ?? undefined} onClick={() => void steps.undo()}>Undo</Button>
      <Button look="plain" disabled={canRedo === null} title={canRedo ?? undefined} onClick={() => void steps.redo()}>Redo</Button>
    </>
  )
}
