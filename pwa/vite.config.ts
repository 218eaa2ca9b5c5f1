import { createHash } from 'node:crypto'
import { existsSync, readFileSync } from 'node:fs'
import { svelte } from '@sveltejs/vite-plugin-svelte'
import type { Plugin } from 'vite'
import { defineConfig } from 'vitest/config'
import { VitePWA } from 'vite-plugin-pwa'

/** The engine keeps its file name, so its address carries what is in it. */
function engineVersion(): string {
  const hash = createHash('sha256')
  for (const file of ['public/engine.wasm', 'public/wasm_exec.js']) {
    if (existsSync(file)) hash.update(readFileSync(file))
  }
  return hash.digest('hex').slice(0, 12)
}

/** Asks the browser to compile all of a file while it reads it (v8.dev/blog/explicit-compile-hints). */
const AHEAD = '//# allFunctionsCalledOnLoad\n'

/**
 * Nearly every function of the first screen's files runs while it is made: they are compiled beside the page instead of
 * one by one in its way.
 */
const compiledAhead: Plugin = {
  name: 'compiled-ahead',
  generateBundle: {
    order: 'post', // nothing comes before the mark
    handler(_options, files) {
      const mark = (name: string): void => {
        const file = files[name]
        if (file?.type !== 'chunk' || file.code.startsWith(AHEAD)) return
        file.code = AHEAD + file.code
        file.imports.forEach(mark)
      }
      for (const file of Object.values(files)) if (file.type === 'chunk' && file.isEntry) mark(file.fileName)
    },
  },
}

const define = { __ENGINE_VERSION__: JSON.stringify(engineVersion()) }

export default defineConfig({
  define,
  // Dexie's build for browsers of this decade: 15 % smaller than its default.
  resolve: { alias: [{ find: /^dexie$/, replacement: 'dexie/dist/modern/dexie.min.mjs' }] },
  build: {
    target: 'es2022',
    sourcemap: false,
    modulePreload: {
      polyfill: false,
      // A later page is in the service worker's cache: asking for its parts ahead
      // only costs the first screen time.
      resolveDependencies: (_file, parts, { hostType }) => (hostType === 'html' ? parts : []),
    },
    // What the first screen begins with, and a sitter's page for the most part too, is one file: ten small ones weigh more.
    rolldownOptions: {
      output: {
        codeSplitting: {
          groups: [
            {
              name: 'base',
              test: /src\/(data\/(ids|check|limits|live|stamp|query|db)|sync\/state|app\/(paint|now)|words\/(grammar|en|en\.line))\.ts|node_modules\/svelte\/|generated\/limits\.json|preload-helper|dexie/,
            },
          ],
        },
      },
    },
    assetsInlineLimit: 0, // the server's Content-Security-Policy takes fonts from files only
  },
  worker: { format: 'es' },
  server: { proxy: { '/api': 'http://localhost:8090', '/_': 'http://localhost:8090' } },
  plugins: [
    svelte(),
    compiledAhead,
    VitePWA({
      strategies: 'injectManifest',
      srcDir: 'src/sw',
      filename: 'sw.ts',
      injectRegister: false, // src/sync/update.ts registers it and asks before a new one takes over
      manifest: false, // public/manifest.webmanifest is written by hand
      injectManifest: {
        // The first tier: the shell, everything the first screen needs. The
        // engine (some MB) comes in a second tier, after first use.
        globPatterns: ['**/*.{html,js,css,svg,woff2,webmanifest}', 'icons/*.png'],
        globIgnores: ['**/engine.wasm', '**/wasm_exec.js', 'sw.js'],
        maximumFileSizeToCacheInBytes: 8 * 1024 * 1024,
      },
    }),
  ],
  test: {
    include: ['src/**/*.test.ts'],
    environment: 'node',
    testTimeout: 20_000, // on a busy machine
    setupFiles: ['src/test/setup.ts'],
  },
})
