import { useEffect, useLayoutEffect, useMemo, useState } from 'react'
import { useStore } from 'zustand'
import { boardStore } from '../playback/board.ts'
import { useApp } from '../ui/appStore.ts'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { useSwing } from '../ui/useRecords.ts'
import { useKeys } from '../ui/useKeys.ts'
import { ArmsProvider, useArms, useArmsRoom } from './armsContext.tsx'
import { armsKeys } from './armsKeys.ts'
import { ArmsRoom as Room } from './armsRoom.ts'
import { Fan } from './face/Fan.tsx'
import { FacePanel, PutFanRow } from './face/FacePanel.tsx'
import { Figure } from './Figure.tsx'
import type { Asked } from './load.ts'
import { ElbowPanel, PutRow, Source } from './Panel.tsx'
import { SweepChart } from './SweepChart.tsx'
import { watchMarks } from './watch.ts'
import './arms.css'

/** The arm-and-club model: which trail-elbow position makes this shaft at the top, and what face and timing do to the ball. */
export function ArmsRoom() {
  const desk = useDesk()
  const room = useMemo(() => new Room(desk), [desk])
  useEffect(() => tellTest(room), [room])
  useEffect(() => room.faceKept.start(), [room])
  return <ArmsProvider value={room}><InRoom /></ArmsProvider>
}

function InRoom() {
  const room = useArmsRoom()
  const tab = useArms((state) => state.tab)
  const [choice, setChoice] = useState('bench')
  useOpen(choice)
  useKeys(useMemo(() => armsKeys(room), [room]))
  return (
    <div className="arms" data-tab={tab}>
      {tab === 'elbow' ? <><Figure /><SweepChart /></> : <Fan />}
      <aside className="arms-side" aria-label="Arms">
        <Source choice={choice} onChoose={setChoice} />
        <div className="switch arms-tabs" role="group" aria-label="What the room shows">
          <button type="button" aria-pressed={tab === 'elbow'} onClick={() => room.state.setState({ tab: 'elbow' })}>Elbow and shaft</button>
          <button type="button" aria-pressed={tab === 'face'} onClick={() => room.state.setState({ tab: 'face' })}>Face and two-way miss</button>
        </div>
        <div className="arms-panel">{tab === 'elbow' ? <ElbowPanel /> : <FacePanel />}</div>
        {tab === 'elbow' ? <PutRow /> : <PutFanRow />}
      </aside>
    </div>
  )
}

/** Opens what is asked for whenever the room comes into sight, and again as points change, so that it shows what the coach has placed. */
function useOpen(choice: string): void {
  const room = useArmsRoom()
  const desk = useDesk()
  const isHere = useApp((state) => state.room === 'arms')
  const onBench = useStore(boardStore, (state) => state.swing)
  const clipIds = useStore(boardStore, (state) => state.clipIds)
  const loaded = useLibrary((library) => library.loaded)
  const students = useLibrary((library) => library.students)
  const swing = useSwing(choice === 'standard' ? null : choice === 'bench' ? (onBench?.id ?? null) : choice)
  const isComing = swing === undefined
  const isAwaited = useAwaited() && choice === 'bench'
  const asked = useMemo((): Asked | null => {
    if (choice === 'standard') return null
    const ofSwing = swing ? { swing, clipIds: [swing.leftClipId, swing.rightClipId].filter((one) => one !== null) } : null
    if (choice !== 'bench') return ofSwing
    const shown = clipIds.filter((id) => id !== null)
    // A swing whose panes were given other clips is not that swing any more.
    const isWhole = onBench && [onBench.leftClipId, onBench.rightClipId].every((id) => id === null || shown.includes(id))
    return isWhole ? ofSwing : shown.length > 0 ? { swing: null, clipIds: [...new Set(shown)] } : null
  }, [choice, onBench, clipIds, swing])
  // Before any part asks the room for something of the library.
  useLayoutEffect(() => room.know(students), [room, students])
  useEffect(() => {
    if (!isHere && loaded) return watchMarks(room, desk, students)
    if (isHere && isAwaited) room.await()
    if (!loaded || isComing || isAwaited) return undefined
    void room.open(asked)
    let timer: ReturnType<typeof setTimeout> | undefined
    const stop = desk.listen((event) => {
      if (event.type !== 'changed' || (event.what !== 'digitising' && event.what !== 'marks')) return
      clearTimeout(timer)
      timer = setTimeout(() => void room.open(asked), 300)
    })
    return () => {
      clearTimeout(timer)
      stop()
    }
  }, [room, desk, asked, isHere, loaded, isComing, isAwaited, students])
}

/** How long the Bench may take to show what it was asked for, milliseconds. */
const benchTakes = 3000

/** Whether the Bench was asked for a swing that it does not show yet: what stands on it now is not what is meant. */
function useAwaited(): boolean {
  const request = useApp((state) => state.bench)
  const [shown, setShown] = useState(request)
  useEffect(() => {
    if (request === shown) return undefined
    const settle = (): void => setShown(request)
    const stop = boardStore.subscribe(({ clipIds }) => { if (clipIds.some((id) => id !== null)) settle() })
    const timer = setTimeout(settle, benchTakes)
    return () => {
      stop()
      clearTimeout(timer)
    }
  }, [request, shown])
  return request !== shown
}

/** What a test may look at from outside: it puts an empty object on the window before the page loads. */
function tellTest(room: Room): void {
  const handle = (globalThis as { crossbearingTest?: { arms?: Room } }).crossbearingTest
  if (handle) handle.arms = room
}
