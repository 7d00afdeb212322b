import { spanKind } from '../../shared/markup/copy.ts'
import { inks } from '../../shared/markup/mark.ts'
import { useBench, useParts, useRenderCount } from './benchContext.tsx'
import type { SpanKind } from './benchState.ts'
import { inkWords } from './markWords.ts'

const spans: readonly (readonly [SpanKind, string, string])[] = [
  ['frame', 'Frame', 'Shows on this frame only'], ['span', 'Span', 'Shows for a while from this frame on'], ['clip', 'Whole', 'Shows throughout the clip'],
]

/** Ink, weight and when: of the chosen mark, or of the next one. */
export function StyleRow() {
  useRenderCount()
  const { bench } = useParts()
  const next = useBench((state) => state.style)
  const nextSpan = useBench((state) => state.spanKind)
  const chosen = useBench((state) => (state.selected === null ? null : state.marks[state.selected] ?? null))
  const style = chosen ?? next
  const when = chosen ? spanKind(chosen.span) : nextSpan
  return (
    <div className="style-row">
      <span className="inks" role="group" aria-label="Ink">
        {inks.map((ink) => (
          <button key={ink} type="button" aria-pressed={style.ink === ink} aria-label={inkWords[ink]} title={inkWords[ink]} style={{ '--this-ink': `var(--ink-${ink})` } as React.CSSProperties} onClick={() => bench.marks.restyle({ ink })} />
        ))}
      </span>
      <span className="weight">
        <button type="button" className="tool" aria-label="Thinner" onClick={() => bench.marks.heavier(-1)}>{'\u2212'}</button>
        <span className="numbers" title="Weight of the line">{style.weight}</span>
        <button type="button" className="tool" aria-label="Thicker" onClick={() => bench.marks.heavier(1)}>+</button>
      </span>
      <button type="button" className="tool" aria-pressed={style.dashed} onClick={() => bench.marks.restyle({ dashed: !style.dashed })}>Dashed</button>
      <span className="switch" role="group" aria-label="When it shows">
        {spans.map(([kind, words, title]) => <button key={kind} type="button" title={title} aria-pressed={when === kind} onClick={() => bench.marks.setSpan(kind)}>{words}</button>)}
      </span>
    </div>
  )
}
