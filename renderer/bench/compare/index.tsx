import { useEffect, useMemo, useRef, useState } from 'react'
import { useStore } from 'zustand'
import { appStore, useApp } from '../../ui/appStore.ts'
import { useLibrary } from '../../ui/desk.tsx'
import { useClips, useSwing } from '../../ui/useRecords.ts'
import { useKeys } from '../../ui/useKeys.ts'
import { useBench, useParts } from '../benchContext.tsx'
import type { Measuring } from '../measuring/measuring.ts'
import { Chooser } from './Chooser.tsx'
import { CompareBar } from './CompareBar.tsx'
import { ComparisonProvider, useCompare } from './compareContext.tsx'
import { compareKeys } from './compareKeys.ts'
import { Comparison } from './comparison.ts'
import { clipsOfRequest, sameRequest, swingOfRequest } from './requests.ts'
import { DifferencesColumn } from './DifferencesColumn.tsx'
import { ReferencePointer } from './referencePointer.ts'
import { ReferenceTags } from './ReferenceTags.tsx'
import './compare.css'

/** A reference beside the student's swing: set from a list, tied, laid over, its differences as numbers. */
export function CompareRoom({ measuring }: { readonly measuring: Measuring }) {
  const { bench, hands } = useParts()
  const [comparison] = useState(() => new Comparison(measuring))
  const clips = useClips(useBench((state) => state.clipIds))
  const students = useLibrary((library) => library.students)
  useEffect(() => comparison.know({ clips, students }), [comparison, clips, students])
  useEffect(() => {
    const stop = comparison.start()
    const host = bench.view?.picture(0).closest<HTMLElement>('.stage-host')
    const pointer = host ? new ReferencePointer(host, comparison) : null
    hands.setBeside = () => comparison.choose(true)
    hands.setBesideAgain = () => comparison.kept.again()
    return () => {
      hands.setBeside = null
      hands.setBesideAgain = null
      pointer?.dispose()
      stop()
    }
  }, [bench, comparison, hands])
  useRequests(comparison)
  useOneColumn(comparison)
  useKeys(useMemo(() => compareKeys(comparison), [comparison]))
  return <ComparisonProvider value={comparison}><Parts /></ComparisonProvider>
}

function Parts() {
  const isOn = useCompare((state) => state.references[0] !== null || state.references[1] !== null)
  const isShown = useCompare((state) => state.isShown)
  const isChoosing = useCompare((state) => state.isChoosing)
  return (
    <>
      {isOn ? <ReferenceTags /> : null}
      {isOn ? <CompareBar /> : null}
      {isOn && isShown ? <DifferencesColumn /> : null}
      {isChoosing ? <Chooser /> : null}
    </>
  )
}

/** Sets beside what other rooms ask for, once the swing it goes with stands on the panes; the Bench opens that one. */
function useRequests(comparison: Comparison): void {
  const request = useApp((state) => state.beside)
  const asked = useRef<object | null>(null)
  const clipIds = useStore(comparison.bench.state, (state) => state.clipIds)
  const opening = useStore(comparison.bench.state, (state) => state.opening)
  const swing = useSwing(swingOfRequest(request?.student))
  const loaded = useLibrary((library) => library.loaded)
  useEffect(() => {
    if (!request || !loaded || swing === undefined || asked.current === request || opening !== null || clipIds.every((id) => id === null)) return
    const wanted = request.student && clipsOfRequest(request.student, swing)
    if (wanted && !wanted.some((id) => clipIds.includes(id))) {
      // Still on its way, or something else was opened since.
      if (sameRequest(appStore.getState().bench, request.student)) return
      asked.current = request
      return
    }
    asked.current = request
    void comparison.setBeside(request.reference)
  }, [request, loaded, clipIds, opening, swing, comparison])
}

/** The evidence and the differences stand in the same place: the one asked for last is there. */
function useOneColumn({ measuring, state }: Comparison): void {
  useEffect(() => {
    const stops = [
      state.subscribe((now, before) => {
        if (now.isShown && !before.isShown) measuring.state.setState({ isShown: false })
      }),
      measuring.state.subscribe((now, before) => {
        if (now.isShown && !before.isShown) state.setState({ isShown: false })
      }),
    ]
    return () => stops.forEach((stop) => stop())
  }, [measuring, state])
}
