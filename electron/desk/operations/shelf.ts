import { randomUUID } from 'node:crypto'
import { DeskError } from '../../../shared/contract/errors.ts'
import { addCollection, collectionCalled, getCollection, listCollections, putInCollection, removeCollection, renameCollection } from '../../library/collections.ts'
import { clipsOfKeys, itemsOfKeys, noteClips, permissionGaps, shelfWords, tagClips } from '../../library/shelf.ts'
import { getWalkthrough } from '../../library/walkthroughs.ts'
import { keysFound, searchShelf } from '../../library/shelfSearch.ts'
import type { DeskContext, Group } from '../context.ts'
import { startBundle, startUnbundle } from '../bundle/jobs.ts'
import { clipsHandedOff } from '../renderSource.ts'

export function shelfOperations(context: DeskContext): Group<'shelf'> & Group<'collection'> {
  const { library: { db }, hub, now } = context
  const clipsOf = (keys: readonly string[]): string[] => {
    const found = clipsOfKeys(db, keys)
    if (found.length === 0) throw new DeskError('not-found', 'These swings are not in the library any more.', { where: keys[0] ?? null, remedy: 'Search again.' })
    return found
  }
  const collection = (id: string) => {
    const found = getCollection(db, id)
    if (!found) throw new DeskError('not-found', 'This collection is not in the library any more.', { where: id })
    return found
  }
  return {
    'shelf.search': (request) => searchShelf(db, request),
    'shelf.get': ({ keys }) => itemsOfKeys(db, keys),
    'shelf.keys': ({ text, order, most }) => keysFound(db, text, order, most),
    'shelf.words': () => shelfWords(db),
    'shelf.note': ({ keys, patch }) => {
      db.transaction(() => noteClips(db, clipsOf(keys), patch)).immediate()
      hub.changed('shelf')
      return itemsOfKeys(db, keys)
    },
    'shelf.tag': ({ keys, add, remove }) => {
      db.transaction(() => tagClips(db, clipsOf(keys), add, remove)).immediate()
      hub.changed('shelf')
      return itemsOfKeys(db, keys)
    },
    'shelf.gaps': ({ walkthroughId }) => permissionGaps(db, clipsHandedOff(context, walkthroughId), getWalkthrough(db, walkthroughId)?.studentId ?? null).map(({ key, why }) => ({ key, why })),
    'shelf.bundle': (request) => startBundle(context, request),
    'shelf.unbundle': ({ source }) => startUnbundle(context, source),
    'collection.list': () => listCollections(db),
    'collection.save': ({ id, name }) => {
      const other = collectionCalled(db, name, id)
      if (other) throw new DeskError('bad-input', `There is a collection called ${other.name} already.`, { where: 'name', remedy: 'Choose another name.' })
      const saved = id ?? randomUUID()
      if (id === null) addCollection(db, saved, name, now())
      else if (renameCollection(db, id, name) === 0) collection(id)
      hub.changed('collections')
      return collection(saved)
    },
    'collection.remove': ({ id }) => {
      const { name } = collection(id)
      const keys = db.transaction(() => removeCollection(db, id)).immediate()
      hub.changed('collections', 'shelf')
      return { name, keys }
    },
    'collection.put': ({ id, keys, on }) => {
      collection(id)
      db.transaction(() => putInCollection(db, id, clipsOf(keys), on)).immediate()
      hub.changed('collections', 'shelf')
      return collection(id)
    },
  }
}
