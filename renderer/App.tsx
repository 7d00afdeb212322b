import { lazy, Suspense, useEffect, useMemo, useState, type ComponentType } from 'react'
import { ArrivalsRoom } from './arrivals/index.tsx'
import { appStore, goTo, rooms, useApp, type RoomId } from './ui/appStore.ts'
import { Waiting } from './ui/EmptyState.tsx'
import { startKeys, type KeyBinding } from './ui/keys.ts'
import { KeySheet } from './ui/KeySheet.tsx'
import { Notices } from './ui/Notices.tsx'
import { roomKeys, TopBar } from './ui/TopBar.tsx'
import { useKeys } from './ui/useKeys.ts'

const ArmsRoom = lazy(() => import('./arms/index.tsx').then((room) => ({ default: room.ArmsRoom })))
const ShelfRoom = lazy(() => import('./shelf/index.tsx').then((room) => ({ default: room.ShelfRoom })))
const LessonRoom = lazy(() => import('./lesson/index.tsx').then((room) => ({ default: room.LessonRoom })))
// The recorder belongs to the Lesson and stands on the Bench; rooms do not know each other, so they meet here.
const Bench = lazy(async () => {
  const [{ BenchRoom }, { RecorderBar }] = await Promise.all([import('./bench/index.tsx'), import('./lesson/index.tsx')])
  return { default: () => <BenchRoom recorder={RecorderBar} /> }
})
const panels: Readonly<Record<RoomId, ComponentType>> = { arrivals: ArrivalsRoom, bench: Bench, arms: ArmsRoom, shelf: ShelfRoom, lesson: LessonRoom }

/** One window: the top bar, and the room that shows. A room that was opened stays as it was left. */
export function App() {
  const room = useApp((state) => state.room)
  const [visited, setVisited] = useState<ReadonlySet<RoomId>>(new Set([room]))
  const [help, setHelp] = useState(false)
  if (!visited.has(room)) setVisited(new Set([...visited, room]))

  useEffect(() => startKeys(() => appStore.getState().room), [])
  const bindings = useMemo<KeyBinding[]>(() => [
    ...rooms.map(({ id, title }, i): KeyBinding => ({ id: `go-to-${id}`, keys: roomKeys(i), words: `Go to ${title}`, scope: 'everywhere', run: () => goTo(id) })),
    { id: 'keys', keys: '?', words: 'Show the keys of this room', scope: 'everywhere', run: () => setHelp(true) },
  ], [])
  useKeys(bindings)

  return (
    <div className="shell">
      <TopBar onHelp={() => setHelp(true)} />
      <main>
        {rooms.map(({ id, title }) => {
          const Room = panels[id]
          return (
            <div key={id} className="room" id={`panel-${id}`} role="tabpanel" aria-labelledby={`tab-${id}`} hidden={id !== room}>
              {visited.has(id) ? <Suspense fallback={<Waiting words={`Opening ${title}`} />}><Room /></Suspense> : null}
            </div>
          )
        })}
      </main>
      <Notices />
      {help ? <KeySheet room={room} onClose={() => setHelp(false)} /> : null}
    </div>
  )
}
