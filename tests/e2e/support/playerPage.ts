import type { Page } from '@playwright/test'
import { unevenTimes } from '../../fixtures/numberedClip.ts'
import { servePlaybackPage, type ServedClip, type ServedPage } from '../../fixtures/playback-page/serve.ts'

/** The page that holds nothing but the player, and clips whose frames carry their number. */
export interface PlayerClips {
  readonly served: ServedPage
  /** Each frame by itself, 60 a second. */
  readonly constant: ServedClip
  /** Groups of twelve, at uneven times. */
  readonly uneven: ServedClip
  /** Two for two panes, 30 a second, the second one shorter. */
  readonly leftHalf: ServedClip
  readonly rightHalf: ServedClip
}

export async function servePlayer(): Promise<PlayerClips> {
  const served = await servePlaybackPage()
  return {
    served,
    constant: await served.addClip('constant.mp4', { width: 720, height: 1280, frames: 150, fps: 60, gop: 1, preset: 'ultrafast' }),
    uneven: await served.addClip('uneven.mp4', { width: 480, height: 854, frames: 150, times: unevenTimes(150), gop: 12, preset: 'ultrafast' }),
    leftHalf: await served.addClip('left.mp4', { width: 1280, height: 720, frames: 75, fps: 30, gop: 1, preset: 'ultrafast', sound: 'beep' }),
    rightHalf: await served.addClip('right.mp4', { width: 720, height: 1280, frames: 45, fps: 30, gop: 1, preset: 'ultrafast' }),
  }
}

/** @param leaks gets what Chromium itself says of pictures left to the garbage collector */
export async function openPlayer(page: Page, { served }: PlayerClips, leaks: string[], query = ''): Promise<void> {
  page.on('console', (message) => {
    if (/VideoFrame|garbage collected/i.test(message.text())) leaks.push(message.text())
  })
  await page.setViewportSize({ width: 920, height: 660 })
  await page.goto(served.address + query)
  await page.waitForFunction(() => 'bench' in window)
}
