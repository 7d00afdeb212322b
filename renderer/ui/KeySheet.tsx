import { Fragment } from 'react'
import { useStore } from 'zustand'
import { rooms, type RoomId } from './appStore.ts'
import { Dialog } from './Dialog.tsx'
import { keysOf, keyStore, keyWords, type KeyBinding } from './keys.ts'

const groupOf = (binding: KeyBinding): string =>
  binding.group ?? (binding.scope === 'everywhere' ? 'Everywhere' : rooms.find((room) => room.id === binding.scope)!.title)

/** The keys that work in this room and everywhere, made from the bindings themselves. */
export function KeySheet({ room, onClose }: { readonly room: RoomId; readonly onClose: () => void }) {
  const bindings = useStore(keyStore, (state) => state.bindings)
  const groups = new Map<string, KeyBinding[]>()
  // The room's own keys first.
  for (const scope of [room, 'everywhere'] as const)
    for (const binding of bindings.filter((one) => one.scope === scope)) groups.set(groupOf(binding), [...(groups.get(groupOf(binding)) ?? []), binding])
  return (
    <Dialog title="Keys" size="large" onClose={onClose}>
      <div className="key-sheet">
        {[...groups].map(([group, list]) => (
          <section key={group}>
            <h3>{group}</h3>
            <dl>
              {list.map((binding) => (
                <Fragment key={binding.id}>
                  <dt>{keysOf(binding).map((keys, i) => <span key={keys}>{i ? ' or ' : ''}{keyWords(keys).map((key) => <kbd key={key}>{key}</kbd>)}</span>)}</dt>
                  <dd>{binding.words}</dd>
                </Fragment>
              ))}
            </dl>
          </section>
        ))}
      </div>
    </Dialog>
  )
}
