import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import { useStore } from 'zustand'
import type { Walkthrough } from '../../../shared/contract/walkthrough.ts'
import { programmePeaks, usualSilence, findSilences, type SilenceOptions } from '../../../shared/walkthrough/silences.ts'
import { spansOfFix } from '../../../shared/walkthrough/editFixes.ts'
import { moveChapter } from '../../../shared/walkthrough/editHeadings.ts'
import { toMs, toSamples } from '../../../shared/walkthrough/edits.ts'
import type { Stage } from '../../../shared/walkthrough/stage.ts'
import type { StageView } from '../../playback/stageView.ts'
import { appStore } from '../../ui/appStore.ts'
import { useDesk } from '../../ui/desk.tsx'
import { Waiting } from '../../ui/EmptyState.tsx'
import { Warning } from '../../ui/Field.tsx'
import { isWalkthroughShown, lessonPageStore } from '../lessonPage.ts'
import { EditBar, Transport, type TrayId } from './EditBar.tsx'
import { EditedPicture } from './EditedPicture.tsx'
import { EditKeys } from './EditKeys.tsx'
import { LessonEditor } from './lessonEditor.ts'
import { LessonSound, soundPathOf } from './lessonSound.ts'
import { LessonPlayer } from './player.ts'
import { MarkFixing } from './markFixing.ts'
import { Tray } from './Tray.tsx'
import { Waveform } from './waveform.ts'
import './editing.css'

export interface EditingParts {
  readonly editor: LessonEditor
  readonly sound: LessonSound
  readonly player: LessonPlayer
  readonly fixing: MarkFixing
}

/** A lesson played and edited: the picture, the sound under it, and what can be done. `onRest` hears where it rests, milliseconds. */
export function LessonEditing({ walkthrough, onRest }: { readonly walkthrough: Walkthrough; readonly onRest: (ms: number) => void }) {
  const desk = useDesk()
  const [parts, setParts] = useState<EditingParts | null>(null)
  useEffect(() => {
    const editor = new LessonEditor(desk, walkthrough.id)
    const player = new LessonPlayer()
    const made = { editor, player, sound: new LessonSound(desk), fixing: new MarkFixing(editor, player) }
    editor.now = player.now
    editor.onPlace = (ms) => player.place(ms)
    setParts(made)
    return () => {
      made.fixing.dispose()
      editor.dispose()
      player.dispose()
      made.sound.dispose()
    }
  }, [desk, walkthrough.id])
  if (!parts) return <div className="lesson-picture"><Waiting words="Reading the lesson" /></div>
  return <Loaded parts={parts} onRest={onRest} />
}

function Loaded({ parts, onRest }: { readonly parts: EditingParts; readonly onRest: (ms: number) => void }) {
  const lesson = useStore(parts.editor.view, (view) => view.lesson)
  const programme = useStore(parts.editor.view, (view) => view.programme)
  const fault = useStore(parts.editor.view, (view) => view.fault)
  if (fault) return <p className="lesson-fault" role="alert"><Warning /> This lesson cannot be opened: {fault}</p>
  if (!lesson || !programme) return <div className="lesson-picture"><Waiting words="Reading the lesson" /></div>
  return <Editing parts={parts} onRest={onRest} />
}

function Editing({ parts, onRest }: { readonly parts: EditingParts; readonly onRest: (ms: number) => void }) {
  const { editor, sound, player, fixing } = parts
  const desk = useDesk()
  const lesson = useStore(editor.view, (view) => view.lesson)!
  const programme = useStore(editor.view, (view) => view.programme)!
  const savedVersion = useStore(editor.view, (view) => view.savedVersion)
  const selection = useStore(editor.view, (view) => view.selection)
  const peaks = useStore(sound.view, (view) => view.peaks)
  const cleaned = useStore(sound.view, (view) => view.cleaned)
  const soundFault = useStore(sound.view, (view) => view.fault)
  const playFault = useStore(player.view, (view) => view.fault)
  const [tray, setTray] = useState<TrayId | null>(null)
  const [asRecorded, setAsRecorded] = useState(false)
  const [options, setOptions] = useState<SilenceOptions>(usualSilence)
  const silences = useSilences(parts, tray === 'silences', options)

  // Past React: where it rests changes with each seek, and nothing here shows it.
  useEffect(() => player.view.subscribe(({ restMs }, before) => restMs !== before.restMs && onRest(restMs)), [player, onRest])
  useEffect(() => sound.follow(lesson), [sound, lesson])
  useEffect(() => {
    const path = soundPathOf(lesson, savedVersion, cleaned, asRecorded)
    if (path !== null) player.load(desk.mediaUrl(path))
  }, [player, desk, lesson, savedVersion, asRecorded, cleaned])
  useEffect(() => appStore.subscribe((state) => {
    if (state.room !== 'lesson') player.pause()
  }), [player])
  // What plays goes on only where it is seen.
  useEffect(() => lessonPageStore.subscribe(() => {
    if (!isWalkthroughShown()) player.pause()
  }), [player])
  useEffect(() => fixing.setOn(tray === 'marks'), [fixing, tray])

  const programmeNow = useCallback(() => editor.view.getState().programme!, [editor])
  const onView = useCallback((view: StageView | null, host: HTMLDivElement | null) => fixing.attach(view, host), [fixing])
  const adjust = useCallback((stage: Stage) => fixing.adjust(stage), [fixing])
  const track = useMemo(() => programmePeaks(programme, peaks), [programme, peaks])

  return (
    <>
      <div className="edited">
        <EditedPicture programme={programmeNow} now={player.now} adjust={adjust} onView={onView} />
        {tray ? (
          <Tray
            id={tray} parts={parts} onClose={() => setTray(null)}
            silences={{ ...silences, options, onOptions: setOptions }}
            compare={{ asRecorded, onAsRecorded: setAsRecorded }}
          />
        ) : null}
      </div>
      <Transport parts={parts} />
      <EditBar parts={parts} tray={tray} onTray={setTray} />
      <Waves parts={parts} track={track} selection={selection} proposals={tray === 'silences' ? silences : null} onChapter={() => setTray('chapters')} />
      <EditKeys parts={parts} onTray={(id) => setTray((old) => (old === id ? null : id))} onCompare={setAsRecorded} />
      {soundFault ?? playFault ? <p className="lesson-fault" role="alert"><Warning /> {soundFault ?? playFault}</p> : null}
    </>
  )
}

