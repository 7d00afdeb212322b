import { Fragment } from 'react'
import { useStore } from 'zustand'
import { rooms, type RoomId } from './appStore.ts'
import { Dialog } from './Dialog.tsx'
import { keysOf, keyStore, keyWords, type KeyBinding } from './keys.ts'

const groupOf = (binding: KeyBinding): string =>
  binding.group ?? (binding.scope === 'everywhere' ? 'Everywhere' : rooms.find((room) => room.id === binding.scope)!.title)

const isFirstOfRow = (bindings: readonly KeyBinding[], at: number): boolean => {
  const { row } = bindings[at]!
  return row === undefined || bindings.findIndex((one) => one.row?.id === row.id) === at
}

const Keys = ({ keys }: { readonly keys: string }) => <>{keyWords(keys).map((key) => <kbd key={key}>{key}</kbd>)}</>

/** The keys that work in this room and everywhere, made from the bindings themselves. */
export function KeySheet({ room, onClose }: { readonly room: RoomId; readonly onClose: () => void }) {
  const bindings = useStore(keyStore, (state) => state.bindings)
  const groups = new Map<string, KeyBinding[]>()
  // The room's own keys first.
  for (const scope of [room, 'everywhere'] as const)
    for (const binding of bindings.filter((one, i) => one.scope === scope && isFirstOfRow(bindings, i))) groups.set(groupOf(binding), [...(groups.get(groupOf(binding)) ?? []), binding])
  return (
    <Dialog title="Keys" size="large" onClose={onClose}>
      <div className="key-sheet">
        {[...groups].map(([group, list]) => (
          <section key={group}>
            <h3>{group}</h3>
            <dl>
              {list.map((binding) => (
                <Fragment key={binding.id}>
                  <dt>{binding.row
                    ? <span><Keys keys={binding.row.from} /> to <Keys keys={binding.row.to} /></span>
                    : keysOf(binding).map((keys, i) => <span key={keys}>{i ? ' or ' : ''}<Keys keys={keys} /></span>)}</dt>
                  <dd>{binding.row?.words ?? binding.words}</dd>
                </Fragment>
              ))}
            </dl>
          </section>
        ))}
      </div>
    </Dialog>
  )
}
