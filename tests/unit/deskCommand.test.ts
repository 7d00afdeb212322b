import { spawn, spawnSync } from 'node:child_process'
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, test } from 'vitest'
import { main } from '../../electron/cli/crossbearing.ts'
import { jobLine, timeLeft } from '../../electron/cli/terminal.ts'
import { openLibrary } from '../../electron/library/library.ts'
import { clipFile, temporaryFolder } from '../fixtures/desk.ts'
import { outsidePath } from '../fixtures/outsideData.ts'

const root = fileURLToPath(new URL('../..', import.meta.url))

async function run(...args: string[]): Promise<{ code: number; out: string[]; said: string[] }> {
  const out: string[] = []
  const said: string[] = []
  const code = await main(args, { out: (line) => out.push(line), say: (line) => said.push(line), signal: new AbortController().signal })
  return { code, out, said }
}

describe('the command line', () => {
  test('help, version, and one sentence for each mistake', async () => {
    expect(await run('--version')).toEqual({
      code: 0,
      out: [(JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string }).version],
      said: [],
    })
    const { code, out } = await run('--help')
    expect(code).toBe(0)
    for (const verb of ['demo', 'take-in', 'measure', 'handoff', 'backup', 'restore', 'check'])
      expect(out.join('\n')).toContain(`\n  ${verb} `)
    for (const args of [
      [],
      ['nope'],
      ['take-in'],
      ['take-in', 'x.mp4', '--view', 'up'],
      ['take-in', 'x.mp4', '--pair', 'three'],
      ['handoff'],
      ['backup'],
      ['backup', 'a', 'b'],
      ['restore'],
      ['check', 'x'],
      ['demo'],
      ['demo', root],
      ['demo', 'x', '--scale', '9'],
      ['--frob'],
      ['toString'],
    ]) {
      const { code: failed, out: printed, said } = await run(...args)
      expect([args, failed, printed, said.length]).toEqual([args, 2, [], 1])
    }
  })

  test('check, backup, restore on a library of its own', async () => {
    using folder = temporaryFolder()
    const library = join(folder.path, 'library')
    // A mistyped folder is refused, and not made into a library.
    for (const words of [['check'], ['backup', join(folder.path, 'no')], ['handoff', 'nobody']]) {
      const { code, said } = await run(...words, '--library', library)
      expect([words, code, said]).toEqual([words, 2, [`There is no library in ${library}: name its folder with --library, or take clips in first.`]])
    }
    expect(existsSync(library)).toBe(false)
    openLibrary(library).close()
    expect(await run('check', '--library', library)).toMatchObject({ code: 0, out: ['The library is sound.'] })
    const backup = join(folder.path, 'backup')
    expect((await run('backup', backup, '--library', library)).code).toBe(0)
    expect((await run('backup', backup, '--library', library)).code).toBe(2)
    expect((await run('restore', backup, '--library', library)).code).toBe(2)
    expect((await run('restore', backup, '--library', join(folder.path, 'restored'))).code).toBe(0)
    expect((await run('check', '--library', join(folder.path, 'restored'))).code).toBe(0)
    expect(await run('handoff', 'nobody', '--library', library)).toMatchObject({
      code: 1,
      out: [],
      said: ['nobody: This walkthrough is not in the library any more.'],
    })
  })

  test('a library that is open elsewhere is refused politely', async () => {
    using folder = temporaryFolder()
    const library = openLibrary(folder.path)
    const { code, said } = await run('check', '--library', folder.path)
    expect([code, said[0]]).toEqual([1, expect.stringContaining('already open in another Crossbearing window')])
    library.close()
  })

  const clip = outsidePath('media/am_sample_shorter_audio.mp4')
  test.skipIf(!clip)('take-in prints ids, says why a file is bad, and ends with 1', async () => {
    using folder = temporaryFolder()
    const bad = clipFile(folder.path, 'empty.mp4', '')
    const { code, out, said } = await run(
      'take-in',
      clip!,
      bad,
      '--student',
      'Ada',
      '--view',
      'face-on',
      '--library',
      join(folder.path, 'library'),
    )
    expect(code).toBe(1)
    expect(out).toEqual([expect.stringMatching(/^[0-9a-f-]{36}\tam_sample_shorter_audio\.mp4$/)])
    expect(said).toContain('empty.mp4 is empty (0 bytes): ask for it to be sent again.')
  })

  test('an interrupt cancels what is under way and leaves the library sound', async () => {
    const long = outsidePath('media/mb_sar_2x1.mp4')
    if (!long) return
    using folder = temporaryFolder()
    const child = spawn(process.execPath, [join(root, 'electron/cli/crossbearing.ts'), 'take-in', long, '--library', folder.path], {
      stdio: ['ignore', 'ignore', 'pipe'],
    })
    let said = ''
    await new Promise<void>((resolve) =>
      child.stderr.on('data', (text: Buffer) => {
        if ((said += text.toString()).includes('Making the review copy')) resolve()
      }),
    )
    const closed = new Promise((resolve) => child.once('close', resolve))
    child.kill('SIGINT')
    expect(await closed).toBe(1)
    expect(said).toContain('mb_sar_2x1.mp4: Cancelled')
    expect((await run('check', '--library', folder.path)).code).toBe(0)
  })

  test("npm's own run reaches it with the right Node", () => {
    const { status, stdout } = spawnSync('npm', ['run', '-s', 'crossbearing', '--', '--version'], {
      cwd: root,
      encoding: 'utf8',
      shell: process.platform === 'win32',
    })
    expect([status, stdout.trim()]).toEqual([0, '0.1.0'])
  })

  test('measure goes to its command', async () => {
    using folder = temporaryFolder()
    const file = join(folder.path, 'points.json')
    writeFileSync(file, '{"format":"other"}')
    expect(await run('measure', file)).toMatchObject({ code: 2, out: [], said: [expect.stringContaining('crossbearing-points')] })
  })

  test('time left in words', () => {
    expect([0.2, 59, 89, 91, 3600, 7000].map(timeLeft)).toEqual([
      '1 s left',
      '59 s left',
      '89 s left',
      '2 min left',
      '60 min left',
      '1 h 57 min left',
    ])
    expect(
      jobLine({
        id: '',
        kind: 'take-in',
        title: 'a.mp4',
        state: 'running',
        progress: 0.5,
        step: 'Copying',
        secondsLeft: 3,
        promisedOn: null,
        tries: 0,
        retryAt: null,
        result: null,
        fault: null,
        createdAt: 0,
      }),
    ).toBe('a.mp4: Copying, 50 %, 3 s left')
  })
})

