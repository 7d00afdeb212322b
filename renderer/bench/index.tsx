import { useEffect, useMemo, useRef, type ComponentType, type MouseEvent } from 'react'
import { useStore } from 'zustand'
import type { StageStore } from '../playback/stageStore.ts'
import { goTo, openInLesson, openOnBench, useApp } from '../ui/appStore.ts'
import { Button, ToolButton } from '../ui/Button.tsx'
import { useDesk, useLibrary } from '../ui/desk.tsx'
import { EmptyState, Waiting } from '../ui/EmptyState.tsx'
import { Warning } from '../ui/Field.tsx'
import { useKeys } from '../ui/useKeys.ts'
import { useClip, useSwing, useToldClips } from '../ui/useRecords.ts'
import { viewWords } from '../ui/words.ts'
import { About } from './About.tsx'
import { Bench } from './bench.ts'
import { BenchProvider, tellTest, useBench, useParts, useRenderCount, type BenchParts } from './benchContext.tsx'
import { benchKeys, type Hands } from './benchKeys.ts'
import { publishBoard } from './board.ts'
import { Drawing } from './drawing.ts'
import { Facts } from './Facts.tsx'
import { FindingsHere } from './FindingsHere.tsx'
import { MarkList } from './MarkList.tsx'
import { MeasuringRoom } from './measuring/index.tsx'
import { keepTie, Opening } from './opening.ts'
import { BenchOverlay } from './overlay.ts'
import { clipsOfRequest, swingOfRequest } from './compare/requests.ts'
import { DockedPalette, PointerPalette } from './Palette.tsx'
import { PaneTags } from './PaneTags.tsx'
import { StagePointer } from './stagePointer.ts'
import { TwinStrip } from './strip/twinStrip.ts'
import { TransportBar } from './TransportBar.tsx'
import { WordsEditor } from './WordsEditor.tsx'
import './bench.css'

/** Records what happens on the stage; given by the shell, because rooms do not know each other. */
export type Recorder = ComponentType<{
  readonly store: StageStore
  readonly context: { readonly swingId: string | null; readonly studentId: string | null; readonly title: string } | null
  readonly onRecorded: (walkthroughId: string) => void
}>

/** Two panes and their strips: looked at frame by frame, tied, drawn on, talked over. */
export function BenchRoom({ recorder }: { readonly recorder: Recorder }) {
  const desk = useDesk()
  const parts = useMemo<BenchParts>(() => {
    const bench = new Bench(desk)
    return { bench, drawing: new Drawing(bench), opening: new Opening(bench), hands: { pointer: null, strip: null, setBeside: null, setBesideAgain: null } }
  }, [desk])
  useEffect(() => tellTest(parts.bench), [parts])
  useEffect(() => publishBoard(parts.bench), [parts])
  useRequests(parts)
  useSaving(parts)
  return <BenchProvider value={parts}><Room recorder={recorder} /></BenchProvider>
}

