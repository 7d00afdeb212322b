import type { SilenceOptions } from '../../../shared/walkthrough/silences.ts'
import { Button } from '../../ui/Button.tsx'
import { CardsPanel } from './CardsPanel.tsx'
import { ChaptersPanel } from './ChaptersPanel.tsx'
import { trays, type TrayId } from './EditBar.tsx'
import type { EditingParts, Proposal } from './LessonEditing.tsx'
import { MarksPanel } from './MarksPanel.tsx'
import { SilencesPanel } from './SilencesPanel.tsx'
import { SoundPanel } from './SoundPanel.tsx'
import { StepsPanel } from './StepsPanel.tsx'
import { TakesPanel } from './TakesPanel.tsx'

export interface SilenceList {
  readonly list: readonly Proposal[]
  readonly change: (index: number, patch: Partial<Proposal>) => void
  readonly options: SilenceOptions
  readonly onOptions: (options: SilenceOptions) => void
}
export interface Compare {
  readonly asRecorded: boolean
  readonly onAsRecorded: (asRecorded: boolean) => void
}

/** One of the lists beside the picture. */
export function Tray({ id, parts, silences, compare, onClose }: {
  readonly id: TrayId; readonly parts: EditingParts; readonly silences: SilenceList; readonly compare: Compare; readonly onClose: () => void
}) {
  const title = trays.find((tray) => tray.id === id)!.words
  return (
    <aside className="tray" aria-label={title}>
      <header>
        <h3>{title}</h3>
        <Button look="plain" onClick={onClose}>Close</Button>
      </header>
      <div className="tray-body">
        {id === 'silences' ? <SilencesPanel parts={parts} silences={silences} /> : null}
        {id === 'takes' ? <TakesPanel parts={parts} /> : null}
        {id === 'chapters' ? <ChaptersPanel parts={parts} /> : null}
        {id === 'cards' ? <CardsPanel parts={parts} /> : null}
        {id === 'marks' ? <MarksPanel parts={parts} /> : null}
        {id === 'sound' ? <SoundPanel parts={parts} compare={compare} /> : null}
        {id === 'steps' ? <StepsPanel parts={parts} /> : null}
      </div>
    </aside>
  )
}