const built = existsSync(join(root, 'out/renderer/index.html'))
if (!built) console.log('skipped: the renderer is not built, so npm start is not tried')
describe('npm start', () => {
  test.skipIf(!built)('without a window prints an address that answers, and goes cleanly', async () => {
    using folder = temporaryFolder()
    const child = spawn(process.execPath, [join(root, 'build/start.ts'), '--library', folder.path, '--no-window', '--no-build'], {
      stdio: ['ignore', 'pipe', 'inherit'],
    })
    const line = await new Promise<string>((resolve) => child.stdout.once('data', (text: Buffer) => resolve(text.toString())))
    const url = /http:\/\/127\.0\.0\.1:\d+\/\?token=[\w-]+/.exec(line)![0]
    expect(line.trimEnd().split('\n')).toHaveLength(1)
    const first = await fetch(url, { redirect: 'manual' })
    expect(first.status).toBe(303)
    const page = await fetch(new URL('/', url), { headers: { cookie: first.headers.get('set-cookie')!.split(';')[0]! } })
    expect([page.status, (await page.text()).includes('<div id="root">')]).toEqual([200, true])
    // The library is held; a second start says so in one sentence.
    const second = spawnSync(process.execPath, [join(root, 'build/start.ts'), '--library', folder.path, '--no-window', '--no-build'], {
      encoding: 'utf8',
    })
    expect([second.status, second.stderr.trimEnd().split('\n').length, second.stderr]).toEqual([
      1,
      1,
      expect.stringContaining('already open'),
    ])
    const closed = new Promise((resolve) => child.once('close', resolve))
    child.kill('SIGTERM')
    expect(await closed).toBe(0)
    openLibrary(folder.path).close()
  })
})
