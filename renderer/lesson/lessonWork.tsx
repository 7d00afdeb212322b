import { createContext, use } from 'react'
import { useStore } from 'zustand'
import type { Student } from '../../shared/contract/student.ts'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import type { Steps } from './steps.ts'

/** What the pages of an opened lesson share. */
export interface LessonWork {
  readonly walkthrough: Walkthrough
  readonly student: Student | null
  readonly steps: Steps
}

const WorkContext = createContext<LessonWork | null>(null)
export const LessonWorkProvider = WorkContext.Provider

export function useLessonWork(): LessonWork {
  const work = use(WorkContext)
  if (!work) throw new Error('A page of the Lesson is used outside it.')
  return work
}

export const useSteps = (): { readonly canUndo: string | null; readonly canRedo: string | null } => {
  const { steps } = useLessonWork()
  const canUndo = useStore(steps.state, ({ done }) => done.at(-1)?.words ?? null)
  const canRedo = useStore(steps.state, ({ undone }) => undone.at(-1)?.words ?? null)
  return { canUndo, canRedo }
}
