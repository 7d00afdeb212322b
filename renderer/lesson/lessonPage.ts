import { createStore } from 'zustand/vanilla'

/** The pages of an opened lesson, in the order of the work. */
export const lessonPages = [
  { id: 'lesson-walkthrough', title: 'Walkthrough' },
  { id: 'lesson-findings', title: 'Findings' },
  { id: 'lesson-drills', title: 'Drills' },
  { id: 'lesson-plan', title: 'Plan' },
] as const
export type LessonPage = (typeof lessonPages)[number]['id']

/** Which page shows; it stays when another lesson is opened. */
export const lessonPageStore = createStore<{ readonly page: LessonPage }>()(() => ({ page: 'lesson-walkthrough' }))

/** Whether the walkthrough itself is in sight, so that keys may play and edit it. */
export const isWalkthroughShown = (): boolean => lessonPageStore.getState().page === 'lesson-walkthrough'
