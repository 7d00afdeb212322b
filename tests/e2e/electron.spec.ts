import { _electron, expect, test } from '@playwright/test'
import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = fileURLToPath(new URL('../..', import.meta.url))

/** Electron's executable, where its package has fetched one; null elsewhere. Nothing is fetched here. */
function electronBinary(): string | null {
  const note = join(root, 'node_modules/electron/path.txt')
  const path = existsSync(note) ? join(root, 'node_modules/electron/dist', readFileSync(note, 'utf8').trim()) : ''
  return path !== '' && existsSync(path) ? path : null
}

const binary = electronBinary()
const hasDisplay = process.platform !== 'linux' || Boolean(process.env.DISPLAY || process.env.WAYLAND_DISPLAY)
const why =
  binary === null ? 'skipped: no Electron binary on this machine' : hasDisplay ? null : 'skipped: no display for Electron on this machine'
if (why) console.log(why)

test.describe('Electron', () => {
  test.skip(why !== null, why ?? '')

  test('opens the window, answers calls, serves by range, keeps everything else out', async () => {
    const library = mkdtempSync(join(tmpdir(), 'crossbearing-electron-'))
    for (const config of ['renderer', 'main', 'preload'])
      expect(
        spawnSync(
          process.execPath,
          [join(root, 'node_modules/vite/bin/vite.js'), 'build', '--config', `build/vite.${config}.ts`, '--logLevel', 'warn'],
          { cwd: root },
        ).status,
      ).toBe(0)
    const app = await _electron.launch({
      executablePath: binary!,
      args: [root, '--library', library, ...(process.getuid?.() === 0 ? ['--no-sandbox'] : [])],
    })
    try {
      const window = await app.firstWindow()
      await window.waitForLoadState('domcontentloaded')
      expect(window.url()).toBe('crossbearing://app/')
      const seen = await window.evaluate(async () => {
        const info = await globalThis.crossbearingDesk!.call('library.info', {})
        const page = await fetch('crossbearing://app/', { headers: { range: 'bytes=0-8' } })
        return {
          info,
          isolated: globalThis.crossOriginIsolated,
          hasNode: 'require' in globalThis || 'process' in globalThis,
          status: page.status,
          text: await page.text(),
          outside: await fetch('https://example.org/').then(
            () => 'reached',
            () => 'refused',
          ),
          popup: globalThis.open('https://example.org/') === null,
        }
      })
      expect(seen).toMatchObject({
        info: { value: { folder: library, empty: true } },
        isolated: true,
        hasNode: false,
        status: 206,
        outside: 'refused',
        popup: true,
      })
      expect(seen.text).toHaveLength(9)
    } finally {
      await app.close()
      rmSync(library, { recursive: true, force: true })
    }
  })
})
