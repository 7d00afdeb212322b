import { spawn } from 'node:child_process'
import { chmodSync, existsSync, mkdirSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, test } from 'vitest'
import { DeskError } from '../../shared/contract/errors.ts'
import { openDatabase, schemaVersion } from '../../electron/library/database.ts'
import { layoutOf, libraryFolder, userDataFolder } from '../../electron/library/layout.ts'
import { openLibrary } from '../../electron/library/library.ts'
import { copyHashed, hashFile, originalPath, placeOriginal } from '../../electron/library/mediaStore.ts'
import { migrations } from '../../electron/library/migrations/index.ts'
import { restoreLibrary } from '../../electron/library/backup.ts'
import { batchOf, clipFile, openFakeDesk, settled, studentOf, temporaryFolder } from '../fixtures/desk.ts'

const faultKind = (run: () => unknown): string | null => {
  try {
    run()
    return null
  } catch (error) {
    if (error instanceof DeskError) return error.fault.kind
    throw error
  }
}

/** Rows as each schema can hold them; those of a version stay true for all later ones. */
const rowsAt: readonly string[] = [
  `INSERT INTO students VALUES ('s', 'Ada', 'left', 1.7, '[]', 'g', 'draw', '', 1, '{}', 5);
   INSERT INTO originals VALUES ('${'a'.repeat(64)}', 10, 5);
   INSERT INTO clips VALUES ('c', 's', NULL, NULL, 'face-on', '', 'left', 'a.mp4', '${'a'.repeat(64)}', 2, 2, 60, 'tag', 60, 0, 0, 'h264', 2, 2, 5, NULL, '');
   INSERT INTO frameIndexes VALUES ('c', 90000, '[0,1500]', 2, 3000, '{}');
   INSERT INTO marks VALUES ('m', 'c', '{}');`,
  `INSERT INTO walkthroughs VALUES ('w', NULL, 's', 'Talk', 48000, 48000, 'whole', 6);
   INSERT INTO walkthroughClips VALUES ('w', 'c');
   INSERT INTO handoffs VALUES ('h', 'w', 'j', '{}', '/x.mp4', 0, NULL, 7);`,
  `INSERT INTO settings VALUES ('theme', '"light"');`,
  `INSERT INTO digitised VALUES ('c/0/ball', 'c', '{}');
   INSERT INTO markSets VALUES ('k', 'Set-up', '{}');`,
  `INSERT INTO clipNotes VALUES ('c', 1, 1, 'lessons-only', 'A friend', 'Verbal');
   INSERT INTO clipTags VALUES ('c', 'slow hands');
   INSERT INTO collections VALUES ('k', 'Good tops', 8);
   INSERT INTO collectionClips VALUES ('k', 'c');`,
  `INSERT INTO walkthroughs VALUES ('v', NULL, 's', 'Again', 48000, 48000, 'whole', 7);
   INSERT INTO lessons VALUES ('w', '{}', 1, 2);
   INSERT INTO editSteps VALUES ('w', 1, 'Cut', '{}', 9);
   INSERT INTO lessonTakes VALUES ('w', 'v', 1, '{"from":0,"to":48}');`,
  `INSERT INTO findings VALUES ('f', 'c', NULL, 'Elbow behind', '{}', 1, 'cause', 0, 9);
   INSERT INTO drillCards VALUES ('d', 'c', '{}', 9);
   INSERT INTO prescriptions VALUES ('p', 's', 'w', 'd', '{}', '{}', '', '2026-05-14', 0, NULL, 9);
   INSERT INTO phrases VALUES ('q', 'saw', 'Elbow behind', 9);
   INSERT INTO plans VALUES ('w', '{}');
   INSERT INTO packs VALUES ('z', 'w', 'zip', '/x.zip', 9, '[]', '["c"]', 9);`,
  `INSERT INTO jobs (id, kind, title, state, step, payload, walkthroughId, createdAt, promisedOn, turn, tries, retryAt) VALUES ('j', 'handoff', 'Talk', 'waiting', 'Waiting', '{}', 'w', 9, '2026-06-01', 1.5, 1, 60000);
   INSERT INTO captions VALUES ('w', '[]');`,
  `INSERT INTO swings VALUES ('x', 's', NULL, 'Wedge', 'c', NULL, 'one-swing', NULL, NULL, 9);`,
  `INSERT INTO comparisons VALUES ('c', 'c', '{}', 9);`,
  `INSERT INTO faceInputs VALUES ('c', '{}', 9);`,
  `INSERT INTO videosOffTheList VALUES ('h', 'kept');`,
  `INSERT INTO repeatability VALUES ('s', '{}');`,
  `INSERT INTO mirroredClips VALUES ('c');`,
]
const tablesAt: readonly (readonly string[])[] = [
  ['students', 'clips', 'marks'],
  ['walkthroughs', 'handoffs'],
  ['settings', 'jobs'],
  ['digitised', 'markSets'],
  ['clipNotes', 'clipTags', 'collections', 'collectionClips', 'shelf'],
  ['lessons', 'editSteps', 'lessonTakes'],
  ['findings', 'drillCards', 'prescriptions', 'phrases', 'plans', 'packs'],
  ['captions'],
  ['swings'],
  ['comparisons'],
  ['faceInputs'],
  ['videosOffTheList'],
  ['repeatability'],
  ['mirroredClips'],
]

