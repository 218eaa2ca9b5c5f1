/**
 * The exchange beside others, in one run on one machine: 10,000 entries that
 * wait on a phone (Chromium, cold profile) are drained to a server; a phone
 * comes to a room with 150,000 entries; 20 devices exchange at once. Prints
 * times and ratios. `make bench` installs what it needs.
 *
 * A drain is measured twice: by the app's own code for it in a page of the
 * app's origin with nothing else on it, as PouchDB is measured, and by the
 * whole app while it starts, draws its screens and computes its forecasts.
 * A browser that was just started is given three seconds first, in ours and in
 * PouchDB's: what it does for itself meanwhile is not of the exchange.
 */
import { execFileSync, spawn } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { Phone } from '../../../pwa/e2e/phone.mjs'
import { dist, results, Server } from '../../../pwa/e2e/server.mjs'
import { build as bundle } from '../../../pwa/node_modules/vite/dist/node/index.js'

const root = fileURLToPath(new URL('../../../', import.meta.url))
const here = fileURLToPath(new URL('.', import.meta.url))
const COUNT = Number(process.env.COUNT ?? 10_000)
const HISTORY = Number(process.env.HISTORY ?? 150_000)
const ROUNDS = Number(process.env.ROUNDS ?? 3)
const DAY = 86_400_000
const only = process.argv.slice(2)

mkdirSync(results, { recursive: true })
const build = (what, into) => execFileSync('go', ['build', '-o', into, what], { cwd: root, stdio: 'inherit' })
build('./backend/apptest', `${results}apptest`)
build('./backend/exchange/bench/plain', `${results}plain`)

const left = []
const folder = () => (left.push(mkdtempSync(join(tmpdir(), 'underlog-bench-'))), left.at(-1))
const id = (n, head = '1') => head + n.toString(16).padStart(31, '0')
const say = (what, value, note = '') => console.log(`${what.padEnd(62)}${value.padStart(12)}  ${note}`)
const seconds = (ms) => `${(ms / 1000).toFixed(2)} s`
const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms))

async function freePort() {
  const probe = createServer().listen(0, '127.0.0.1')
  await new Promise((resolve) => probe.once('listening', resolve))
  const { port } = probe.address()
  await new Promise((resolve) => probe.close(resolve))
  return port
}

async function answers(url) {
  for (let tries = 0; tries < 300; tries++) {
    if (await fetch(url).then((response) => response.status < 500, () => false)) return
    await pause(100)
  }
  throw new Error(`${url} does not answer`)
}

/** A phone that was just started, at an answer of the server: nothing of the app runs. */
async function started(phone, path) {
  await phone.open(path)
  await pause(3000)
}

const BINS = 60

/** A room with its bins; answers the owner's token. */
async function room(server) {
  const response = await fetch(`${server.url}/api/underlog/setup`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ room: 'Cellar', name: 'Ada', password: 'woodlouse tea', time_zone: 'UTC', units: 'metric' }),
  })
  const { token } = await response.json()
  const { tub } = JSON.parse(readFileSync(`${root}pwa/src/generated/limits.json`, 'utf8'))
  const stamp = `${Date.now().toString(16).padStart(12, '0')}-0000-bench`
  const sheets = Array.from({ length: BINS }, (_, n) => {
    const bin = { ...tub, name: `Bin ${n}`, rack: 'West', shelf: 1 + Math.floor(n / 10), position: 1 + (n % 10), kind: 'porcellio-scaber' }
    delete bin.id
    const fields = Object.entries(bin).flatMap(([name, v]) => (v === '' ? [] : [[name, { v, s: stamp }]]))
    return { sheet: 'bins', id: id(n), fields: Object.fromEntries(fields) }
  })
  await server.exchange(token, { device: 'e'.repeat(32), sheets })
  return token
}

const water = (n, at) => ({ id: id(n, '2'), bin: id(n % BINS), at: new Date(at).toISOString(), what: 'water', water_ml: 30 })

/** Runs in the page: puts entries into the local database and the outbox, as if they had been logged. */
const fill = ({ entries, after }) =>
  new Promise((resolve, reject) => {
    const open = indexedDB.open('underlog')
    open.onsuccess = () => {
      const transaction = open.result.transaction(['entries', 'outgoing'], 'readwrite')
      const [table, outgoing] = ['entries', 'outgoing'].map((name) => transaction.objectStore(name))
      for (const [i, entry] of entries.entries()) {
        table.put({ ...entry, t: Date.parse(entry.at), arrived: 1, known: 0 })
        const since = entry.at
        outgoing.add({ position: after + i, name: entry.id, id: entry.id, sort: 'entry', record: entry, attempts: 0, since, correction: 0 })
      }
      transaction.oncomplete = () => (open.result.close(), resolve())
      transaction.onerror = () => reject(transaction.error)
    }
  })

