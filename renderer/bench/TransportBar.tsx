import { useCallback } from 'react'
import { playRates } from '../playback/index.ts'
import { ToolButton } from '../ui/Button.tsx'
import { runCommand } from '../ui/keys.ts'
import { useClip } from '../ui/useRecords.ts'
import { useBench, useParts, useRenderCount, useTransport } from './benchContext.tsx'

const rateWords = ['\u215b', '\u00bc', '\u00bd', '1']

/** What moves the panes and how they stand, in words with their keys. */
export function TransportBar() {
  useRenderCount()
  const { bench } = useParts()
  const { transport } = bench
  const isPlaying = useBench((state) => state.isPlaying)
  const isTied = useBench((state) => state.isTied)
  const layout = useBench((state) => state.layout)
  const active = useBench((state) => state.active)
  const isFilmedMirrored = useClip(useBench((state) => state.clipIds[state.active]))?.mirrored ?? false
  const isMirrored = useBench((state) => state.mirror[state.active]) !== isFilmedMirrored
  const isZoomed = useBench((state) => state.isZoomed[state.active])
  const hasBoth = useBench((state) => state.clipIds[0] !== null && state.clipIds[1] !== null)
  const rate = useTransport((state) => state.rate)
  const loop = useTransport((state) => state.loops[active])
  const loopStart = useBench((state) => state.loopStart)
  const play = useCallback(() => transport.toggle(bench.active), [bench, transport])
  return (
    <div className="bench-bar" role="toolbar" aria-label="Playing and panes">
      <div className="bar-groups">
        <div className="bar-group">
          <ToolButton onClick={() => transport.step(bench.active, -1)} aria-label="Back one frame" keys={'\u2190'}>Back</ToolButton>
          <ToolButton className="play" pressed={isPlaying} onClick={play} keys="Space">{isPlaying ? 'Pause' : 'Play'}</ToolButton>
          <ToolButton onClick={() => transport.step(bench.active, 1)} aria-label="On one frame" keys={'\u2192'}>On</ToolButton>
          <span className="switch" role="group" aria-label="Speed of play">
            {playRates.map((one, i) => (
              <button key={one} type="button" aria-pressed={rate === one} title={`Key ${i + 1}`} onClick={() => transport.setRate(one)}>{rateWords[i]}{'\u00d7'}</button>
            ))}
          </span>
        </div>
        <div className="bar-group">
          <ToolButton pressed={loopStart !== null} onClick={() => bench.loopIn()} keys="I"><span>Loop<span className="unseen"> from this frame</span></span></ToolButton>
          <ToolButton onClick={() => bench.loopOut()} keys="O"><span><span className="unseen">Loop </span>to<span className="unseen"> this frame</span></span></ToolButton>
          <ToolButton disabled={!loop && !loopStart} onClick={() => bench.clearLoop()} keys="U">No loop</ToolButton>
        </div>
        <div className="bar-group">
          <ToolButton className="tie" pressed={isTied} disabled={!hasBoth} onClick={() => bench.toggleTie()} keys="T">{isTied ? 'Tied' : 'Tie here'}</ToolButton>
          <span className="tie-ways">
            {isTied ? (
              <>
                <ToolButton onClick={() => bench.nudge(-1)} aria-label="Nudge the active pane a frame back against the other" keys="[">Nudge</ToolButton>
                <ToolButton className="bare" onClick={() => bench.nudge(1)} aria-label="Nudge the active pane a frame on against the other" keys="]">{''}</ToolButton>
              </>
            ) : <ToolButton disabled={!hasBoth} onClick={() => runCommand('tie-by-sound')} keys="Shift L" title="Tie both clips at the sound of impact">By sound</ToolButton>}
          </span>
        </div>
        <div className="bar-group">
          <ToolButton disabled={!hasBoth} onClick={() => transport.swap()} keys="Shift X">Swap</ToolButton>
          <ToolButton pressed={layout === 'single'} onClick={() => bench.toggleLayout()} keys="S">Single</ToolButton>
          <ToolButton pressed={isMirrored} onClick={() => bench.toggleMirror()} keys="M">Mirror</ToolButton>
          <ToolButton disabled={!isZoomed} onClick={() => bench.fit()} keys="0">Fit</ToolButton>
        </div>
      </div>
    </div>
  )
}
