/**
 * How fast the app answers a thumb: Debian's Chromium with its processor
 * slowed down four times, in the example household and in one of 300 bins and
 * 20,000 entries. A tap's time is the browser's own (Event Timing): from the
 * touch to the next picture after it, in steps of 8 ms. A cold start is from
 * the service worker with the server stopped. Medians of RUNS, beside the limits.
 * Needs a built app.
 */
import { execFileSync } from 'node:child_process'
import { mkdirSync, rmSync } from 'node:fs'
import { cpus, loadavg } from 'node:os'
import { fileURLToPath } from 'node:url'
import { Phone } from '../e2e/phone.mjs'
import { results, Server } from '../e2e/server.mjs'
import { roomOf } from './rooms.mjs'

const RUNS = Number(process.env.RUNS ?? 5)
const SLOWER = 4
const TAP_MS = 100
const START_MS = 1000
const root = fileURLToPath(new URL('../../', import.meta.url))

mkdirSync(results, { recursive: true })
execFileSync('go', ['build', '-o', `${results}apptest`, './backend/apptest'], { cwd: root, stdio: 'inherit' })

const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)]
let over = 0
function row(what, took, limit) {
  if (median(took) > limit) over += 1
  const worst = Math.max(...took)
  console.log(
    `${what.padEnd(46)}${median(took).toFixed(0).padStart(6)} ms${worst.toFixed(0).padStart(7)} ms worst` +
      `${String(limit).padStart(7)} ms limit${median(took) > limit ? '  OVER' : ''}`,
  )
}

async function slow(phone, times) {
  const session = await phone.context.newCDPSession(phone.page)
  await session.send('Emulation.setCPUThrottlingRate', { rate: times })
}

/** The time of the slowest event of one tap. What looks for its place on the page is over before it. */
async function timed(phone, target) {
  const { page } = phone
  await target.scrollIntoViewIfNeeded()
  const { x, y, width, height } = await target.boundingBox()
  await page.waitForTimeout(100)
  await page.evaluate(() => (globalThis.slowest = 0))
  await page.mouse.click(x + width / 2, y + height / 2)
  await page.waitForTimeout(700)
  return page.evaluate(() => globalThis.slowest)
}

async function watchTaps(page) {
  await page.addInitScript(() => {
    globalThis.slowest = 0
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries())
        if (entry.interactionId) globalThis.slowest = Math.max(globalThis.slowest, entry.duration)
    }).observe({ type: 'event', durationThreshold: 16, buffered: false })
  })
}

/** The taps of a walk and of turning the pages, each measured in every run. */
async function taps(phone, room) {
  const { page } = phone
  const found = new Map()
  const note = async (what, target) => {
    const took = await timed(phone, target)
    found.set(what, [...(found.get(what) ?? []), took])
  }
  const door = (name) => page.getByRole('navigation').getByRole('link', { name, exact: true })
  for (let run = 0; run < RUNS; run++) {
    await note('the first stop opens', page.locator('.stops a').first())
    const sheet = page.getByRole('dialog')
    await sheet.getByRole('heading').first().waitFor()
    await page.waitForTimeout(500)
    await note('an answer', sheet.locator('.answer').nth(run % 3))
    await note('everything that can be logged', sheet.getByRole('button', { name: 'More…' }))
    await note('the next stop', sheet.locator('[data-key="n"]'))
    await page.keyboard.press('Escape')
    await page.waitForTimeout(300)
    await note('Rack', door('Rack'))
    await page.locator('.bins a').first().waitFor()
    await page.waitForTimeout(500)
    await note('Bin', page.locator('.bins a').nth(run))
    await page.waitForTimeout(500)
    await note('Notebook', door('Notebook'))
    await page.locator('.rows li').first().waitFor()
    await note('older entries', page.getByRole('button', { name: 'Older entries' }))
    await note('Room', door('Room'))
    await page.waitForTimeout(500)
    await note('back to the Round', door('Round'))
    await page.locator('.stops a').first().waitFor()
    await page.waitForTimeout(300)
  }
  for (const [what, took] of found) row(`${room}: ${what}`, took, TAP_MS)
}