function Room({ recorder: Recorder }: { readonly recorder: Recorder }) {
  useRenderCount()
  const { bench } = useParts()
  const isBare = useBench((state) => state.clipIds[0] === null && state.clipIds[1] === null)
  // With both panes emptied the recorder still has to be there to be stopped.
  const isRecording = useApp((state) => state.recording !== null)
  const isEmpty = isBare && !isRecording
  const words = useBench((state) => state.opening)
  const fault = useBench((state) => state.fault)
  const stands = useBench((state) => state.paletteStands)
  const context = useRecordingContext()
  const isAsked = useApp((state) => state.beside !== null && state.beside.student === null)
  if (isEmpty) {
    if (words) return <Waiting words={words} />
    return (
      <EmptyState title={fault ? 'This could not be opened' : 'Nothing on the Bench yet'} actions={<Button look="primary" onClick={() => goTo('arrivals')}>Go to Arrivals</Button>}>
        {fault ? <p role="alert"><Warning /> {fault.message} {fault.remedy}</p> : <p>{isAsked ? 'Open the student\u2019s swing first: the reference is then set beside it. ' : ''}In Arrivals, choose a clip or a pair and open it on the Bench (key B). Two clips of one swing, or of two, stand side by side here: tie them at an instant, draw on them, and talk it through.</p>}
      </EmptyState>
    )
  }
  return (
    <div className="bench" onMouseDown={keepFocus}>
      <Stage />
      <TransportBar />
      <StripRow />
      <MeasuringRoom />
      <aside className="bench-side" aria-label="Clips and marks">
        {words ? <p className="quiet" role="status">{words}</p> : null}
        {fault ? <p className="not-saved" role="alert"><Warning /><span>{fault.message} {fault.remedy}</span><Button onClick={() => bench.state.setState({ fault: null })}>Dismiss</Button></p> : null}
        <About />
        <Facts pane={0} />
        <Facts pane={1} />
        <SetBeside />
        {stands === 'docked' ? <DockedPalette /> : null}
        <MarkList />
        <FindingsHere />
        <div className="bench-recorder"><Recorder store={bench.store} context={context} onRecorded={openInLesson} /></div>
      </aside>
    </div>
  )
}

/** The way to a comparison, for as long as none stands. */
function SetBeside() {
  const { hands } = useParts()
  const isBeside = useBench((state) => state.hasReference)
  const kept = useBench((state) => state.keptBeside)
  return isBeside ? null : (
    <div className="set-beside">
      <ToolButton keys="Q" onClick={() => hands.setBeside?.()}>Set a reference beside</ToolButton>
      {kept === null ? null : <ToolButton className="beside-again" keys="Shift R" title={`${kept} stood beside it last: set it there again, as it was`} onClick={() => hands.setBesideAgain?.()}><span>Again: {kept}</span></ToolButton>}
    </div>
  )
}

/** A click on a button does not take the keyboard away: Space goes on playing. */
function keepFocus(event: MouseEvent): void {
  if (event.target instanceof Element && event.target.closest('button')) event.preventDefault()
}

function Stage() {
  useRenderCount()
  const { bench, drawing, hands } = useParts()
  const host = useRef<HTMLDivElement>(null)
  const tool = useBench((state) => state.tool)
  useEffect(() => {
    const detach = bench.attach(host.current!)
    const overlay = new BenchOverlay(host.current!, bench, drawing)
    const pointer = new StagePointer(host.current!, bench, drawing)
    hands.pointer = pointer
    return () => {
      hands.pointer = null
      pointer.dispose()
      overlay.dispose()
      detach()
    }
  }, [bench, drawing, hands])
  useKeys(useMemo(() => benchKeys(bench, drawing, (): Hands => hands), [bench, drawing, hands]))
  return (
    <div className="bench-stage">
      <div className="stage-host" ref={host} data-tool={tool} role="group" aria-label="Panes" />
      <PaneTags />
      <PointerPalette />
      <WordsEditor />
    </div>
  )
}

function StripRow() {
  useRenderCount()
  const { bench, hands } = useParts()
  const host = useRef<HTMLDivElement>(null)
  const hasBoth = useBench((state) => state.clipIds[0] !== null && state.clipIds[1] !== null)
  const clips = useToldClips(useBench((state) => state.clipIds))
  useEffect(() => {
    const strip = new TwinStrip(host.current!, bench)
    hands.strip = strip
    return () => {
      hands.strip = null
      strip.dispose()
    }
  }, [bench, hands])
  const [left, right] = clips.map((clip) => (clip ? viewWords[clip.view] : ''))
  return (
    <section className="bench-strip" aria-label="Both clips in real time">
      <div className="strip-names quiet" title={hasBoth ? 'Drag a strip to scrub. Alt and drag moves one strip against the other and ties them so. The wheel zooms.' : 'Drag the strip to scrub. The wheel zooms.'}><span>seconds</span><span>{left}</span><span>{right}</span></div>
      <div className="strip-host" ref={host} />
    </section>
  )
}

