/**
 * Whether sound and picture stay together over half an hour of an edited lesson: in the finished video, at every click, and in a
 * browser that plays it, at places from the beginning to the end. By hand; some minutes.
 *
 *     node tests/nightly/drift.ts [MINUTES]
 */
import { mkdtemp, rm } from 'node:fs/promises'
import { loadavg, tmpdir } from 'node:os'
import { join } from 'node:path'
import { chromium } from '@playwright/test'
import { findChromium } from '../../build/chromium.ts'
import { createDesk } from '../../electron/desk/createDesk.ts'
import { startLoopback } from '../../electron/loopback/host.ts'
import { openPictures } from '../../electron/media/pictures.ts'
import { handoffSize } from '../../shared/contract/walkthrough.ts'
import { apply } from '../../shared/geometry/affine.ts'
import { paneViews } from '../../shared/picture/views.ts'
import buildRenderer from '../e2e/support/buildRenderer.ts'
import { clicks } from '../e2e/support/microphone.ts'
import { readSound } from '../fixtures/lesson.ts'
import { readFrameNumber } from '../fixtures/numberedFrame.ts'
import { makeLongLesson } from '../fixtures/longLesson.ts'
import { playAndListen } from '../fixtures/heardAndSeen.ts'

const minutes = Number(process.argv[2] ?? 30)
const folder = await mkdtemp(join(tmpdir(), 'crossbearing-drift-'))
const middle = (values: readonly number[]): number => values.toSorted((a, b) => a - b)[values.length >> 1] ?? NaN
const drop = await buildRenderer()
const desk = createDesk({ folder: join(folder, 'library'), checkAnswers: false })
const host = await startLoopback({ desk, renderer: process.env.CROSSBEARING_RENDERER! })
try {
  const { lesson, programme, jumps } = await makeLongLesson(desk, { folder, minutes, frames: 8, width: 360, height: 640 })
  console.log(`a lesson of ${(programme.lengthMs / 60_000).toFixed(2)} minutes in ${lesson.edits.pieces.length} pieces, ${jumps.length} clicks; load ${loadavg()[0]!.toFixed(1)}`)

  const settings = { size: '720p', orientation: 'landscape', fps: 30, title: '' } as const
  const { handoff } = await desk.call('handoff.start', { walkthroughId: lesson.id, settings, to: null })
  for (;;) {
    const job = (await desk.call('job.list', {})).find(({ kind }) => kind === 'handoff')!
    if (job.state === 'failed') throw new Error(JSON.stringify(job))
    if (job.state === 'done') break
    await new Promise((done) => setTimeout(done, 500))
  }
  const { path } = (await desk.call('handoff.list', {})).find(({ id }) => id === handoff.id)!
  const heard = clicks(await readSound(path!), 48_000)
  const seen: number[] = []
  const size = handoffSize(settings)
  {
    await using pictures = await openPictures(path!, { threads: 2 })
    const { num, den } = pictures.stream.timeBase
    let last: number | null = null
    for (;;) {
      using frame = await pictures.next()
      if (!frame) break
      const ms = (Number(frame.pts) * num * 1000) / den
      const instant = programme.at(ms)!
      if (instant.kind === 'card') continue
      const view = paneViews({ size, stage: instant.stage, clips: instant.clips })[0]!
      const clip = instant.clips[view.clipId]!
      const [[x, y], [right, bottom]] = [apply(view.place.transform, [0, 0]), apply(view.place.transform, [clip.width, clip.height])]
      const number = readFrameNumber(frame.data![0]!, size.width, size.height, { stride: frame.linesize[0]!, region: { x, y, width: right - x, height: bottom - y } })
      if (number !== last) seen.push(ms)
      last = number
    }
  }
  // The first picture after the card changes without a click being meant; every other change stands at a click.
  const pairs = heard.map((at) => ({ at, off: seen.reduce((best, ms) => (Math.abs(ms - at) < Math.abs(best) ? ms - at : best), Infinity) }))
  const most = Math.max(...pairs.map(({ off }) => Math.abs(off)))
  console.log(`video: ${heard.length} clicks heard, ${seen.length} changes seen; picture against sound at most ${most.toFixed(1)} ms off (a frame is 33.3)`)
  const third = Math.ceil(pairs.length / 3)
  for (const [i, name] of ['first', 'middle', 'last'].entries()) console.log(`  ${name} third: median ${middle(pairs.slice(i * third, (i + 1) * third).map(({ off }) => off)).toFixed(1)} ms`)
  console.log(`  clicks where the edit list says: off by ${Math.max(...heard.map((at) => Math.min(...jumps.map(({ ms }) => Math.abs(ms - at))))).toFixed(2)} ms at most`)

  const executablePath = findChromium()
  if (!executablePath) console.log('no Chromium on this machine, so nothing is played')
  else {
    await using browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu', '--autoplay-policy=no-user-gesture-required'] })
    const page = await browser.newPage({ viewport: { width: 1440, height: 900 }, bypassCSP: true })
    for (const part of [0, 0.25, 0.5, 0.75, 1]) {
      // After the card, under which nothing jumps.
      const from = 5000 + part * (programme.lengthMs - 25_000)
      const lags = await playAndListen(page, host.url, { fromMs: from, forMs: 17_000, jumps })
      console.log(`played from ${(from / 60_000).toFixed(1)} minutes: ${lags.length} clicks; picture after sound by ${lags.map((lag) => lag.toFixed(0)).join(', ')} ms, median ${middle(lags).toFixed(0)}`)
    }
  }
} finally {
  await host.close()
  await desk.close()
  drop()
  await rm(folder, { recursive: true, force: true })
}
process.exit(0)