/** Runs in the page: how many entries wait in the outbox. */
const waiting = () =>
  new Promise((resolve, reject) => {
    const open = indexedDB.open('underlog')
    open.onerror = () => reject(open.error)
    open.onsuccess = () => {
      const count = open.result.transaction('outgoing').objectStore('outgoing').count()
      count.onsuccess = () => (open.result.close(), resolve(count.result))
    }
  })

/** The app's files, and beside them one that has nothing but the code of the exchange. */
async function withDrainAlone() {
  const files = folder()
  cpSync(dist, files, { recursive: true })
  await bundle({
    configFile: false,
    logLevel: 'error',
    root: here,
    build: { outDir: files, emptyOutDir: false, target: 'es2022', lib: { entry: 'drain.js', formats: ['es'], fileName: () => 'drain.js' } },
  })
  return files
}

/** Runs in a page of the origin that is not the app, which has the exchange's code already: drains; answers how long it took. */
const drainAlone = async () => {
  const began = Date.now()
  await window.exchange.go()
  return Date.now() - began
}

/** Runs in such a page: loads that code, as PouchDB's is loaded before its clock starts. */
const loadDrain = async () => void (window.exchange = await import('/drain.js'))

/** The exchange alone, measured as PouchDB is: its code is there, and the page itself looks at the clock. */
async function alone(page) {
  await page.evaluate(loadDrain)
  const took = await page.evaluate(drainAlone)
  const rest = await page.evaluate(waiting)
  if (rest > 0) throw new Error(`${rest} entries wait after the drain`)
  return took
}

/** The whole app, from its address on. */
async function withTheApp(page, { url }) {
  const began = Date.now()
  await page.goto(`${url}/#/`)
  while ((await page.evaluate(waiting)) > 0) await pause(50)
  return Date.now() - began
}

/** Drains twice; answers how long each took, as drain says that has the page. */
async function ours(files, drain) {
  const server = await Server.start({ files })
  await room(server)
  const phone = new Phone(server)
  await phone.open()
  await phone.signIn()
  await phone.worker()
  await phone.allSent()
  const now = Date.now()
  const device = await phone.meta('device')
  const entries = Array.from({ length: COUNT }, (_, n) => ({ ...water(n, now - (COUNT - n) * ((150 * DAY) / COUNT)), device }))
  const times = []
  for (let round = 0; round < 2; round++) {
    // The app is not open while the outbox fills: an answer of the server is.
    await phone.close()
    await phone.open('/api/health')
    await phone.page.evaluate(fill, { entries, after: 1 + round * COUNT })
    await phone.close()
    await started(phone, '/api/health')
    times.push(await drain(phone.page, server))
  }
  const { entries: stored } = await server.everything(await phone.meta('token'))
  await phone.close()
  await server.stop()
  left.push(phone.profile, server.data)
  if (stored.length !== COUNT) throw new Error(`${stored.length} of ${COUNT} are stored`)
  return times
}

async function pouch() {
  const port = await freePort()
  const server = spawn(process.execPath, [join(here, 'node_modules/pouchdb-server/bin/pouchdb-server'), '--port', String(port), '--dir', folder(), '--no-stdout-logs'], {
    cwd: folder(),
    stdio: 'ignore',
  })
  const url = `http://127.0.0.1:${port}`
  const phone = new Phone({ url })
  try {
    await answers(url)
    await phone.open('/')
    const script = { path: join(here, 'node_modules/pouchdb/dist/pouchdb.min.js') }
    await phone.page.addScriptTag(script)
    await phone.page.evaluate(async (count) => {
      const db = new PouchDB('outbox')
      const docs = Array.from({ length: count }, (_, n) => ({
        _id: `e${String(n).padStart(31, '0')}`, bin: 'b', at: new Date(Date.now() - n * 1000).toISOString(), what: 'water', water_ml: 30,
      }))
      await db.bulkDocs(docs)
    }, COUNT)
    await phone.close()
    await started(phone, '/')
    await phone.page.addScriptTag(script)
    const replicate = async (address) => {
      const began = Date.now()
      const { docs_written: written } = await new PouchDB('outbox').replicate.to(`${address}/entries`)
      return { took: Date.now() - began, written }
    }
    const { took, written } = await phone.page.evaluate(replicate, url)
    if (written !== COUNT) throw new Error(`PouchDB wrote ${written}`)
    return took
  } finally {
    await phone.close()
    server.kill()
    left.push(phone.profile)
  }
}

