import { homedir } from 'node:os'
import { join, resolve } from 'node:path'

/** Where everything of a library lies inside its folder. */
export interface Layout {
  readonly folder: string
  readonly database: string
  readonly lock: string
  /** Original clips, by content hash; read-only. */
  readonly originals: string
  /** What is made of the originals: review copies, stills, filmstrips; a folder a hash. */
  readonly derived: string
  /** A folder a walkthrough: the log and the sound. */
  readonly walkthroughs: string
  readonly handoffs: string
  /** Finished parts of renders by what they show; all of it can be made again. */
  readonly segments: string
  /** Files on their way in; nothing in here outlives the work it belongs to. */
  readonly incoming: string
  /** The database as it was before each migration. */
  readonly backups: string
}

export function layoutOf(folder: string): Layout {
  const at = (name: string) => join(folder, name)
  return {
    folder,
    database: at('library.sqlite'),
    lock: at('library.lock'),
    originals: at('originals'),
    derived: at('derived'),
    walkthroughs: at('walkthroughs'),
    handoffs: at('handoffs'),
    segments: at('segments'),
    incoming: at('incoming'),
    backups: at('backups'),
  }
}

type Environment = Readonly<Record<string, string | undefined>>

/** The platform's place for a program's own data. */
export function userDataFolder(env: Environment = process.env, platform: NodeJS.Platform = process.platform, home = homedir()): string {
  if (platform === 'win32') return join(env.LOCALAPPDATA || join(home, 'AppData', 'Local'), 'Crossbearing')
  if (platform === 'darwin') return join(home, 'Library', 'Application Support', 'Crossbearing')
  return join(env.XDG_DATA_HOME || join(home, '.local', 'share'), 'crossbearing')
}

/** The library's folder: what was asked for, else CROSSBEARING_LIBRARY, else the platform's place. */
export function libraryFolder(asked: string | null, env: Environment = process.env): string {
  return resolve(asked || env.CROSSBEARING_LIBRARY || join(userDataFolder(env), 'Library'))
}
