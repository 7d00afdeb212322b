/**
 * Finds a Chromium for the browser tests, or gets one: CROSSBEARING_CHROMIUM, the system's, Playwright's own,
 * then Debian's package where we are root on a Debian, else Playwright's installer. Every step says what it does.
 */
import { spawnSync } from 'node:child_process'
import { existsSync } from 'node:fs'
import { delimiter, join } from 'node:path'
import { chromium } from '@playwright/test'

const names = ['chromium', 'chromium-browser', 'google-chrome-stable', 'google-chrome', 'chrome', 'msedge']
const places = [
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/snap/bin/chromium',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  join(process.env.PROGRAMFILES ?? 'C:\\Program Files', 'Google', 'Chrome', 'Application', 'chrome.exe'),
  join(process.env['PROGRAMFILES(X86)'] ?? 'C:\\Program Files (x86)', 'Microsoft', 'Edge', 'Application', 'msedge.exe'),
]

/** Path of a Chromium that is on this machine, or null. */
export function findChromium(): string | null {
  const named = process.env.CROSSBEARING_CHROMIUM
  if (named && existsSync(named)) return named
  const onPath = (process.env.PATH ?? '').split(delimiter).flatMap((folder) => names.map((name) => join(folder, name)))
  const found = [...places, ...onPath].find((path) => existsSync(path))
  if (found) return found
  const own = chromium.executablePath()
  return existsSync(own) ? own : null
}

/** As findChromium, but tries to get one first; throws with a sentence where that fails. */
export function getChromium(say: (line: string) => void): string {
  const found = findChromium()
  if (found) {
    say(`browser tests use ${found}`)
    return found
  }
  if (process.platform === 'linux' && process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
    say('no Chromium on this machine; installing the Debian package "chromium"')
    const run = (args: string[]) =>
      spawnSync('apt-get', args, { stdio: ['ignore', 'ignore', 'inherit'], env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' } }).status === 0
    if (run(['update', '-qq']) && run(['install', '-y', '-qq', '--no-install-recommends', 'chromium'])) {
      const installed = findChromium()
      if (installed) {
        say(`installed ${installed}`)
        return installed
      }
    }
    say('the Debian package could not be installed')
  }
  say("fetching Playwright's own Chromium")
  spawnSync(process.execPath, [join('node_modules', '@playwright', 'test', 'cli.js'), 'install', '--with-deps', 'chromium'], { stdio: 'inherit' })
  const fetched = findChromium()
  if (fetched) return fetched
  throw new Error('No Chromium could be found or fetched. Install Chromium or Chrome, or name one in CROSSBEARING_CHROMIUM.')
}
