import { usualClubs, usualRates } from './clubs.ts'

export const clubListId = 'usual-clubs'
export const rateListId = 'usual-rates'

/** What the fields for a club and for a rate offer. */
export function ChoiceLists() {
  return (
    <>
      <datalist id={clubListId}>{usualClubs.map((club) => <option key={club} value={club} />)}</datalist>
      <datalist id={rateListId}>{usualRates.map((rate) => <option key={rate} value={rate} />)}</datalist>
    </>
  )
}
