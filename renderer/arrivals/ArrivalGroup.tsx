import { openOnBench } from '../ui/appStore.ts'
import { Button } from '../ui/Button.tsx'
import { Warning } from '../ui/Field.tsx'
import { dayWords, handednessWords, minuteWords, pairingWords, waited } from '../ui/words.ts'
import { ClipCard } from './ClipCard.tsx'
import { clipsOf, type Arrival } from './groups.ts'
import { openSheet } from './roomStore.ts'

/** What one student sent together: who, since when, what they ask and feel, and the clips. */
export function ArrivalGroup({ arrival, chosen, stop, now, gap }: {
  readonly arrival: Arrival
  readonly chosen: readonly string[]
  /** The clip where Tab stops. */
  readonly stop: string | null
  readonly now: number
  readonly gap: string | null
}) {
  const { student, delivery, answeredAt, receivedAt, waits } = arrival
  const headingId = `arrival-${arrival.key.replaceAll(' ', '-')}`
  return (
    <section className="arrival" aria-labelledby={headingId}>
      <div className="docket">
        <h3 id={headingId} className="clip-text">{student?.name ?? 'No student yet'}</h3>
        <p className="docket-wait" title={`Received ${minuteWords(receivedAt)}`}>
          {waits ? <strong>Waiting {waited(receivedAt, now)}</strong> : <span className="quiet">{answeredAt === null ? 'Waits for no answer' : `Answered ${dayWords(answeredAt)}`}</span>}
          <span className="quiet">{dayWords(receivedAt)}{student ? `, ${handednessWords[student.handedness].toLowerCase()}` : ''}</span>
        </p>
        {gap ? <p className="docket-gap"><Warning /><span>{gap}</span></p> : null}
        {delivery && !delivery.question && !delivery.feel ? <p className="quiet">No question or feel came with it.</p> : null}
        {delivery && (delivery.question || delivery.feel) ? (
          <dl className="docket-words">
            <dt>Asks</dt><dd>{delivery.question || <span className="quiet">nothing written</span>}</dd>
            <dt>Feels</dt><dd>{delivery.feel || <span className="quiet">nothing written</span>}</dd>
          </dl>
        ) : null}
        {delivery ? <Button look="plain" onClick={() => openSheet({ kind: 'delivery', deliveryId: delivery.id })}>{delivery.question || delivery.feel ? 'Edit words' : 'Write it down'}</Button> : null}
      </div>
      <ul className="clips">
        {arrival.units.map((unit) => {
          const pair = unit.kind === 'pair' ? unit.swing : null
          return (
            <li key={pair?.id ?? clipsOf(unit)[0]!.id} className={pair ? 'pair' : 'alone'}>
              <div className="unit-clips">
                {clipsOf(unit).map((clip) => (
                  <ClipCard key={clip.id} clip={clip} chosen={chosen.includes(clip.id)} isStop={clip.id === stop} swingId={pair?.id ?? null} warning={gap} />
                ))}
              </div>
              <div className="unit-foot">
                {pair ? <span className="quiet clip-text">{pairingWords[pair.pairing]}</span> : null}
                <Button look="plain" onClick={() => openOnBench(pair ? { swingId: pair.id } : { clipId: clipsOf(unit)[0]!.id })}>
                  {pair ? 'Open both on the Bench' : 'Open'}<span className="unseen">{pair ? '' : ` ${clipsOf(unit)[0]!.fileName} on the Bench`}</span>
                </Button>
              </div>
            </li>
          )
        })}
      </ul>
    </section>
  )
}
