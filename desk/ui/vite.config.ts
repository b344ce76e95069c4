import { svelte } from '@sveltejs/vite-plugin-svelte'
import { readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { Plugin } from 'vite'
import { defineConfig } from 'vitest/config'

// FIELDFARE_WORDS picks the language that is built in: a file in src/words.
const words = process.env.FIELDFARE_WORDS ?? 'en'

/** Lists what the service worker keeps: the page without the large picture libraries and rare scripts' fonts. What was written
 * counts, not what was bundled: chunks that hold nothing but a style are dropped on the way. */
const precache: Plugin = {
  name: 'precache',
  writeBundle({ dir }) {
    const list = readdirSync(join(dir!, 'assets')).filter((f) => !/three|plan-|relief|world|maplibre|uPlot|\.woff$|-ext-|greek|cyrillic|vietnamese/.test(f))
    writeFileSync(join(dir!, 'precache.json'), JSON.stringify(['/icon.svg', '/manifest.webmanifest', ...list.map((f) => '/assets/' + f)]))
  },
}

export default defineConfig({
  plugins: [svelte(), precache],
  resolve: { alias: { '#words': fileURLToPath(new URL(`./src/words/${words}.ts`, import.meta.url)) } },
  worker: { format: 'es' },
  build: {
    outDir: process.env.FIELDFARE_OUT ?? 'dist',
    emptyOutDir: true,
    target: 'es2022',
    chunkSizeWarningLimit: 1200,
    assetsInlineLimit: 0, // the content security policy lets nothing in but files
    modulePreload: { polyfill: false },
    rollupOptions: {
      input: { index: 'index.html', sw: 'src/sw.ts' },
      output: { entryFileNames: (c) => (c.name === 'sw' ? 'sw.js' : 'assets/[name]-[hash].js') },
    },
  },
  server: { proxy: { '/api': process.env.FIELDFARE_API ?? 'http://127.0.0.1:8417' } },
  test: { include: ['src/**/*.test.ts'] },
})
