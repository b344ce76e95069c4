import { svelte } from '@sveltejs/vite-plugin-svelte'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vitest/config'

// FIELDFARE_WORDS picks the language that is built in: a file in src/words.
const words = process.env.FIELDFARE_WORDS ?? 'en'

export default defineConfig({
  plugins: [svelte()],
  resolve: { alias: { '#words': fileURLToPath(new URL(`./src/words/${words}.ts`, import.meta.url)) } },
  worker: { format: 'es' },
  build: {
    outDir: process.env.FIELDFARE_OUT ?? 'dist',
    emptyOutDir: true,
    target: 'es2022',
    chunkSizeWarningLimit: 1200,
    assetsInlineLimit: 0, // the content security policy lets nothing in but files
    modulePreload: { polyfill: false },
  },
  server: { proxy: { '/api': process.env.FIELDFARE_API ?? 'http://127.0.0.1:8417' } },
  test: { include: ['src/**/*.test.ts'] },
})
