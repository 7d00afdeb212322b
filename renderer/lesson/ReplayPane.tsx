import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import { parseLog, Replay } from '../../shared/walkthrough/log.ts'
import type { Walkthrough } from '../../shared/contract/walkthrough.ts'
import { fetchOriginal } from '../playback/originalPixels.ts'
import { createStageView } from '../playback/stageView.ts'
import { appStore } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { useDesk } from '../ui/desk.tsx'
import { Waiting } from '../ui/EmptyState.tsx'
import { BareSelect, Warning } from '../ui/Field.tsx'
import type { KeyBinding } from '../ui/keys.ts'
import { faultOf } from '../ui/notices.ts'
import { useKeys } from '../ui/useKeys.ts'
import { chapters } from './happenings.ts'
import { clockWords } from './clockWords.ts'
import { fetchPeaks, type Peaks } from './peaks.ts'
import { ReplayClock } from './replayClock.ts'
import { Timeline } from './Timeline.tsx'

const paces = [
  { value: '0.75', words: '0.75\u00d7' },
  { value: '1', words: '1\u00d7' },
  { value: '1.25', words: '1.25\u00d7' },
  { value: '1.5', words: '1.5\u00d7' },
] as const
type Pace = (typeof paces)[number]['value']

/** Plays a walkthrough back: the sound is the clock, and what is drawn at t is the log folded to t. */
export function ReplayPane({ walkthrough, onRest }: { readonly walkthrough: Walkthrough; readonly onRest: (ms: number) => void }) {
  const desk = useDesk()
  const [replay, setReplay] = useState<Replay | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  useEffect(() => {
    let wanted = true
    desk.call('walkthrough.log', { id: walkthrough.id }).then(
      ({ text }) => wanted && setReplay(new Replay(parseLog(text))),
      (error: unknown) => wanted && setFault(faultOf(error).message),
    )
    return () => {
      wanted = false
    }
  }, [desk, walkthrough.id])
  if (fault) return <p className="lesson-fault" role="alert"><Warning /> This walkthrough cannot be played: {fault}</p>
  if (!replay) return <div className="lesson-picture"><Waiting words="Reading the walkthrough" /></div>
  return <Player walkthrough={walkthrough} replay={replay} onRest={onRest} />
}

