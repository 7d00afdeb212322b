import react from '@vitejs/plugin-react'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vite'

const at = (path: string) => fileURLToPath(new URL(path, import.meta.url))

/** The renderer, as static files that every host serves. */
export default defineConfig({
  root: at('../renderer'),
  base: './',
  plugins: [react()],
  worker: { format: 'es' },
  build: { outDir: at('../out/renderer'), emptyOutDir: true, target: 'chrome140', assetsInlineLimit: 0, chunkSizeWarningLimit: 3000 },
})