describe('migrations', () => {
  test('each has rows to be tried with', () => expect(rowsAt).toHaveLength(migrations.length))

  test.each(migrations.map((_, i) => i + 1))('from schema %i with rows in place to the newest', (version) => {
    using folder = temporaryFolder()
    const file = join(folder.path, 'library.sqlite')
    const backups = join(folder.path, 'backups')
    const old = openDatabase({ file, backups, known: migrations.slice(0, version) })
    for (const rows of rowsAt.slice(0, version)) old.exec(rows)
    expect(schemaVersion(old)).toBe(version)
    const dump = (db: typeof old) =>
      tablesAt
        .slice(0, version)
        .flat()
        .map((table) => db.prepare(`SELECT * FROM ${table}`).all())
    const before = dump(old)
    old.close()

    const now = openDatabase({ file, backups })
    expect(schemaVersion(now)).toBe(migrations.length)
    expect(dump(now)).toEqual(before)
    expect(now.pragma('foreign_key_check')).toEqual([])
    expect(now.pragma('foreign_keys', { simple: true })).toBe(1)
    expect(now.pragma('journal_mode', { simple: true })).toBe('wal')
    now.close()
    // A copy of what was there before is kept, and can be read; where nothing was to be done, none is made.
    const copies = existsSync(backups) ? readdirSync(backups) : []
    expect(copies).toHaveLength(version < migrations.length ? 1 : 0)
    for (const name of copies) {
      const copy = new Database(join(backups, name), { readonly: true })
      expect(copy.pragma('user_version', { simple: true })).toBe(version)
      expect(copy.prepare('SELECT name FROM students').all()).toEqual([{ name: 'Ada' }])
      copy.close()
    }
  })

  test('one that breaks references is undone and leaves the file as it was', () => {
    using folder = temporaryFolder()
    const file = join(folder.path, 'library.sqlite')
    const backups = join(folder.path, 'backups')
    const db = openDatabase({ file, backups })
    for (const rows of rowsAt) db.exec(rows)
    db.close()
    const broken = [...migrations, (next: typeof db) => void next.exec(`DELETE FROM originals; CREATE TABLE extra (a TEXT) STRICT`)]
    expect(faultKind(() => openDatabase({ file, backups, known: broken }))).toBe('library-damaged')
    const again = openDatabase({ file, backups })
    expect(schemaVersion(again)).toBe(migrations.length)
    expect(again.prepare('SELECT count(*) AS n FROM originals').get()).toEqual({ n: 1 })
    expect(again.prepare(`SELECT name FROM sqlite_schema WHERE name = 'extra'`).all()).toEqual([])
    again.close()
  })

  test('a newer library is refused in a clear sentence and not touched', () => {
    using folder = temporaryFolder()
    const file = join(folder.path, 'library.sqlite')
    const newer = openDatabase({ file, backups: join(folder.path, 'backups'), known: [...migrations, () => {}, () => {}] })
    newer.pragma('journal_mode = DELETE')
    newer.close()
    const bytes = readFileSync(file)
    try {
      openDatabase({ file, backups: join(folder.path, 'backups') })
      expect.unreachable()
    } catch (error) {
      const { fault } = error as DeskError
      expect(fault.kind).toBe('library-newer')
      expect(fault.message).toBe(
        `This library was last used by a newer Crossbearing (its layout is number ${migrations.length + 2}, this program knows up to ${migrations.length}).`,
      )
    }
    expect(readFileSync(file).equals(bytes)).toBe(true)
    expect(existsSync(`${file}-wal`)).toBe(false)
  })

  test('what is no library of ours is refused', () => {
    using folder = temporaryFolder()
    const file = join(folder.path, 'library.sqlite')
    const other = new Database(file)
    other.exec('CREATE TABLE notes (text TEXT)')
    other.close()
    expect(faultKind(() => openDatabase({ file, backups: folder.path }))).toBe('library-damaged')
    writeFileSync(join(folder.path, 'b.sqlite'), 'these are not the bytes of a database, but there are enough of them'.repeat(30))
    expect(faultKind(() => openDatabase({ file: join(folder.path, 'b.sqlite'), backups: folder.path }))).toBe('library-damaged')
  })
})