/** Opens what the other rooms ask for, and follows what they change of the clips that are open. */
function useRequests({ bench, opening }: BenchParts): void {
  const request = useApp((state) => state.bench)
  const loaded = useLibrary((library) => library.loaded)
  const clipIds = useStore(bench.state, (state) => state.clipIds)
  const clips = useToldClips(clipIds)
  const opened = useRef<object | null>(null)
  const asStood = useApp((state) => state.restore)
  const beside = useApp((state) => state.beside)
  const besideOpened = useRef<object | null>(null)
  const besideSwing = useSwing(swingOfRequest(beside?.student))
  // A comparison may name the student's swing too; the comparison itself waits until that stands on the panes.
  useEffect(() => {
    if (!beside?.student || !loaded || besideSwing === undefined || besideOpened.current === beside) return
    besideOpened.current = beside
    const here = bench.state.getState().clipIds
    if (!clipsOfRequest(beside.student, besideSwing).some((id) => here.includes(id))) openOnBench(beside.student)
  }, [beside, loaded, besideSwing, bench])
  useEffect(() => {
    if (!request || !loaded || opened.current === request) return
    opened.current = request
    void opening.open(request)
  }, [request, loaded, opening])
  useEffect(() => {
    if (!asStood || !loaded || opened.current === asStood) return
    opened.current = asStood
    void opening.restore(asStood.stage)
  }, [asStood, loaded, opening])
  useEffect(() => {
    if (!loaded) return
    for (const pane of [0, 1] as const) {
      const open = bench.clip(pane)
      const now = clips[pane]
      if (!open || open.id !== clipIds[pane] || now === undefined) continue
      if (!now) void opening.put(pane, null)
      else {
        const isTurned = (now.mirrored ?? false) !== (open.mirrored ?? false)
        if (isTurned || now.captureRate !== open.captureRate || now.view !== open.view || now.handedness !== open.handedness)
          bench.store.know([{ ...open, captureRate: now.captureRate, view: now.view, handedness: now.handedness, mirrored: now.mirrored }])
        if (isTurned) bench.turn(pane)
      }
    }
  }, [clips, clipIds, loaded, bench, opening])
}

/** Marks and ties are put on disk when the window loses the coach's attention, too. */
function useSaving({ bench }: BenchParts): void {
  const desk = useDesk()
  useEffect(() => {
    const stopTie = keepTie(bench)
    const flush = (): void => void bench.saver.flush()
    const warn = (event: BeforeUnloadEvent): void => {
      if (bench.state.getState().saving.state === 'failed') event.preventDefault()
    }
    window.addEventListener('blur', flush)
    window.addEventListener('pagehide', flush)
    document.addEventListener('visibilitychange', flush)
    window.addEventListener('beforeunload', warn)
    const settings = (): void => void desk.call('settings.get', {}).then(({ palette }) => bench.state.setState({ paletteStands: palette }), () => undefined)
    settings()
    const stopSettings = desk.listen((event) => {
      if (event.type === 'changed' && event.what === 'settings') settings()
    })
    return () => {
      stopTie()
      stopSettings()
      window.removeEventListener('blur', flush)
      window.removeEventListener('pagehide', flush)
      document.removeEventListener('visibilitychange', flush)
      window.removeEventListener('beforeunload', warn)
      flush()
    }
  }, [bench, desk])
}

function useRecordingContext() {
  const swing = useBench((state) => state.swing)
  const clipIds = useBench((state) => state.clipIds)
  const clip = useClip(clipIds[0] ?? clipIds[1])
  const students = useLibrary((library) => library.students)
  return useMemo(() => {
    if (!clip) return null
    const name = students.find(({ id }) => id === clip.studentId)?.name
    return { swingId: swing?.id ?? null, studentId: clip.studentId, title: [name, swing?.title || [clip.club, viewWords[clip.view]].filter(Boolean).join(', ')].filter(Boolean).join(': ') }
  }, [swing, clip, students])
}
