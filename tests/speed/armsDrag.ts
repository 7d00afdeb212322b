/**
 * Dragging the elbow in the Arms room, in a real Chromium that draws WebGL with the processor: pictures a second, and where the time of one
 * goes (the page's own scripts; model, solids, lines, React), by the browser's profiler; and how long after a move of the pointer its
 * figure is drawn. Beside it in the same run, in turns: a page that only asks for its next frame, and one that only clears a WebGL
 * canvas of the figure's size. Both ways in which a browser without a graphics processor lays a page together: by software, its
 * default, and by WebGL that the processor draws. The renderer must have been built (`npm run build`).
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

/** Frames a second of a page that clears an opaque WebGL canvas of this size in each. */
const cleared = (page: Page, ms: number, width: number, height: number): Promise<number> => page.evaluate(([wait, w, h]) => new Promise<number>((done) => {
  const canvas = document.body.appendChild(Object.assign(document.createElement('canvas'), { width: w, height: h }))
  const gl = canvas.getContext('webgl2', { antialias: false, alpha: false })!
  let frames = 0
  const from = performance.now()
  const step = (): void => {
    frames++
    gl.clearColor(frames % 2, 0.3, 0.2, 1)
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT)
    const now = performance.now()
    if (now - from < wait) return void requestAnimationFrame(step)
    canvas.remove()
    done((frames * 1000) / (now - from))
  }
  requestAnimationFrame(step)
}), [ms, width, height] as const)

/** Notes for each move of the pointer how long after it the frame was drawn that shows it, milliseconds. */
const noteDelays = (page: Page): Promise<void> => page.evaluate(() => {
  const delays: number[] = []
  Object.assign(globalThis, { delays })
  addEventListener('pointermove', ({ timeStamp }) => requestAnimationFrame(() => setTimeout(() => delays.push(performance.now() - timeStamp))))
})
const middleOf = (values: readonly number[], share: number): number => values.toSorted((a, b) => a - b)[Math.floor(share * values.length)] ?? NaN

const rounds = 3
const roundMs = 3000
async function measure(name: string, flags: readonly string[]): Promise<void> {
  const library = await mkdtemp(join(tmpdir(), 'crossbearing-speed-'))
  const host = spawn(process.execPath, [join(root, 'tests/e2e/support/host.ts'), library, renderer], { stdio: ['pipe', 'pipe', 'inherit'] })
  const browser = await chromium.launch({ executablePath: executablePath!, args: ['--no-sandbox', '--no-first-run', ...flags] })
  try {
    let url = ''
    for await (const line of createInterface({ input: host.stdout })) {
      ;({ url } = JSON.parse(line) as { url: string })
      break
    }
    const plainPage = await browser.newPage({ viewport: { width: 1440, height: 900 } })
    await plainPage.goto('about:blank')
    const page = await browser.newPage({ viewport: { width: 1440, height: 900 } })
    await page.goto(url)
    await page.getByRole('tab', { name: 'Arms' }).click()
    await page.getByText(/A centimetre in is/).waitFor({ timeout: 120_000 })
    await page.waitForTimeout(1000)
    await noteDelays(page)
    const box = (await page.locator('.arms-host').first().boundingBox())!
    const [x, y] = (await page.locator('.arms-host').first().getAttribute('data-elbow'))!.split(' ').map(Number) as [number, number]
    const cdp = await page.context().newCDPSession(page)
    await cdp.send('Profiler.enable')
    await cdp.send('Profiler.setSamplingInterval', { interval: 500 })
    const rates = { idle: [] as number[], clearing: [] as number[], dragging: [] as number[] }
    const own = new Map<string, number>()
    for (let round = 0; round < rounds; round++) {
      await plainPage.bringToFront()
      rates.idle.push(await counted(plainPage, roundMs))
      rates.clearing.push(await cleared(plainPage, roundMs, Math.round(box.width), Math.round(box.height)))
      await page.bringToFront()
      await page.mouse.move(box.x + x, box.y + y)
      await page.mouse.down()
      await cdp.send('Profiler.start')
      const counting = counted(page, roundMs)
      const until = performance.now() + roundMs
      for (let i = 0; performance.now() < until; i++) {
        await page.mouse.move(box.x + x + 40 * Math.sin(i / 12), box.y + y + 50 * Math.sin(i / 9))
        await page.waitForTimeout(4)
      }
      rates.dragging.push(await counting)
      const { profile } = (await cdp.send('Profiler.stop')) as { profile: Profile }
      await page.mouse.move(box.x + x, box.y + y)
      await page.mouse.up()
      const nodes = new Map(profile.nodes.map((node) => [node.id, node]))
      profile.samples.forEach((id, i) => {
        const { functionName, url: from } = nodes.get(id)!.callFrame
        const what = functionName.startsWith('(') ? functionName : `${functionName || 'anonymous'} ${from.split('/').at(-1)}`
        own.set(what, (own.get(what) ?? 0) + profile.timeDeltas[i]! / 1000)
      })
    }
    const delays = await page.evaluate(() => (globalThis as unknown as { delays: number[] }).delays)
    const say = (values: readonly number[]): string => values.map((value) => value.toFixed(0)).join(', ')
    console.log(`arms, laid together by ${name}: dragging ${say(rates.dragging)} pictures a second; clearing a canvas as large ${say(rates.clearing)}; nothing ${say(rates.idle)}; a move of the pointer is drawn ${middleOf(delays, 0.5).toFixed(0)} ms after it (95 of 100 within ${middleOf(delays, 0.95).toFixed(0)}); load ${loadavg()[0]!.toFixed(1)}`)
    const frames = rates.dragging.reduce((sum, rate) => sum + (rate * roundMs) / 1000, 0)
    for (const [what, ms] of [...own].toSorted((a, b) => b[1] - a[1]).slice(0, 10)) console.log(`  ${(ms / frames).toFixed(2)} ms a picture  ${what}`)
  } finally {
    await browser.close()
    host.kill()
    await rm(library, { recursive: true, force: true })
  }
}

await measure('software', [])
await measure('WebGL in software', ['--use-angle=swiftshader', '--enable-unsafe-swiftshader'])
