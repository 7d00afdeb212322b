import { useEffect, useState } from 'react'
import { useStore } from 'zustand'
import type { LessonTake } from '../../../shared/contract/lesson.ts'
import { unusedStretches } from '../../../shared/walkthrough/editPieces.ts'
import { takesIn, toMs, toSamples, type Stretch } from '../../../shared/walkthrough/edits.ts'
import { Button } from '../../ui/Button.tsx'
import { useDesk } from '../../ui/desk.tsx'
import { attempt } from '../../ui/notices.ts'
import { minuteWords } from '../../ui/words.ts'
import { clockWords } from '../clockWords.ts'
import { bringBack, secondsWords, putInstead } from './actions.ts'
import { EarlierLesson } from './EarlierLesson.tsx'
import { takeName, type EditingParts } from './LessonEditing.tsx'

/** Shorter leftovers are the edges of trimmed silences, not worth a line. */
const leastShown = 24_000

/** The lesson's recordings, and what of each is not in it: all of it is kept, and any part comes back. */
export function TakesPanel({ parts }: { readonly parts: EditingParts }) {
  const { editor, player } = parts
  const lesson = useStore(editor.view, (view) => view.lesson)!
  const [isChoosing, setChoosing] = useState(false)
  const own = lesson.takes.filter((take) => take.own)
  const named = takeName(lesson.takes.map(({ id }) => id))
  const used = new Set(takesIn(lesson.edits))
  return (
    <>
      {own.map((take) => {
        const left = unusedStretches(lesson.edits.pieces, [{ id: take.id, length: toSamples(take.durationMs) }]).filter(({ from, to }) => to - from >= leastShown)
        return (
          <section key={take.id} className="tray-take" aria-label={named(take.id)}>
            <h4>{named(take.id)} <span className="quiet">{clockWords(take.durationMs)}, {minuteWords(take.createdAt)}{used.has(take.id) ? '' : ', not in the lesson'}</span></h4>
            {left.length === 0 ? <p className="quiet">All of it is in the lesson.</p> : null}
            <ul className="tray-list">
              {left.map((stretch) => <Leftover key={`${stretch.from}-${stretch.to}`} stretch={stretch} take={take} parts={parts} onHere={() => void attempt(async () => {
                await editor.takeOf(take.id, take.durationMs)
                bringBack(editor, stretch, player.now())
              })} />)}
            </ul>
          </section>
        )
      })}
      <Button onClick={() => setChoosing(true)}>From another lesson</Button>
      {isChoosing ? <EarlierLesson parts={parts} onClose={() => setChoosing(false)} /> : null}
    </>
  )
}

function Leftover({ stretch, take, parts: { editor }, onHere }: { readonly stretch: Stretch; readonly take: LessonTake; readonly parts: EditingParts; readonly onHere: () => void }) {
  const back = (how: typeof bringBack | typeof putInstead) => () => void attempt(async () => {
    await editor.takeOf(take.id, take.durationMs)
    if (how === putInstead) putInstead(editor, stretch)
    else bringBack(editor, stretch, null, take.place?.from)
  })
  const words = `${clockWords(toMs(stretch.from))} to ${clockWords(toMs(stretch.to))}`
  return (
    <li className="tray-left">
      <span className="digits">{words}, {secondsWords(stretch.to - stretch.from)}</span>
      <span className="tray-row">
        <Listen takeId={take.id} stretch={stretch} words={words} />
        <Button look="plain" title="Puts it back where it was, beside what stands there now" onClick={back(bringBack)}>Put back</Button>
        <Button look="plain" title="Puts it back in place of what was recorded for it since" onClick={back(putInstead)}>Instead</Button>
        <Button look="plain" title="Puts it in at the playhead" onClick={onHere}>Here</Button>
      </span>
    </li>
  )
}

/** Plays a stretch of a recording that is not in the lesson. */
function Listen({ takeId, stretch, words }: { readonly takeId: string; readonly stretch: Stretch; readonly words: string }) {
  const desk = useDesk()
  const [audio, setAudio] = useState<HTMLAudioElement | null>(null)
  useEffect(() => () => audio?.pause(), [audio])
  const start = (): void => {
    const made = new Audio(desk.mediaUrl(`walkthrough/${takeId}.wav`))
    made.currentTime = toMs(stretch.from) / 1000
    made.addEventListener('timeupdate', () => {
      if (made.currentTime * 1000 >= toMs(stretch.to)) made.pause()
    })
    made.addEventListener('pause', () => setAudio(null))
    setAudio(made)
    void attempt(() => made.play())
  }
  return <Button look="plain" aria-label={`${audio ? 'Stop' : 'Hear'} ${words}`} onClick={() => (audio ? audio.pause() : start())}>{audio ? 'Stop' : 'Hear'}</Button>
}