describe('the lock', () => {
  test('a second opening is refused politely, also in this process, until the first lets go', () => {
    using folder = temporaryFolder()
    const first = openLibrary(folder.path)
    expect(faultKind(() => openLibrary(folder.path))).toBe('library-in-use')
    first.close()
    openLibrary(folder.path).close()
  })

  test('another process holds it, and a killed one does not', async () => {
    using folder = temporaryFolder()
    const source = `const { openLibrary } = await import(${JSON.stringify(new URL('../../electron/library/library.ts', import.meta.url).href)});
      openLibrary(${JSON.stringify(folder.path)}); console.log('open'); setInterval(() => {}, 1000)`
    const child = spawn(process.execPath, ['--input-type=module', '-e', source], { stdio: ['ignore', 'pipe', 'inherit'] })
    await new Promise((resolve) => child.stdout.once('data', resolve))
    expect(faultKind(() => openLibrary(folder.path))).toBe('library-in-use')
    const gone = new Promise((resolve) => child.once('close', resolve))
    child.kill('SIGKILL')
    await gone
    openLibrary(folder.path).close()
  })
})

describe('places', () => {
  test('follow the platform', () => {
    expect(userDataFolder({ LOCALAPPDATA: 'C:\\Data' }, 'win32', 'C:\\Users\\a')).toMatch(/^C:\\Data.Crossbearing$/)
    expect(userDataFolder({}, 'darwin', '/Users/a')).toBe(join('/Users/a', 'Library', 'Application Support', 'Crossbearing'))
    expect(userDataFolder({ XDG_DATA_HOME: '/data' }, 'linux', '/home/a')).toBe(join('/data', 'crossbearing'))
    expect(userDataFolder({}, 'linux', '/home/a')).toBe(join('/home/a', '.local', 'share', 'crossbearing'))
  })
  test('what is asked for wins over the environment', () => {
    expect(libraryFolder('/a', { CROSSBEARING_LIBRARY: '/b' })).toBe('/a')
    expect(libraryFolder(null, { CROSSBEARING_LIBRARY: '/b' })).toBe('/b')
  })
})

