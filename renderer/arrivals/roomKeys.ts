import type { Desk } from '../../shared/contract/operations.ts'
import { openOnBench } from '../ui/appStore.ts'
import type { KeyBinding } from '../ui/keys.ts'
import { attempt } from '../ui/notices.ts'
import { viewWords } from '../ui/words.ts'
import { pairOf, sides } from './groups.ts'
import { arrivalsStore, choose, chooseAll, openSheet, setFilter } from './roomStore.ts'

/** The keys of the room. */
export function arrivalsKeys(desk: Desk, on: { pick(): void; search(): void }): KeyBinding[] {
  const chosen = (): readonly string[] => arrivalsStore.getState().chosen
  const student = (): string | null => arrivalsStore.getState().filter.studentId
  const focused = (): string | undefined => (document.activeElement instanceof HTMLElement ? document.activeElement.dataset.clip : undefined)
  const target = (): string | undefined => chosen()[0] ?? focused()
  const scope = 'arrivals'
  return [
    { id: 'take-in', keys: 't', words: 'Take in files', scope, run: on.pick },
    { id: 'find', keys: ['/', 'Mod+f'], words: 'Find', scope, run: on.search },
    { id: 'waiting-or-all', keys: 'w', words: 'Show who waits, or all', scope, run: () => setFilter({ show: arrivalsStore.getState().filter.show === 'all' ? 'waiting' : 'all' }) },
    { id: 'new-student', keys: 'n', words: 'Add a student', scope, run: () => openSheet({ kind: 'student', studentId: null }) },
    { id: 'edit-student', keys: 'e', words: "Edit the chosen student's record", scope, when: () => student() !== null, run: () => openSheet({ kind: 'student', studentId: student() }) },
    {
      id: 'open-on-bench', keys: 'b', words: 'Open the chosen clip and its pair on the Bench', scope, when: () => target() !== undefined,
      run: () => {
        const id = target()!
        void attempt(async () => {
          const pair = pairOf(id, await desk.call('swing.ofClips', { ids: [id] }))
          openOnBench(pair ? { swingId: pair.id } : { clipId: id })
        })
      },
    },
    { id: 'choose-more', keys: 'x', words: 'Choose the focused clip too, or let it go', scope, when: () => focused() !== undefined, run: () => choose(focused()!, true) },
    {
      id: 'pair', keys: 'p', words: 'Pair the two chosen clips, as two swings', scope, when: () => chosen().length === 2,
      run: () => void attempt(async () => {
        const ids = [...chosen()]
        const [[one, other], swings] = await Promise.all([desk.call('clip.some', { ids }), desk.call('swing.ofClips', { ids })])
        if (!one || !other || one.studentId !== other.studentId || ids.some((id) => pairOf(id, swings))) return
        const [left, right] = sides(one, other)
        await desk.call('swing.save', {
          id: null, studentId: one.studentId, deliveryId: one.deliveryId, title: [one.club, viewWords[left.view], viewWords[right.view]].filter(Boolean).join(', '),
          leftClipId: left.id, rightClipId: right.id, pairing: 'two-swings', tie: null,
        })
      }),
    },
    { id: 'delete', keys: ['Delete', 'Backspace'], words: 'Delete the chosen clips, after asking', scope, when: () => chosen().length > 0, run: () => openSheet({ kind: 'remove-clips', clipIds: chosen() }) },
    { id: 'choose-none', keys: 'Escape', words: 'Choose nothing', scope, when: () => chosen().length > 0, run: () => chooseAll([]) },
  ]
}
