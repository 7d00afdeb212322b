import { useLayoutEffect, useRef, useState, type KeyboardEvent } from 'react'
import { meanings } from '../../shared/markup/mark.ts'
import { useBench, useParts, useRenderCount } from './benchContext.tsx'
import { meaningKeys, shapeKeys } from './benchState.ts'
import { StyleRow } from './StyleRow.tsx'

/** The palette at the pointer: a letter chooses, D turns to the plain shapes, Esc closes. */
export function PointerPalette() {
  useRenderCount()
  const place = useBench((state) => state.palette)
  // A new one each time it opens: it always begins with the meanings.
  return place ? <OpenPalette key={`${place.x} ${place.y}`} place={place} /> : null
}

function OpenPalette({ place }: { readonly place: { readonly x: number; readonly y: number } }) {
  useRenderCount()
  const { bench } = useParts()
  const [isPlain, setPlain] = useState(false)
  const box = useRef<HTMLDivElement>(null)
  // Before anything is painted, and so before the next key comes.
  useLayoutEffect(() => {
    const element = box.current!
    const { clientWidth, clientHeight } = element.parentElement!
    element.style.left = `${Math.max(4, Math.min(place.x + 6, clientWidth - element.offsetWidth - 4))}px`
    element.style.top = `${Math.max(4, Math.min(place.y + 6, clientHeight - element.offsetHeight - 4))}px`
    element.focus()
  }, [place])
  const close = (): void => bench.state.setState({ palette: null })
  const pressed = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.altKey) return
    const key = event.key.toLowerCase()
    const shape = isPlain ? shapeKeys.find(([letter]) => letter === key)?.[1] : undefined
    const meaning = isPlain ? undefined : meaningKeys.find(([letter]) => letter === key)?.[1]
    if (key === 'escape') close()
    else if (shape) bench.takeTool(shape)
    else if (meaning) bench.takeTool(meanings[meaning].shape, meaning)
    else if (key === 'o' && !isPlain) bench.takeTool('pointer')
    else if (key === 'd') setPlain(true)
    else return
    event.preventDefault()
    event.stopPropagation()
  }
  return (
    <div className="palette at-pointer" ref={box} role="dialog" aria-label="Marks" tabIndex={-1} onKeyDown={pressed} onPointerDown={(event) => event.stopPropagation()} onContextMenu={(event) => event.preventDefault()}>
      <PaletteChoices isPlain={isPlain} onPlain={setPlain} />
    </div>
  )
}

/** The palette for those who want it in sight. */
export function DockedPalette() {
  useRenderCount()
  const [isPlain, setPlain] = useState(false)
  return <section className="palette docked" aria-label="Marks to draw"><PaletteChoices isPlain={isPlain} onPlain={setPlain} /></section>
}

function PaletteChoices({ isPlain, onPlain }: { readonly isPlain: boolean; readonly onPlain: (plain: boolean) => void }) {
  const { bench } = useParts()
  const tool = useBench((state) => state.tool)
  const meaning = useBench((state) => state.meaning)
  return (
    <>
      <div className="palette-choices" role="group" aria-label={isPlain ? 'Plain shapes' : 'By meaning'}>
        {isPlain
          ? shapeKeys.map(([key, shape, words]) => (
            <button key={shape} type="button" className="tool" aria-pressed={tool === shape && meaning === null} onClick={() => bench.takeTool(shape)}><span>{words}</span><kbd aria-hidden="true">{key.toUpperCase()}</kbd></button>
          ))
          : meaningKeys.map(([key, one]) => (
            <button key={one} type="button" className="tool" aria-pressed={meaning === one} onClick={() => bench.takeTool(meanings[one].shape, one)}>
              <i className="ink" style={{ background: `var(--ink-${meanings[one].ink})` }} /><span>{meanings[one].name}</span><kbd aria-hidden="true">{key.toUpperCase()}</kbd>
            </button>
          ))}
        {isPlain ? null : <button type="button" className="tool" aria-pressed={tool === 'pointer'} onClick={() => bench.takeTool('pointer')}><i className="ink ring" /><span>Point</span><kbd aria-hidden="true">O</kbd></button>}
        <button type="button" className="tool turn" onClick={() => onPlain(!isPlain)}><span>{isPlain ? 'By meaning' : 'Plain shapes'}</span>{isPlain ? null : <kbd aria-hidden="true">D</kbd>}</button>
      </div>
      <StyleRow />
    </>
  )
}