async function plain() {
  const port = await freePort()
  const server = spawn(`${results}plain`, ['serve', folder(), `127.0.0.1:${port}`], { stdio: 'ignore' })
  const url = `http://127.0.0.1:${port}`
  const post = async (path, body) => {
    const response = await fetch(url + path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) })
    if (!response.ok) throw new Error(`${path}: ${response.status} ${await response.text()}`)
    await response.arrayBuffer()
  }
  try {
    await answers(`${url}/api/health`)
    const row = (n, head) => ({ ...water(n, Date.now()), id: id(n, head), raw: water(n, Date.now()) })
    let began = Date.now()
    for (let n = 0; n < COUNT; n++) await post('/api/collections/logs/records', row(n, '3'))
    const single = Date.now() - began
    began = Date.now()
    for (let n = 0; n < COUNT; n += 50) {
      const requests = Array.from({ length: 50 }, (_, i) => ({ method: 'POST', url: '/api/collections/logs/records', body: row(n + i, '4') }))
      await post('/api/batch', { requests })
    }
    return [single, Date.now() - began]
  } finally {
    server.kill()
  }
}

/** Bytes of memory of a browser's pages and their workers: of the processes below the one with the profile, those that draw. */
function weight(profile) {
  const processes = readdirSync('/proc').flatMap((pid) => {
    try {
      const command = readFileSync(`/proc/${pid}/cmdline`, 'utf8')
      const parent = readFileSync(`/proc/${pid}/stat`, 'utf8').replace(/^.*\) . (\d+) .*$/s, '$1')
      return [{ pid, parent, command }]
    } catch {
      return [] // no process, or gone meanwhile
    }
  })
  const below = new Set(processes.filter(({ command }) => command.includes(profile)).map(({ pid }) => pid))
  for (let before = -1; before !== below.size; ) {
    before = below.size
    for (const { pid, parent } of processes) if (below.has(parent)) below.add(pid)
  }
  let bytes = 0
  for (const { pid, command } of processes) {
    if (!below.has(pid) || !command.includes('--type=renderer')) continue
    try {
      bytes += 1024 * Number(/^Pss:\s+(\d+)/m.exec(readFileSync(`/proc/${pid}/smaps_rollup`, 'utf8'))?.[1] ?? 0)
    } catch {
      // Gone meanwhile.
    }
  }
  return bytes
}

/** Runs in the page: how many entries there are. */
const counted = () =>
  new Promise((resolve) => {
    const open = indexedDB.open('underlog')
    open.onsuccess = () => {
      const count = open.result.transaction('entries').objectStore('entries').count()
      count.onsuccess = () => (open.result.close(), resolve(count.result))
    }
  })

async function firstLoad() {
  const server = await Server.start()
  const token = await room(server)
  const now = Date.parse((await server.order('GET', '/now')).now)
  const span = 3 * 365 * DAY
  for (let start = 0; start < HISTORY; start += 500) {
    const entries = Array.from({ length: Math.min(500, HISTORY - start) }, (_, i) => water(start + i, now - span * (1 - (start + i) / HISTORY) - 1000))
    await server.exchange(token, { device: 'e'.repeat(32), cursor: 2 ** 40, epoch: 'none', entries })
  }
  const phone = new Phone(server)
  await phone.open()
  const session = await phone.context.newCDPSession(phone.page)
  await session.send('Network.enable')
  let bytes = 0
  session.on('Network.loadingFinished', ({ encodedDataLength }) => (bytes += encodedDataLength))
  let peak = 0
  const weigh = setInterval(() => (peak = Math.max(peak, weight(phone.profile))), 200)
  const none = async (key) => {
    while (await phone.meta(key)) await pause(50)
    return Date.now()
  }
  await phone.page.getByLabel('Your name').fill('Ada')
  await phone.page.getByLabel('Your password').fill('woodlouse tea')
  bytes = 0
  const began = Date.now()
  await phone.page.getByRole('button', { name: 'Sign in' }).click()
  while (!(await phone.meta('epoch'))) await pause(20)
  const usable = (await none('firstLoad')) - began
  const usableBytes = bytes
  const count = () => phone.page.evaluate(counted)
  const recent = await count()
  await phone.page.goto(`${server.url}/#/room`)
  const again = Date.now()
  await phone.page.getByRole('button', { name: 'Fetch all of them' }).click()
  const complete = (await none('load')) - again
  clearInterval(weigh)
  const all = await count()
  if (all !== HISTORY) throw new Error(`${all} of ${HISTORY} entries are on the phone`)
  await phone.close()
  await server.stop()
  left.push(phone.profile, server.data)
  return { usable, usableBytes, recent, complete, bytes, peak }
}

