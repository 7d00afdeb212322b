import { useEffect, useRef } from 'react'
import { apply } from '../../shared/geometry/affine.ts'
import { useBench, useParts, useRenderCount } from './benchContext.tsx'

/** Where words of a text or a caption are typed, beside the mark; the picture shows them as they come. */
export function WordsEditor() {
  useRenderCount()
  const { bench, drawing } = useParts()
  const writing = useBench((state) => state.writing)
  const box = useRef<HTMLTextAreaElement>(null)
  const id = writing?.mark.id
  useEffect(() => {
    if (!writing || !box.current) return
    const pane = bench.marks.paneOf(writing.mark)
    const place = pane === null ? null : bench.view?.place(pane)
    const point = writing.mark.points.at(writing.mark.shape === 'text' ? 0 : -1)!
    const parent = box.current.parentElement!
    const [x, y] = place ? apply(place.toHost, point) : [40, 40]
    box.current.style.left = `${Math.max(4, Math.min(x + 10, parent.clientWidth - 248))}px`
    box.current.style.top = `${Math.max(4, Math.min(y + 34, parent.clientHeight - 70))}px`
    box.current.value = writing.mark.text
    box.current.focus()
    box.current.select()
  // Set up once for each mark: what is typed afterwards is the coach's.
  // oxlint-disable-next-line react-hooks/exhaustive-deps
  }, [id, bench])
  if (!writing) return null
  return (
    <textarea
      ref={box}
      className="words-editor"
      rows={2}
      maxLength={2000}
      aria-label={writing.mark.shape === 'text' ? 'Words on the picture' : 'Caption'}
      placeholder="Enter to finish, Shift Enter for a new line"
      onPointerDown={(event) => event.stopPropagation()}
      onInput={(event) => drawing.words(event.currentTarget.value, false)}
      onBlur={(event) => drawing.words(event.currentTarget.value, true)}
      onKeyDown={(event) => {
        event.stopPropagation()
        if (event.key === 'Escape') drawing.words(null, true)
        else if (event.key === 'Enter' && !event.shiftKey) {
          event.preventDefault()
          drawing.words(event.currentTarget.value, true)
        }
      }}
    />
  )
}
