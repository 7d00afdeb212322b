import { useEffect, useMemo, useRef, useState } from 'react'
import { savedBy } from '../../playback/board.ts'
import { useLibrary } from '../../ui/desk.tsx'
import { useKeys } from '../../ui/useKeys.ts'
import { useClips } from '../../ui/useRecords.ts'
import { useBearings } from '../bearings/index.tsx'
import { useBench, useParts } from '../benchContext.tsx'
import { CompareRoom } from '../compare/index.tsx'
import { EvidenceColumn } from './EvidenceColumn.tsx'
import { FilmedAs } from './filmedAs.ts'
import { MeasuredMarks } from './measuredMarks.ts'
import { Measuring } from './measuring.ts'
import { MeasuringProvider, useMeasuring, useMeasuringParts, type MeasuringParts } from './measuringContext.tsx'
import { measuringKeys } from './measuringKeys.ts'
import { MeasuringOverlay } from './measuringOverlay.ts'
import { MeasuringPointer } from './measuringPointer.ts'
import { Placer } from './placer.ts'
import { Prompt } from './Prompt.tsx'
import { SoundTie } from './soundTie.ts'
import './measuring.css'

/** Measuring on the Bench: points, positions and guides over the panes, and the evidence beside them. */
export function MeasuringRoom() {
  const { bench } = useParts()
  const [parts] = useState<MeasuringParts>(() => {
    const measuring = new Measuring(bench)
    return { measuring, placer: new Placer(measuring), marks: new MeasuredMarks(measuring), sound: new SoundTie(measuring), filmed: new FilmedAs(bench) }
  })
  return <MeasuringProvider value={parts}><OnStage /></MeasuringProvider>
}

function OnStage() {
  const { bench, drawing, hands } = useParts()
  const { measuring, placer, marks, sound, filmed } = useMeasuringParts()
  const pointer = useRef<MeasuringPointer | null>(null)
  const isShown = useMeasuring((state) => state.isShown)
  const clips = useClips(useBench((state) => state.clipIds))
  const students = useLibrary((library) => library.students)
  useEffect(() => measuring.know({ clips, students }), [measuring, clips, students])
  useEffect(() => savedBy(() => measuring.saver.flush()), [measuring])
  useEffect(() => () => sound.stop(), [sound])
  useEffect(() => filmed.start(), [filmed])
  useEffect(() => {
    const stop = measuring.start()
    const host = bench.view?.picture(0).closest<HTMLElement>('.stage-host')
    if (!host) return stop
    const overlay = new MeasuringOverlay(host, measuring)
    const own = new MeasuringPointer(host, measuring, placer, drawing, hands)
    pointer.current = own
    return () => {
      pointer.current = null
      own.dispose()
      overlay.dispose()
      stop()
    }
  }, [bench, drawing, hands, measuring, placer])
  useKeys(useMemo(() => measuringKeys(measuring, placer, marks, sound, () => pointer.current), [measuring, placer, marks, sound]))
  const bearings = useBearings(measuring)
  return (
    <>
      <Prompt />
      {isShown ? <EvidenceColumn {...bearings} /> : null}
      <CompareRoom measuring={measuring} />
    </>
  )
}