/**
 * From asking for the page to the first stop with its drawing and its way to begin, painted. Every run has a page of its
 * own, and so a process that has nothing of the app yet.
 */
async function coldStart(phone, room) {
  const { context, server } = phone
  await context.addInitScript(() => {
    // After the picture that is about to be made, and before what waits behind it.
    const painted = (then) => scheduler.postTask(then, { priority: 'user-blocking' })
    const look = () => {
      if (document.querySelector('.stops li svg') && document.querySelector('.begin a'))
        painted(() => (globalThis.usable = performance.now()))
      else requestAnimationFrame(look)
    }
    if (document.readyState !== 'complete') requestAnimationFrame(look)
  })
  await phone.page.close()
  const took = []
  for (let run = 0; run < RUNS; run++) {
    const page = (phone.page = await context.newPage())
    await slow(phone, SLOWER)
    await page.goto(server.url)
    // Nothing is asked of the page meanwhile: what does the asking would be made ready in it, beside the first screen.
    await page.waitForTimeout(4000)
    await slow(phone, 1)
    await page.waitForFunction(() => globalThis.usable, undefined, { timeout: 60_000 })
    took.push(await page.evaluate(() => globalThis.usable))
    await page.close()
  }
  row(`${room}: cold start, server stopped`, took, START_MS)
}

async function measure(room, fill) {
  const server = await Server.start()
  const phone = new Phone(server)
  try {
    await phone.open()
    await phone.page.getByRole('button', { name: 'Look around an example room' }).click()
    await phone.page.locator('.stops a').first().waitFor({ timeout: 60_000 })
    if (fill) await fill(server, phone)
    await phone.worker()
    await phone.engineKept()
    await watchTaps(phone.page)
    await phone.page.reload()
    await phone.page.locator('.stops a').first().waitFor({ timeout: 60_000 })
    await phone.page.waitForTimeout(4000)
    await slow(phone, SLOWER)
    await taps(phone, room)
    await slow(phone, 1)
    await server.stop()
    await coldStart(phone, room)
  } finally {
    await phone.close().catch(() => undefined)
    await server.stop('SIGKILL').catch(() => undefined)
    for (const folder of [phone.profile, server.data]) rmSync(folder, { recursive: true, force: true })
  }
}

/** Puts the enormous room on the phone as an exchange would bring it. */
async function fill300(server, phone) {
  const token = await phone.meta('token')
  const { sheets, entries } = roomOf(300, await server.everything(token), 20_000)
  const { page } = phone
  await page.evaluate(
    ({ sheets, entries }) =>
      new Promise((resolve, reject) => {
        const open = indexedDB.open('underlog')
        open.onerror = () => reject(open.error)
        open.onsuccess = () => {
          const work = open.result.transaction(['sheets', 'entries'], 'readwrite')
          for (const sheet of sheets) work.objectStore('sheets').put({ ...sheet, arrived: 1, known: 1 })
          for (const entry of entries) {
            const t = entry.what === 'strike' ? {} : { t: Date.parse(entry.at) }
            work.objectStore('entries').put({ ...entry, ...t, arrived: 1, known: 1 })
          }
          work.onerror = () => reject(work.error)
          work.oncomplete = () => {
            open.result.close()
            resolve()
          }
        }
      }),
    { sheets, entries },
  )
}

const only = process.argv[2] ?? ''
console.log(
  `processor slowed ${SLOWER} times, medians of ${RUNS}; this machine has ${cpus().length} cores and a load of ${loadavg()[0].toFixed(1)}, and is as slow as that`,
)
if (!only || only === 'example') await measure('example room', null)
if (!only || only === '300') await measure('300 bins, 20,000 entries', fill300)
if (over > 0) console.log(`${over} over their limits`)
