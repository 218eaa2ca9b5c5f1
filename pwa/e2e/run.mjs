/**
 * End-to-end tests: the wired server, a real browser, nothing in between but
 * loopback. `npm run e2e` runs all, `npm run e2e -- WORDS` those whose name
 * has the words. The app must be built (`make app`).
 */
import { execFileSync } from 'node:child_process'
import { existsSync, mkdirSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { CHROMIUM } from '../scripts/chromium.mjs'
import { FIREFOX } from './firefox.mjs'
import { runTests } from './runner.mjs'
import { results } from './server.mjs'

const root = fileURLToPath(new URL('../../', import.meta.url))
if (!existsSync(`${root}pwa/dist/index.html`)) fail('The app is not built: run `make app` first.')
if (!existsSync(CHROMIUM)) fail(`There is no Chromium at ${CHROMIUM}: install Debian's, or set CHROMIUM.`)
if (!existsSync(FIREFOX)) fail(`There is no Firefox at ${FIREFOX}: install Debian's, or set FIREFOX.`)

mkdirSync(results, { recursive: true })
execFileSync('go', ['build', '-o', `${results}apptest`, './backend/apptest'], { cwd: root, stdio: 'inherit' })

await import('./screens.test.mjs') // the longest
await import('./firefox.test.mjs')
await import('./home.test.mjs')
await import('./pairing.test.mjs')
await import('./room.test.mjs')
await import('./offline.test.mjs')
await import('./alerts.test.mjs')
await import('./worker.test.mjs')
await import('./devices.test.mjs')
await import('./update.test.mjs')
await import('./honesty.test.mjs')
await import('./renewals.test.mjs')
await import('./feeding.test.mjs')
await import('./photos.test.mjs')
await import('./scan.test.mjs')
await import('./exchange.test.mjs')
await import('./away.test.mjs')
await import('./larder.test.mjs')
await import('./wrong.test.mjs')
await import('./kinds.test.mjs')
await import('./paper.test.mjs')
await import('./pass.test.mjs')
await import('./pictures.test.mjs')
await runTests(process.argv.slice(2).join(' '))

function fail(why) {
  console.error(why)
  process.exit(1)
}
