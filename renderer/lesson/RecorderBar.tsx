import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import { useStore } from 'zustand'
import type { Settings } from '../../shared/contract/operations.ts'
import type { StageStore } from '../playback/stageStore.ts'
import { appStore, openInLesson } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk } from '../ui/desk.tsx'
import { BareSelect, Warning } from '../ui/Field.tsx'
import type { KeyBinding } from '../ui/keys.ts'
import { attempt } from '../ui/notices.ts'
import { useKeys } from '../ui/useKeys.ts'
import { clockWords } from './clockWords.ts'
import { listInputs } from './microphone.ts'
import { dropPlan, planWords, putIn, takePlanStore } from './editing/retake.ts'
import { RecorderControl, unsavedWarningMs, type RecordingContext } from './recorderControl.ts'
import type { Level } from './soundSource.ts'
import './recorder.css'

const noVoice = '(no voice)'

/** Records what happens on the Bench, with the coach's voice. Stands in the Bench's bar; knows nothing of the Bench but its stage. */
export function RecorderBar({ store, context, onRecorded }: {
  readonly store: StageStore
  /** What is on the panes; null where there is nothing to talk over yet. */
  readonly context: RecordingContext | null
  readonly onRecorded: (walkthroughId: string) => void
}) {
  const desk = useDesk()
  const control = useMemo(() => new RecorderControl(desk, store), [desk, store])
  const view = useStore(control.view)
  const { inputs, input, countIn, choose, refresh } = useInputs()
  const meter = useRef<HTMLDivElement>(null)
  const busy = view.state !== 'idle'

  useEffect(() => {
    control.onLevel = (level) => showLevel(meter.current, level)
  }, [control])
  useEffect(() => {
    if (view.state === 'recording') void refresh()
    if (view.state === 'idle') showLevel(meter.current, { peakDb: -Infinity, rmsDb: -Infinity, clipped: false })
  }, [view.state, refresh])
  useEffect(() => {
    appStore.setState({ recording: view.state === 'idle' ? null : view.state })
    return () => appStore.setState({ recording: null })
  }, [view.state])
  useEffect(() => {
    if (!busy) return
    const warn = (event: BeforeUnloadEvent) => event.preventDefault()
    window.addEventListener('beforeunload', warn)
    return () => window.removeEventListener('beforeunload', warn)
  }, [busy])

  const plan = useStore(takePlanStore, (state) => state.plan)
  const start = useCallback(() => {
    const { plan: wanted } = takePlanStore.getState()
    const about = context && wanted ? { swingId: wanted.swingId, studentId: wanted.studentId, title: wanted.title, takeOf: { lessonId: wanted.lessonId, place: wanted.place } } : context
    if (about) void control.start(about, { deviceId: input === noVoice ? '' : input, voice: input !== noVoice, countIn })
  }, [control, context, input, countIn])
  const stop = useCallback(async () => {
    const { plan: wanted } = takePlanStore.getState()
    const id = await control.stop()
    if (!id) return
    if (!wanted) return onRecorded(id)
    // The take is kept with its lesson whatever comes of this; the lesson's list of takes can still put it in.
    await attempt(() => putIn(desk, wanted.lessonId, id, wanted.place))
    dropPlan()
    onRecorded(wanted.lessonId)
  }, [control, desk, onRecorded])
  const pauseOrResume = useCallback(() => {
    if (control.view.getState().state === 'recording') control.pause()
    else void control.resume(input === noVoice ? '' : input)
  }, [control, input])

  useKeys(useMemo<KeyBinding[]>(() => [
    { id: 'record', keys: 'Mod+Enter', words: 'Record, or stop recording', scope: 'bench', group: 'Recording', run: () => (control.view.getState().state === 'idle' ? start() : void stop()) },
    { id: 'record-pause', keys: 'Mod+.', words: 'Pause recording, or go on', scope: 'bench', group: 'Recording', when: () => ['recording', 'paused'].includes(control.view.getState().state), run: pauseOrResume },
    { id: 'record-chapter', keys: 'Mod+Shift+Enter', words: 'Begin a chapter', scope: 'bench', group: 'Recording', when: () => control.view.getState().state === 'recording', run: () => control.chapter('') },
  ], [control, start, stop, pauseOrResume]))

  return (
    <section className="recorder" aria-label="Recorder" data-state={view.state}>
      {plan ? (
        <div className="recorder-plan">
          <p role="status">{planWords(plan)}</p>
          {busy ? null : <Button look="plain" onClick={() => { dropPlan(); openInLesson(plan.lessonId) }}>Back to the lesson</Button>}
        </div>
      ) : null}
      <div className="recorder-buttons">
        {busy
          ? <Button look="danger" disabled={view.state === 'finishing'} onClick={() => void stop()}>{view.state === 'counting-in' ? 'Cancel' : 'Stop'}</Button>
          : <Button look="primary" disabled={!context} onClick={start} title={context ? undefined : 'Put a clip on a pane first'}>Record</Button>}
        <Button disabled={view.state !== 'recording' && view.state !== 'paused'} aria-label={view.state === 'paused' ? 'Resume recording' : 'Pause recording'} onClick={pauseOrResume}>{view.state === 'paused' ? 'Resume' : 'Pause'}</Button>
        <Button look="plain" disabled={view.state !== 'recording'} title="A new chapter begins here" onClick={() => control.chapter('')}>Chapter</Button>
      </div>
      <div className="recorder-meter" aria-hidden="true" ref={meter}><span /><i /></div>
      <div className="recorder-foot">
        {busy ? <Standing view={view} /> : (
          <BareSelect
            aria-label="Microphone"
            className="recorder-input"
            value={input}
            onFocus={() => void refresh()}
            choices={[{ value: '', words: "System's microphone" }, ...inputs.map(({ id, name }) => ({ value: id, words: name })), { value: noVoice, words: 'Without voice' }]}
            onChoose={choose}
          />
        )}
      </div>
      {view.fault ? <p className="recorder-fault" role="alert"><Warning /> {view.fault.message} {view.fault.remedy}</p> : null}
    </section>
  )
}

