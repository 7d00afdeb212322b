import { existsSync, readdirSync, statSync } from 'node:fs'
import { homedir, userInfo } from 'node:os'
import { basename, dirname, isAbsolute, join, parse, resolve } from 'node:path'
import { DeskError } from '../../../shared/contract/errors.ts'
import type { Group } from '../context.ts'

interface Folder { readonly name: string; readonly path: string }

/** Folders inside one, by name; hidden ones and what cannot be looked into are left out. */
function foldersIn(path: string): Folder[] {
  return readdirSync(path, { withFileTypes: true })
    .filter((entry) => !entry.name.startsWith('.') && !entry.name.startsWith('$') && isFolder(join(path, entry.name)))
    .map(({ name }) => ({ name, path: join(path, name) }))
    .sort((a, b) => a.name.localeCompare(b.name, undefined, { numeric: true, sensitivity: 'base' }))
}

function isFolder(path: string): boolean {
  try {
    return statSync(path).isDirectory()
  } catch {
    return false
  }
}

/** Where people keep things and where other disks appear, on each of the three systems; only those that are there. */
function places(): Folder[] {
  const home = homedir()
  const own = ['', 'Documents', 'Desktop', 'Movies', 'Videos', 'Downloads'].map((name) => ({ name: name || 'Home', path: join(home, name) }))
  const mounts = ['/Volumes', `/media/${userInfo().username}`, '/mnt'].filter(isFolder).flatMap((folder) => {
    try {
      return foldersIn(folder)
    } catch {
      return []
    }
  })
  const drives = process.platform === 'win32'
    ? [...'ABCDEFGHIJKLMNOPQRSTUVWXYZ'].map((letter) => ({ name: `${letter}:`, path: `${letter}:\\` })).filter(({ path }) => existsSync(path))
    : [{ name: 'Whole disk', path: parse(home).root }]
  return [...own.filter(({ path }) => isFolder(path)), ...mounts, ...drives]
}

/** Looking round the machine's folders, so that a window without the system's own chooser can name one too. */
export function folderOperations(): Group<'folder'> {
  return {
    'folder.list': ({ path }) => {
      const wanted = path ?? homedir()
      if (!isAbsolute(wanted))
        throw new DeskError('bad-input', 'A folder needs its full path.', { where: wanted, remedy: 'Name it from the root of the disk on.' })
      const here = resolve(wanted)
      if (!isFolder(here)) throw new DeskError('not-found', `There is no folder ${basename(here)}.`, { where: here, remedy: 'Choose one that is there.' })
      try {
        return { path: here, parent: dirname(here) === here ? null : dirname(here), folders: foldersIn(here), places: places() }
      } catch (cause) {
        throw new DeskError('not-allowed', `${basename(here) || here} cannot be looked into.`, { where: here, remedy: 'Choose a folder that is yours.', cause })
      }
    },
  }
}
