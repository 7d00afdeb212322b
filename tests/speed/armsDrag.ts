/**
 * Dragging the elbow in the Arms room, in a real Chromium that draws WebGL with the processor: pictures a second, and where the time of one
 * goes (the page's own scripts; model, solids, lines, React), by the browser's profiler. The plain baseline in the same run is a page
 * that only asks for its next frame. The renderer must have been built (`npm run build`).
 *
 *     npm run speed -- armsDrag
 */
import { spawn } from 'node:child_process'
import { existsSync } from 'node:fs'
import { mkdtemp, rm } from 'node:fs/promises'
import { loadavg, tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import { chromium, type Page } from '@playwright/test'
import { findChromium } from '../../build/chromium.ts'

const root = fileURLToPath(new URL('../..', import.meta.url))
const renderer = process.env.CROSSBEARING_RENDERER ?? join(root, 'out/renderer')
const executablePath = findChromium()
if (!executablePath || !existsSync(renderer)) {
  console.log(executablePath ? 'the renderer is not built: npm run build' : 'no Chromium on this machine: npm test gets one')
  process.exit(0)
}

interface ProfileNode {
  readonly id: number
  readonly callFrame: { readonly functionName: string; readonly url: string }
}
interface Profile {
  readonly nodes: readonly ProfileNode[]
  readonly samples: readonly number[]
  readonly timeDeltas: readonly number[]
}

/** Frames a second while the page does nothing but ask for the next one, or is dragged on. */
const counted = (page: Page, ms: number): Promise<number> => page.evaluate((wait) => new Promise<number>((done) => {
  let frames = 0
  const from = performance.now()
  const step = (): void => {
    frames++
    const now = performance.now()
    if (now - from > wait) done((frames * 1000) / (now - from))
    else requestAnimationFrame(step)
  }
  requestAnimationFrame(step)
}), ms)

const library = await mkdtemp(join(tmpdir(), 'crossbearing-speed-'))
const host = spawn(process.execPath, [join(root, 'tests/e2e/support/host.ts'), library, renderer], { stdio: ['pipe', 'pipe', 'inherit'] })
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--no-first-run', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'] })
try {
  let url = ''
  for await (const line of createInterface({ input: host.stdout })) {
    ;({ url } = JSON.parse(line) as { url: string })
    break
  }
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } })
  await page.goto(url)
  const plain = await counted(page, 2000)
  await page.getByRole('tab', { name: 'Arms' }).click()
  await page.getByText(/A centimetre in is/).waitFor({ timeout: 120_000 })
  await page.waitForTimeout(1000)
  const box = (await page.locator('.arms-host').first().boundingBox())!
  const [x, y] = (await page.locator('.arms-host').first().getAttribute('data-elbow'))!.split(' ').map(Number) as [number, number]
  await page.mouse.move(box.x + x, box.y + y)
  await page.mouse.down()
  const cdp = await page.context().newCDPSession(page)
  await cdp.send('Profiler.enable')
  await cdp.send('Profiler.setSamplingInterval', { interval: 500 })
  await cdp.send('Profiler.start')
  const counting = counted(page, 4000)
  const until = performance.now() + 4000
  for (let i = 0; performance.now() < until; i++) {
    await page.mouse.move(box.x + x + 40 * Math.sin(i / 12), box.y + y + 50 * Math.sin(i / 9))
    await page.waitForTimeout(4)
  }
  const dragged = await counting
  const { profile } = (await cdp.send('Profiler.stop')) as { profile: Profile }
  await page.mouse.up()
  const own = new Map<string, number>()
  const nodes = new Map(profile.nodes.map((node) => [node.id, node]))
  profile.samples.forEach((id, i) => {
    const { functionName, url: from } = nodes.get(id)!.callFrame
    const name = functionName.startsWith('(') ? functionName : `${functionName || 'anonymous'} ${from.split('/').at(-1)}`
    own.set(name, (own.get(name) ?? 0) + profile.timeDeltas[i]! / 1000)
  })
  const frames = dragged * 4
  console.log(`arms: dragging ${dragged.toFixed(0)} pictures a second, ${(dragged / plain).toFixed(2)} of a page that does nothing (${plain.toFixed(0)}); load ${loadavg()[0]!.toFixed(1)}`)
  for (const [name, ms] of [...own].toSorted((a, b) => b[1] - a[1]).slice(0, 16)) console.log(`  ${(ms / frames).toFixed(2)} ms a picture  ${name}`)
} finally {
  await browser.close()
  host.kill()
  await rm(library, { recursive: true, force: true })
}
