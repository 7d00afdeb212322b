import { useMemo } from 'react'
import type { Finding } from '../../shared/contract/finding.ts'
import { numberWords, placeWords } from '../../shared/plan/words.ts'
import { useAsked, type Part } from '../ui/asked.ts'
import { goTo } from '../ui/appStore.ts'
import { Button, ToolButton } from '../ui/Button.tsx'
import { useDesk } from '../ui/desk.tsx'
import { runCommand } from '../ui/keys.ts'
import { attempt } from '../ui/notices.ts'
import { PhraseField } from '../ui/PhraseField.tsx'
import { useBench, useParts, useRenderCount } from './benchContext.tsx'
import './findings.css'

const parts: readonly Part[] = ['findings', 'clips']

/** What was found on the clips that are open: words for it, and the way back to its frame. The Lesson puts them in order. */
export function FindingsHere() {
  useRenderCount()
  const clipIds = useBench((state) => state.clipIds)
  const ids = useMemo(() => [...new Set(clipIds.filter((id) => id !== null))], [clipIds])
  const { answer } = useAsked('finding.list', ids.length > 0 ? { clipIds: ids } : null, parts)
  const findings = answer ?? []
  return (
    <section className="findings-here" aria-label="Findings">
      <header>
        <h2>Findings</h2>
        <ToolButton keys="Shift F" title="Of the chosen mark, or of this frame; over a measure, use the key" onClick={() => runCommand('finding')}>Add</ToolButton>
        {findings.length > 0 ? <Button look="plain" onClick={() => goTo('lesson')}>Put in order</Button> : null}
      </header>
      {findings.length === 0 ? <p className="quiet">None yet. Choose a mark, or point at a measure, and press <kbd>Shift</kbd> <kbd>F</kbd>: its number and a picture go into the lesson’s plan.</p> : null}
      <ul className="findings-list">{findings.map((finding) => <Row key={finding.id} finding={finding} />)}</ul>
    </section>
  )
}

function Row({ finding }: { readonly finding: Finding }) {
  const desk = useDesk()
  const { bench } = useParts()
  const { createdAt: _at, ...saved } = finding
  const go = (): void => {
    const { panes } = bench.store.stage
    const pane = ([0, 1] as const).find((each) => panes[each].clipId === finding.clipId)
    if (pane === undefined) return
    bench.activate(pane)
    bench.transport.seek(pane, finding.picture.tick)
  }
  const title = [finding.number ? numberWords(finding.number) : null, finding.number?.title ?? 'frame', placeWords(finding.at)].filter(Boolean).join(' ')
  return (
    <li>
      <button type="button" className="mark-name" title="Go to its frame" onClick={go}><span className="clip-text numbers">{title}</span></button>
      <PhraseField bare label={`What is seen: ${title}`} kind="saw" value={finding.saw} rows={1} placeholder="What is seen" onCommit={(saw) => void attempt(() => desk.call('finding.save', { ...saved, saw }))} />
    </li>
  )
}