async function twenty() {
  const server = await Server.start()
  const token = await room(server)
  const times = []
  let failed = 0
  await Promise.all(
    Array.from({ length: 20 }, async (_, device) => {
      let cursor = 0
      let epoch = ''
      for (let turn = 0; turn < 30; turn++) {
        const entries = Array.from({ length: 5 }, (_, i) => water(device * 1e6 + turn * 100 + i, Date.now()))
        const began = performance.now()
        try {
          ;({ cursor, epoch } = await server.exchange(token, { device: id(device), cursor, epoch, entries }))
        } catch {
          failed += 1
        }
        times.push(performance.now() - began)
      }
    }),
  )
  await server.stop()
  left.push(server.data)
  times.sort((a, b) => a - b)
  return { p50: times[times.length >> 1], p99: times[Math.floor(times.length * 0.99)], failed, exchanges: times.length }
}

/** The least of a few times: whatever else the machine does only ever adds. */
async function best(once) {
  const times = []
  for (let round = 0; round < ROUNDS; round++) times.push(await once())
  return Math.min(...times)
}

const wanted = (name) => only.length === 0 || only.includes(name)
try {
  if (wanted('drain')) {
    const limit = await best(async () => Number(execFileSync(`${results}plain`, ['limit', folder(), String(COUNT)], { encoding: 'utf8' })))
    say(`${COUNT} entries: the limit, one SQLite transaction`, seconds(limit))
    const files = await withDrainAlone()
    const runs = []
    const first = await best(async () => (runs.push(await ours(files, alone)), runs.at(-1)[0]))
    const again = Math.min(...runs.map((run) => run[1]))
    say(`${COUNT} entries: ours, from a cold phone to acknowledged`, seconds(first), `${(first / limit).toFixed(1)} x the limit`)
    say(`${COUNT} entries: all offered again, nothing written`, seconds(again), `${(again / first).toFixed(2)} of the first`)
    if (process.env.ALONE) process.exit(0)
    const whole = await best(async () => (await ours(files, withTheApp))[0])
    say(`${COUNT} entries: ours, with the whole app starting`, seconds(whole), `${(whole / limit).toFixed(1)} x the limit`)
    const replicated = await best(pouch)
    say(`${COUNT} entries: PouchDB to pouchdb-server`, seconds(replicated), `ours is ${(replicated / first).toFixed(1)} x as fast`)
    const plains = []
    const single = await best(async () => (plains.push(await plain()), plains.at(-1)[0]))
    const batch = Math.min(...plains.map((run) => run[1]))
    say(`${COUNT} entries: PocketBase, one by one`, seconds(single), `ours is ${(single / first).toFixed(1)} x as fast`)
    say(`${COUNT} entries: PocketBase, batches of 50`, seconds(batch), `ours is ${(batch / first).toFixed(1)} x as fast`)
  }
  if (wanted('load')) {
    const { usable, usableBytes, recent, complete, bytes, peak } = await firstLoad()
    const mb = (n) => `${(n / 1e6).toFixed(1)} MB`
    say(`first load of ${HISTORY} entries: usable with ${recent}`, seconds(usable), mb(usableBytes))
    say(`first load of ${HISTORY} entries: the rest`, seconds(complete), `${mb(bytes)} in all`)
    say('first load: most memory of the page and its workers', mb(peak))
  }
  if (wanted('twenty')) {
    const { p50, p99, failed, exchanges } = await twenty()
    say(`20 devices at once, ${exchanges} exchanges: p50 and p99`, `${p50.toFixed(0)} / ${p99.toFixed(0)} ms`, `${failed} failed`)
  }
} finally {
  for (const one of left) rmSync(one, { recursive: true, force: true, maxRetries: 5 })
}
process.exit(process.exitCode ?? 0)