export interface Proposal {
  readonly span: { readonly from: number; readonly to: number }
  readonly isShowing: boolean
  readonly chosen: boolean
}

/** The silences that are proposed, and which of them the coach wants trimmed. Those in which something is shown are left to be chosen. */
function useSilences({ editor, sound }: EditingParts, isOpen: boolean, options: SilenceOptions) {
  const programme = useStore(editor.view, (view) => view.programme)!
  const peaks = useStore(sound.view, (view) => view.peaks)
  const [list, setList] = useState<readonly Proposal[]>([])
  useEffect(() => {
    if (!isOpen) return
    setList(findSilences(programme, programmePeaks(programme, peaks), options).map((silence) => ({ ...silence, chosen: !silence.isShowing })))
  }, [isOpen, programme, peaks, options])
  const change = useCallback((index: number, patch: Partial<Proposal>) => setList((old) => old.map((each, i) => (i === index ? { ...each, ...patch } : each))), [])
  return { list, change }
}

function Waves({ parts, track, selection, proposals, onChapter }: {
  readonly parts: EditingParts
  readonly track: ReturnType<typeof programmePeaks>
  readonly selection: { readonly from: number; readonly to: number } | null
  readonly proposals: ReturnType<typeof useSilences> | null
  readonly onChapter: () => void
}) {
  const { editor, player, fixing } = parts
  const programme = useStore(editor.view, (view) => view.programme)!
  const lesson = useStore(editor.view, (view) => view.lesson)!
  const host = useRef<HTMLDivElement>(null)
  const lanes = useRef<HTMLCanvasElement>(null)
  const head = useRef<HTMLDivElement>(null)
  const [waveform, setWaveform] = useState<Waveform | null>(null)
  const change = proposals?.change
  const changeRef = useRef(change)
  useEffect(() => {
    changeRef.current = change
  }, [change])

  useEffect(() => {
    const made = new Waveform({
      host: host.current!, lanes: lanes.current!, head: head.current!, now: player.now, isPlaying: () => player.isPlaying,
      onSeek: (ms) => player.seek(ms),
      onSelect: (span) => editor.select(span),
      onProposal: (index, span) => changeRef.current?.(index, { span }),
      onLane: (hit) => {
        if (hit.kind === 'piece') {
          editor.select({ from: hit.placed.at, to: hit.placed.at + hit.placed.length })
          return
        }
        player.seek(hit.ms)
        if (hit.kind === 'chapter') onChapter()
        else fixing.chooseFix(hit.id)
      },
      onMoveChapter: (id, ms) => editor.edit('Move a chapter', (edits) => moveChapter(edits, id, toSamples(ms))),
    })
    setWaveform(made)
    zooms.set(editor, (factor) => made.zoom(factor))
    return () => {
      zooms.delete(editor)
      made.dispose()
    }
  }, [editor, player, fixing, onChapter])
  const input = useMemo(() => ({
    chapters: programme.chapters(),
    fixes: lesson.edits.fixes.flatMap((fix) => spansOfFix(programme, fix).map((span) => ({ id: fix.id, span }))),
    nameOf: takeName(lesson.takes.map(({ id }) => id)),
  }), [programme, lesson.edits.fixes, lesson.takes])
  useEffect(() => waveform?.show(programme, track, input), [waveform, programme, track, input])
  useEffect(() => waveform?.select(selection), [waveform, selection])
  useEffect(() => waveform?.propose(proposals?.list ?? []), [waveform, proposals?.list, programme])

  return (
    <div className="waves" role="group" aria-label={`The lesson's sound, ${Math.round(toMs(programme.length) / 1000)} seconds`}>
      <div className="waves-sound" ref={host} />
      <canvas className="waves-lanes" ref={lanes} />
      <div className="waves-head" ref={head} />
    </div>
  )
}

/** The first recording is the lesson itself; the others are counted. */
export const takeName = (ids: readonly string[]) => (takeId: string): string => {
  const place = ids.indexOf(takeId)
  return place <= 0 ? 'First recording' : `Take ${place + 1}`
}

/** How the open lesson's waveform is made wider or narrower; for keys and buttons. */
const zooms = new Map<LessonEditor, (factor: number) => void>()
export const zoomWaves = (editor: LessonEditor, factor: number): void => zooms.get(editor)?.(factor)
