import { builtinModules } from 'node:module'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vite'

const at = (path: string) => fileURLToPath(new URL(path, import.meta.url))

/** Electron's main process. Native packages and electron itself stay outside the bundle. */
export default defineConfig({
  root: at('..'),
  build: {
    ssr: at('../electron/main.ts'),
    outDir: at('../out/desk'),
    emptyOutDir: true,
    target: 'node24',
    rollupOptions: {
      external: ['electron', ...builtinModules, ...builtinModules.map((name) => `node:${name}`)],
      output: { entryFileNames: 'main.js', format: 'es' },
    },
  },
})
