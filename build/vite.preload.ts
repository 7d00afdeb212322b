import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vite'

const at = (path: string) => fileURLToPath(new URL(path, import.meta.url))

/** Electron's preload: a sandboxed preload must be one CommonJS file. */
export default defineConfig({
  root: at('..'),
  build: {
    lib: { entry: at('../electron/preload.ts'), formats: ['cjs'], fileName: () => 'preload.cjs' },
    outDir: at('../out/preload'),
    emptyOutDir: true,
    target: 'chrome140',
    rollupOptions: { external: ['electron'] },
  },
})