function Player({ walkthrough, replay, onRest }: { readonly walkthrough: Walkthrough; readonly replay: Replay; readonly onRest: (ms: number) => void }) {
  const desk = useDesk()
  const host = useRef<HTMLDivElement>(null)
  const elapsed = useRef<HTMLElement>(null)
  const soundUrl = desk.mediaUrl(`walkthrough/${walkthrough.id}.wav`)
  const sound = useMemo(() => {
    const element = new Audio(soundUrl)
    element.preload = 'auto'
    element.preservesPitch = true
    return element
  }, [soundUrl])
  const clock = useMemo(() => new ReplayClock(sound), [sound])
  const now = useCallback(() => clock.now(), [clock])
  const [playing, setPlaying] = useState(false)
  const [pace, setPace] = useState<Pace>('1')
  const [peaks, setPeaks] = useState<Peaks | null>(null)
  const [fault, setFault] = useState<string | null>(null)
  const marks = useMemo(() => chapters(replay.log), [replay])

  useEffect(() => {
    const view = createStageView({
      host: host.current!,
      store: { settled: (at) => replay.at(at ?? now()), clips: replay.log.header.clips, now },
      media: {
        reviewUrl: (clipId) => desk.mediaUrl(`review/${clipId}.mp4`),
        original: (clipId, index, signal) => fetchOriginal(desk.mediaUrl(`frame/${clipId}/${index}`), signal),
      },
    })
    return () => view.dispose()
  }, [desk, replay, now])

  useEffect(() => {
    const heard = () => {
      setPlaying(!sound.paused && !sound.ended)
      onRest(sound.currentTime * 1000)
    }
    const broke = () => setFault('Its sound cannot be played; the file may be gone from the library.')
    const events = ['play', 'pause', 'ended', 'seeked'] as const
    for (const name of events) sound.addEventListener(name, heard)
    sound.addEventListener('error', broke)
    const leave = appStore.subscribe((state) => {
      if (state.room !== 'lesson') sound.pause()
    })
    return () => {
      for (const name of events) sound.removeEventListener(name, heard)
      sound.removeEventListener('error', broke)
      leave()
      sound.pause()
    }
  }, [sound, onRest])

  useEffect(() => {
    const stop = new AbortController()
    fetchPeaks(soundUrl, walkthrough.sampleRate, stop.signal).then(setPeaks, (error: unknown) => {
      if (!stop.signal.aborted) setFault(faultOf(error).message)
    })
    return () => stop.abort()
  }, [soundUrl, walkthrough.sampleRate])

  useEffect(() => {
    let frame = 0
    const follow = () => {
      const words = clockWords(now())
      if (elapsed.current && elapsed.current.textContent !== words) elapsed.current.textContent = words
      frame = requestAnimationFrame(follow)
    }
    follow()
    return () => cancelAnimationFrame(frame)
  }, [now])

  const toggle = useCallback(() => {
    if (!sound.paused && !sound.ended) return sound.pause()
    void sound.play().catch((error: unknown) => setFault(faultOf(error).message))
  }, [sound])
  const seek = useCallback((ms: number) => {
    sound.currentTime = Math.max(0, Math.min(ms, walkthrough.durationMs)) / 1000
  }, [sound, walkthrough.durationMs])
  const toChapter = useCallback((step: 1 | -1) => {
    const at = sound.currentTime * 1000
    const starts = [0, ...marks.map(({ atMs }) => atMs)]
    const target = step > 0 ? starts.find((start) => start > at + 50) : starts.findLast((start) => start < at - 1000)
    if (target !== undefined) seek(target)
  }, [sound, marks, seek])

  useKeys(useMemo<KeyBinding[]>(() => [
    { id: 'replay-play', keys: 'Space', words: 'Play or pause', scope: 'lesson', run: toggle },
    { id: 'replay-back', keys: 'ArrowLeft', words: 'Back 5 seconds', scope: 'lesson', repeats: true, run: () => seek(sound.currentTime * 1000 - 5000) },
    { id: 'replay-on', keys: 'ArrowRight', words: 'On 5 seconds', scope: 'lesson', repeats: true, run: () => seek(sound.currentTime * 1000 + 5000) },
    { id: 'replay-fine-back', keys: 'Shift+ArrowLeft', words: 'Back a tenth of a second', scope: 'lesson', repeats: true, run: () => seek(sound.currentTime * 1000 - 100) },
    { id: 'replay-fine-on', keys: 'Shift+ArrowRight', words: 'On a tenth of a second', scope: 'lesson', repeats: true, run: () => seek(sound.currentTime * 1000 + 100) },
    { id: 'replay-chapter-back', keys: 'ArrowUp', words: 'To the chapter before', scope: 'lesson', run: () => toChapter(-1) },
    { id: 'replay-chapter-on', keys: 'ArrowDown', words: 'To the next chapter', scope: 'lesson', run: () => toChapter(1) },
    { id: 'replay-start', keys: 'Home', words: 'To the beginning', scope: 'lesson', run: () => seek(0) },
  ], [toggle, seek, toChapter, sound]))

  return (
    <>
      <div className="lesson-picture" ref={host} />
      <div className="lesson-bar">
        <Button look="primary" onClick={toggle}>{playing ? 'Pause' : 'Play'}</Button>
        <Button onClick={() => seek(sound.currentTime * 1000 - 5000)}>Back 5 s</Button>
        <p className="lesson-time digits"><strong ref={elapsed}>0:00</strong> of {clockWords(walkthrough.durationMs)}</p>
        {marks.length ? <><Button onClick={() => toChapter(-1)}>Chapter before</Button><Button onClick={() => toChapter(1)}>Next chapter</Button></> : null}
        <BareSelect
          aria-label="Pace"
          value={pace}
          choices={paces}
          onChoose={(value) => {
            sound.playbackRate = Number(value)
            setPace(value)
          }}
        />
      </div>
      <Timeline log={replay.log} peaks={peaks} durationMs={walkthrough.durationMs} now={now} onSeek={seek} />
      {fault ? <p className="lesson-fault" role="alert"><Warning /> {fault}</p> : null}
    </>
  )
}