function Standing({ view }: { readonly view: ReturnType<RecorderControl['view']['getState']> }) {
  const unsaved = view.durationMs - view.savedMs
  return (
    <p className="recorder-standing" role="status">
      {view.state === 'counting-in' ? (view.count === null ? 'Opening the microphone' : `Recording begins in ${view.count}`) : null}
      {view.state === 'recording' || view.state === 'paused' ? (
        <>
          <strong className="digits">{clockWords(view.durationMs)}</strong>
          <span className="clip-text">{view.state === 'paused' ? 'paused' : view.voiced ? 'recording' : 'without voice'}{view.chapters > 0 ? `, chapter ${view.chapters}` : ''}</span>
          <span className={unsaved > unsavedWarningMs ? 'recorder-late' : 'quiet'}>
            {unsaved > unsavedWarningMs ? <><Warning /> {(unsaved / 1000).toFixed(0)} s not on the disk yet</> : <>saved <span className="digits">{clockWords(view.savedMs)}</span></>}
          </span>
        </>
      ) : null}
      {view.state === 'finishing' ? 'Putting the last of it on the disk' : null}
    </p>
  )
}

/** The chosen input and the count-in, kept in the settings. */
function useInputs() {
  const desk = useDesk()
  const [inputs, setInputs] = useState<{ id: string; name: string }[]>([])
  const [settings, setSettings] = useState<Pick<Settings, 'inputDevice' | 'countInSeconds'>>({ inputDevice: '', countInSeconds: 3 })
  const refresh = useCallback(async () => setInputs((await listInputs()).filter(({ id }) => id !== 'default')), [])
  useEffect(() => {
    const read = () => void attempt(async () => setSettings(await desk.call('settings.get', {})))
    read()
    void refresh()
    const stop = desk.listen((event) => {
      if (event.type === 'changed' && event.what === 'settings') read()
    })
    navigator.mediaDevices?.addEventListener('devicechange', refresh)
    return () => {
      stop()
      navigator.mediaDevices?.removeEventListener('devicechange', refresh)
    }
  }, [desk, refresh])
  const choose = (inputDevice: string) => {
    setSettings((old) => ({ ...old, inputDevice }))
    void attempt(() => desk.call('settings.set', { inputDevice }))
  }
  // An input that is gone is not chosen any more.
  const known = settings.inputDevice === noVoice || inputs.some(({ id }) => id === settings.inputDevice)
  return { inputs, input: known ? settings.inputDevice : '', countIn: settings.countInSeconds, choose, refresh }
}

/** The meter runs from -60 dB to full scale; drawn without React, twenty times a second. */
function showLevel(meter: HTMLDivElement | null, level: Level): void {
  if (!meter) return
  const part = (db: number) => Math.max(0, Math.min(1, (db + 60) / 60))
  meter.style.setProperty('--rms', String(part(level.rmsDb)))
  meter.style.setProperty('--peak', String(part(level.peakDb)))
  meter.toggleAttribute('data-clipped', level.clipped)
}
