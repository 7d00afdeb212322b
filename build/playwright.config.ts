import { defineConfig } from '@playwright/test'
import { findChromium } from './chromium.ts'

const chromium = findChromium()

/** The browser tests: a real Chromium, no screen, a microphone that is a file or a tone, never a second try. */
export default defineConfig({
  testDir: '../tests/e2e',
  outputDir: '../test-results',
  globalSetup: '../tests/e2e/support/buildRenderer.ts',
  workers: 2,
  retries: 0,
  timeout: 180_000,
  expect: { timeout: 20_000 },
  forbidOnly: true,
  reporter: 'list',
  use: {
    browserName: 'chromium',
    headless: true,
    viewport: { width: 1440, height: 900 },
    permissions: ['microphone'],
    trace: 'off',
    launchOptions: {
      ...(chromium ? { executablePath: chromium } : {}),
      args: ['--no-sandbox', '--disable-gpu', '--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream'],
    },
  },
})
