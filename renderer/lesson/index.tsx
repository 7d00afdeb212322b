export { LessonRoom } from './LessonRoom.tsx'
export { RecorderBar } from './RecorderBar.tsx'
