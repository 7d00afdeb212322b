import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import type { Stage } from '../../shared/walkthrough/stage.ts'

/** The rooms that exist, in the order of the work. */
export const rooms = [
  { id: 'arrivals', title: 'Arrivals' },
  { id: 'bench', title: 'Bench' },
  { id: 'arms', title: 'Arms' },
  { id: 'shelf', title: 'Shelf' },
  { id: 'lesson', title: 'Lesson' },
] as const
export type RoomId = (typeof rooms)[number]['id']

/** What the Bench is asked to put on its panes: a swing (both its clips), or one clip alone in the left pane. */
export type BenchRequest = { readonly swingId: string } | { readonly clipId: string }

/** What the Bench is asked to set beside what stands on it, or beside `student`, which it opens first. */
export interface BesideRequest {
  readonly reference: BenchRequest
  readonly student: BenchRequest | null
}

export interface AppState {
  readonly room: RoomId
  /** The last thing that the Bench was asked to open. A new object each time, so that asking twice is heard twice. */
  readonly bench: BenchRequest | null
  /** The last reference that the Bench was asked to set beside a swing. */
  readonly beside: BesideRequest | null
  /** The last stage that the Bench was asked to put back as it stood in a lesson. */
  readonly restore: { readonly stage: Stage } | null
  /** The last walkthrough that the Lesson was asked to open. */
  readonly lesson: { readonly walkthroughId: string } | null
  readonly theme: 'dark' | 'light'
  /** How the recording under way stands, so that every room can tell that the microphone is open; null at rest. */
  readonly recording: 'counting-in' | 'recording' | 'paused' | 'finishing' | null
}

/** What the rooms ask of the shell; rooms never know one another. */
export const appStore = createStore<AppState>()(() => ({ room: 'arrivals', bench: null, beside: null, restore: null, lesson: null, theme: 'dark', recording: null }))

export const goTo = (room: RoomId): void => appStore.setState({ room })
export const openOnBench = (request: BenchRequest): void => appStore.setState({ room: 'bench', bench: { ...request } })
/** Goes to the Bench and sets a reference beside the student's swing; without `student`, beside the one that stands there. */
export const setBeside = (reference: BenchRequest, student: BenchRequest | null = null): void =>
  appStore.setState({ room: 'bench', beside: { reference: { ...reference }, student: student && { ...student } } })
/** Puts a stage back on the Bench as it stood in a lesson, to be talked over again. */
export const restoreOnBench = (stage: Stage): void => appStore.setState({ room: 'bench', restore: { stage } })
export const openInLesson = (walkthroughId: string): void => appStore.setState({ room: 'lesson', lesson: { walkthroughId } })

export const useApp = <T>(select: (state: AppState) => T): T => useStore(appStore, select)
