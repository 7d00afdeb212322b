import { builtinModules } from 'node:module'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vite'

const at = (path: string) => fileURLToPath(new URL(path, import.meta.url))

/** Electron's main process, and the processes and threads it starts, each a file beside it. Native packages and electron itself stay outside the bundle. */
export default defineConfig({
  root: at('..'),
  build: {
    ssr: true,
    outDir: at('../out/desk'),
    emptyOutDir: true,
    target: 'node24',
    rollupOptions: {
      input: {
        main: at('../electron/main.ts'),
        mediaWorker: at('../electron/media/mediaWorker.ts'),
        taskProcess: at('../electron/desk/taskProcess.ts'),
        segmentWorker: at('../electron/handoff/segmentWorker.ts'),
        filmWorker: at('../electron/desk/demo/filmWorker.ts'),
      },
      external: ['electron', ...builtinModules, ...builtinModules.map((name) => `node:${name}`)],
      output: { entryFileNames: '[name].js', chunkFileNames: '[name]-[hash].js', format: 'es' },
    },
  },
})