describe('the media store', () => {
  test('copies and hashes in one go, to a file that is read-only in its place', async () => {
    using folder = temporaryFolder()
    const layout = layoutOf(folder.path)
    // SHA-256 of "abc": FIPS 180-4, example 1.
    const from = clipFile(folder.path, 'abc.mp4', 'abc')
    const { hash, bytes } = await copyHashed(from, join(folder.path, 'copy'))
    expect({ hash, bytes }).toEqual({ hash: 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad', bytes: 3 })
    placeOriginal(layout, join(folder.path, 'copy'), hash)
    expect(statSync(originalPath(layout, hash)).mode & 0o222).toBe(0)
    expect(await hashFile(originalPath(layout, hash))).toBe(hash)
    expect(readFileSync(from, 'utf8')).toBe('abc')
  })

  test('never overwrites: a second file of the same hash goes, one of another size is an error', async () => {
    using folder = temporaryFolder()
    const layout = layoutOf(folder.path)
    const place = (content: string) => {
      placeOriginal(layout, clipFile(folder.path, 'copy', content), 'b'.repeat(64))
    }
    place('first')
    place('again')
    expect(readFileSync(originalPath(layout, 'b'.repeat(64)), 'utf8')).toBe('first')
    expect(faultKind(() => place('longer than that'))).toBe('library-damaged')
  })

  test('a copy that is broken off leaves nothing', async () => {
    using folder = temporaryFolder()
    const from = clipFile(folder.path, 'large', 'x'.repeat(5_000_000))
    const stop = new AbortController()
    await expect(copyHashed(from, join(folder.path, 'copy'), { signal: stop.signal, onProgress: () => stop.abort() })).rejects.toThrow()
    expect(existsSync(join(folder.path, 'copy'))).toBe(false)
  })
})

describe('check, sweep, backup', () => {
  test('finds what is missing or changed and sweeps what nobody knows', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(folder.path)
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'a.mp4'), clipFile(outside.path, 'b.mp4')]))
    await settled(desk)
    expect(await desk.call('library.check', { deep: true })).toEqual({ sound: true, findings: [], swept: [] })

    const layout = layoutOf(folder.path)
    const taken = await desk.call('clip.list', {})
    const a = taken.find(({ fileName }) => fileName === 'a.mp4')!
    const b = taken.find(({ fileName }) => fileName === 'b.mp4')!
    const stray = originalPath(layout, 'f'.repeat(64))
    mkdirSync(join(stray, '..'), { recursive: true })
    writeFileSync(stray, 'stray')
    writeFileSync(join(layout.incoming, 'work-left-over'), 'half')
    chmodSync(originalPath(layout, a.hash), 0o600)
    writeFileSync(originalPath(layout, a.hash), 'content of A.mp4')
    rmSync(join(layout.derived, b.hash.slice(0, 2), b.hash, 'poster.jpg'))
    const shallow = await desk.call('library.check', { deep: false })
    expect(shallow.findings).toEqual(['poster.jpg of b.mp4 is missing.'])
    expect(shallow.swept.toSorted()).toEqual([join(layout.incoming, 'work-left-over'), stray].toSorted())
    const deep = await desk.call('library.check', { deep: true })
    expect(deep.findings.toSorted()).toEqual([
      'The original of a.mp4 has changed since it was taken in.',
      'poster.jpg of b.mp4 is missing.',
    ])
    await desk.close()
  })

  test('a backup opens as a library and is restored whole', async () => {
    using folder = temporaryFolder()
    using outside = temporaryFolder()
    const desk = openFakeDesk(join(folder.path, 'library'))
    const student = await desk.call('student.save', studentOf('Ada'))
    await desk.call('takeIn.start', batchOf([clipFile(outside.path, 'a.mp4')], { studentId: student.id }))
    await settled(desk)
    const to = join(folder.path, 'backup')
    const { path, bytes } = await desk.call('library.backup', { to })
    expect(path).toBe(to)
    expect(bytes).toBeGreaterThan(0)
    await expect(desk.call('library.backup', { to })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(desk.call('library.backup', { to: join(folder.path, 'library', 'inside') })).rejects.toMatchObject({
      fault: { kind: 'bad-input' },
    })
    expect(readdirSync(folder.path).toSorted()).toEqual(['backup', 'library'])
    const clips = await desk.call('clip.list', {})
    await expect(desk.call('library.restore', { from: to, to: join(folder.path, 'library', 'inside') })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(desk.call('library.restore', { from: to, to: 'restored' })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    expect(await desk.call('library.restore', { from: to, to: join(folder.path, 'restored') })).toEqual({ path: join(folder.path, 'restored'), bytes })
    expect(await desk.call('clip.list', {})).toEqual(clips)
    await desk.close()

    const restored = openFakeDesk(join(folder.path, 'restored'))
    expect(await restored.call('clip.list', {})).toEqual(clips)
    expect(await restored.call('library.check', { deep: true })).toEqual({ sound: true, findings: [], swept: [] })
    await restored.close()
    await expect(restoreLibrary(outside.path, join(folder.path, 'nothing'))).rejects.toMatchObject({ fault: { kind: 'not-found' } })
    expect(existsSync(join(folder.path, 'nothing'))).toBe(false)
  })
})
