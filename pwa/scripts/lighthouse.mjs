/**
 * Lighthouse on the example household as it opens for somebody signed in, in
 * Debian's Chromium: medians of RUNS beside the budget, and every audit that
 * costs points. Performance wanders with the load of the machine; the sizes
 * and the taps are what is held. Needs a built app.
 */
import { execFileSync } from 'node:child_process'
import { mkdirSync, rmSync } from 'node:fs'
import { createServer } from 'node:net'
import { once } from 'node:events'
import { fileURLToPath } from 'node:url'
import lighthouse from 'lighthouse'
import { Phone } from '../e2e/phone.mjs'
import { lookAround } from '../e2e/screens.mjs'
import { results, Server } from '../e2e/server.mjs'

const RUNS = Number(process.env.RUNS ?? 3)
const BUDGET = 100
const CATEGORIES = ['performance', 'accessibility', 'best-practices']
const root = fileURLToPath(new URL('../../', import.meta.url))

const probe = createServer().listen(0, '127.0.0.1')
await once(probe, 'listening')
const { port } = probe.address()
probe.close()

mkdirSync(results, { recursive: true })
execFileSync('go', ['build', '-o', `${results}apptest`, './backend/apptest'], { cwd: root, stdio: 'inherit' })
const server = await Server.start()
const phone = new Phone(server, [`--remote-debugging-port=${port}`])
try {
  await phone.open()
  await lookAround(phone)
  await phone.worker()
  await phone.engineKept()
  const scores = new Map(CATEGORIES.map((category) => [category, []]))
  const missing = new Map()
  for (let run = 0; run < RUNS; run++) {
    const { lhr } = await lighthouse(server.url, {
      port,
      onlyCategories: CATEGORIES,
      disableStorageReset: true, // the household is on this device, as it is on a keeper's phone
      logLevel: 'error',
    })
    for (const category of CATEGORIES) {
      scores.get(category).push(Math.round(lhr.categories[category].score * 100))
      for (const { id, weight } of lhr.categories[category].auditRefs) {
        const { score, title, displayValue = '' } = lhr.audits[id]
        if (weight > 0 && score !== null && score < 1)
          missing.set(`${category}: ${title}`, `${Math.round(score * 100)} ${displayValue}`)
      }
    }
  }
  for (const [category, list] of scores) {
    const median = [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)]
    console.log(
      `Lighthouse ${category.padEnd(16)}${String(median).padStart(4)} of ${BUDGET} (${list.join(', ')})`,
    )
  }
  for (const [what, how] of missing) console.log(`  ${what}: ${how}`)
} finally {
  await phone.close().catch(() => undefined)
  await server.stop('SIGKILL').catch(() => undefined)
  for (const folder of [phone.profile, server.data]) rmSync(folder, { recursive: true, force: true })
}
process.exit(0)
