import { ArrivalBoard } from '../../library/arrivals.ts'
import type { DeskContext, Group } from '../context.ts'

/** What the order of the table goes by. */
const goesBy = new Set(['students', 'deliveries', 'clips', 'swings', 'walkthroughs', 'handoffs'])

export function arrivalOperations({ library, hub }: DeskContext): Group<'arrival'> {
  const board = new ArrivalBoard(library.db)
  hub.listen((event) => {
    if (event.type === 'changed' && goesBy.has(event.what)) board.forget()
  })
  return {
    'arrival.page': ({ offset, limit, ...filter }) => board.page(filter, offset, limit),
    'arrival.students': () => board.students(),
  }
}
