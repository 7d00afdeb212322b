import { defineConfig } from 'vitest/config'

/** Unit tests and checks against outside values; the browser tests have their own runner. */
export default defineConfig({
  root: new URL('..', import.meta.url).pathname,
  test: {
    include: ['tests/unit/**/*.test.ts', 'tests/unit/**/*.test.tsx', 'tests/outside/**/*.test.ts'],
    setupFiles: ['tests/fixtures/propertySeed.ts'],
    testTimeout: 240_000,
    hookTimeout: 240_000,
    pool: 'forks',
    maxWorkers: 2,
  },
})
