import type { ShelfItem } from '../../shared/contract/shelf.ts'
import type { KeyBinding } from '../ui/keys.ts'
import { besideOf, openItem } from './open.ts'
import type { Shelf } from './shelf.ts'

/** The keys of the room. */
export function shelfKeys(shelf: Shelf, on: { search(): void; places(): void; pick(): void; tags(): void }): KeyBinding[] {
  const scope = 'shelf'
  const state = () => shelf.state.getState()
  const has = (): boolean => shelf.targets.length > 0
  /** What is chosen as far as it is known, else what the keyboard is at. */
  const items = (): readonly ShelfItem[] => {
    const here = shelf.pages.at(state().cursor)
    return state().chosen.length > 0 ? state().chosenItems : here ? [here] : []
  }
  const turned = (name: 'favourite' | 'reference', words: readonly [string, string]): void => {
    const value = !items().every((item) => item[name])
    void shelf.note(shelf.targets, { [name]: value }, words[value ? 0 : 1])
  }
  return [
    { id: 'shelf-find', keys: ['/', 'Mod+f'], words: 'Find', scope, run: on.search },
    { id: 'shelf-open', keys: 'Enter', words: 'Open on the Bench', scope, when: () => items().length > 0, run: () => openItem(items()[0]!) },
    { id: 'shelf-beside', keys: 'b', words: 'Set beside what stands on the Bench; of two chosen, one beside the other', scope, when: () => items().length > 0 && state().chosen.length <= 2, run: () => besideOf(items()) },
    { id: 'shelf-choose', keys: 'x', words: 'Choose this one too, or let it go', scope, when: () => shelf.pages.at(state().cursor) !== undefined, run: () => shelf.choose(state().cursor, true) },
    { id: 'shelf-all', keys: 'Mod+a', words: 'Choose all that was found', scope, run: () => void shelf.chooseAll() },
    { id: 'shelf-none', keys: 'Escape', words: 'Choose nothing', scope, when: () => state().chosen.length > 0, run: () => shelf.chooseNone() },
    { id: 'shelf-favourite', keys: 'f', words: 'Favourite, or not', scope, when: has, run: () => turned('favourite', ['Made a favourite', 'No favourite any more']) },
    { id: 'shelf-reference', keys: 'r', words: 'Reference, or not', scope, when: has, run: () => turned('reference', ['Made a reference', 'No reference any more']) },
    { id: 'shelf-gather', keys: 'c', words: 'Put into a collection', scope, when: has, run: () => shelf.openSheet({ kind: 'gather', keys: shelf.targets }) },
    {
      id: 'shelf-tag', keys: 't', words: 'Tag', scope, when: has,
      run: () => {
        if (state().chosen.length === 0) shelf.choose(state().cursor, false)
        on.tags()
      },
    },
    { id: 'shelf-send', keys: 'w', words: 'Write to a file', scope, when: () => items().length === 1, run: () => shelf.openSheet({ kind: 'send', item: items()[0]! }) },
    { id: 'shelf-bring', keys: 'i', words: 'Bring a swing in from a file', scope, run: on.pick },
    { id: 'shelf-look', keys: 'g', words: 'Grid or list', scope, run: () => shelf.state.setState(({ look }) => ({ look: look === 'grid' ? 'list' : 'grid' })) },
    { id: 'shelf-places', keys: 'ArrowDown', words: 'Go to what was found', scope, when: () => document.activeElement === document.body, run: on.places },
    { id: 'shelf-undo', keys: 'Mod+z', words: 'Take the last step back', scope, when: () => state().undo.length > 0, run: () => void shelf.undo() },
  ]
}
