import assert from 'node:assert/strict'
import { appendFileSync, cpSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'
import { dist } from './server.mjs'

const DAY = 86_400_000

test('a clock eight months fast is told, and does not keep a bin or an entry from being saved', async (house) => {
  const server = await house.server({ at: new Date(Date.now() - 240 * DAY).toISOString() })
  const phone = await house.phone(server)
  await phone.setUp()
  const bin = await phone.addBin({ name: 'Pied pillbugs' })
  await phone.page.goto(`${server.url}/#/`)
  await phone.page.getByText("This device's clock is 8 months fast.").first().waitFor()
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  await until('it is kept', async () => (await phone.all('entries')).length === 1)
  await phone.allSent()
  const { entries, sheets } = await server.everything(await phone.meta('token'))
  const { now } = await server.order('GET', '/now')
  assert.ok(Math.abs(Date.parse(entries[0].at) - Date.parse(now)) < 120_000, entries[0].at)
  const renewed = sheets.find((one) => one.id === bin).fields.substrate_renewed.v
  assert.ok(Date.parse(renewed) <= Date.parse(now), renewed)
})

/** A room on the server with entries of so many days, without a phone. */
async function roomWith(server, { days, perDay }) {
  const at = Date.parse((await server.order('GET', '/now')).now)
  const setup = await fetch(`${server.url}/api/underlog/setup`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({
      room: 'Cellar',
      name: 'Ada',
      password: 'woodlouse tea',
      time_zone: 'UTC',
      units: 'metric',
    }),
  })
  const { token } = await setup.json()
  const id = (n) => n.toString(16).padStart(32, '0')
  const { tub } = JSON.parse(readFileSync(new URL('../src/generated/limits.json', import.meta.url), 'utf8'))
  const bin = { ...tub, name: 'Pied pillbugs', rack: 'West', shelf: 1, position: 1, kind: 'porcellio-scaber' }
  delete bin.id
  const stamp = `${at.toString(16).padStart(12, '0')}-0000-room`
  const fields = Object.fromEntries(
    Object.entries(bin).flatMap(([name, v]) => (v === '' ? [] : [[name, { v, s: stamp }]])),
  )
  const sheets = [{ sheet: 'bins', id: id(1), fields }]
  const entries = []
  for (let day = 0; day < days; day++)
    for (let n = 0; n < perDay; n++)
      entries.push({
        id: id(1000 + entries.length),
        bin: id(1),
        at: new Date(at - day * DAY - n * 60_000 - 1000).toISOString(),
        what: n === 0 && day % 5 === 0 ? 'feel' : 'look',
        ...(n === 0 && day % 5 === 0 ? { feel: 'damp' } : {}),
      })
  for (let start = 0; start < entries.length; start += 499) {
    const page = entries.slice(start, start + 499)
    const answer = await server.exchange(token, {
      device: 'e'.repeat(32),
      sheets: start === 0 ? sheets : [],
      entries: page,
    })
    assert.ok(
      answer.verdicts.every((one) => one.verdict === 'stored'),
      JSON.stringify(answer.verdicts[0]),
    )
  }
  return { token, bin: id(1), entries: entries.length }
}

test('a new phone shows its progress and no forecast until the last 200 days are here, also when it is cut off', async (house) => {
  const server = await house.server()
  const made = await roomWith(server, { days: 400, perDay: 8 })
  const phone = await house.phone(server)
  const { page } = phone
  let pages = 0
  await phone.context.route('**/api/underlog/exchange', async (route) => {
    return pages++ >= 1 ? route.abort() : route.continue()
  })
  await page.getByLabel('Your name').fill('Ada')
  await page.getByLabel('Your password').fill('woodlouse tea')
  await page.getByRole('button', { name: 'Sign in' }).click()
  const bar = page.getByRole('progressbar', { name: 'Fetching the room' })
  await bar.waitFor()
  await page.getByText(/1,000 of 1,6\d\d entries/).waitFor()
  const survey = () =>
    page.evaluate(
      () =>
        new Promise((resolve) => {
          const open = indexedDB.open('underlog-scratch')
          open.onsuccess = () => {
            const { result } = open
            if (!result.objectStoreNames.contains('kept')) return resolve(undefined)
            const row = result.transaction('kept').objectStore('kept').get('survey')
            row.onsuccess = () => (resolve(row.result), result.close())
          }
        }),
    )
  await page.waitForTimeout(2000) // the engine has long loaded
  assert.equal(await survey(), undefined, 'a forecast from a part of the records')
  assert.equal(await page.getByText(/wants? you|all fine/i).count(), 0)
  // The app is closed in the middle, and goes on where it was.
  const had = (await phone.all('entries')).length
  assert.equal(had, 1000)
  await phone.close()
  await phone.open()
  await phone.page.getByRole('progressbar').or(phone.page.getByText('Pied pillbugs')).first().waitFor()
  await until('the recent entries are here', async () => !(await phone.meta('firstLoad')))
  const recent = (await phone.all('entries')).length
  assert.ok(recent > 1590 && recent < 1640, `${recent} entries`)
  await until('a forecast', async () => (await phone.page.getByRole('progressbar').count()) === 0)

  await phone.page.goto(`${server.url}/#/room`)
  await phone.page.getByText(/older entries are on the server/).waitFor()
  await phone.page.getByRole('button', { name: 'Fetch all of them' }).click()
  await until('everything is here', async () => (await phone.all('entries')).length === made.entries)
  await until('the offer goes', async () => (await phone.meta('load')) === undefined)
})

async function lookIn(phone, bin) {
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well', exact: true }).click()
}

/** Three entries, each from another question of the stop. */
async function answer(phone, bin) {
  const sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await sheet.getByRole('group', { name: 'Damp side feels' }).getByRole('button', { name: 'dry' }).click()
  await sheet.getByRole('button', { name: /^Gave / }).click()
  await phone.feed(sheet, 'Melon')
}

/** Every entry on this device, of which none was sent, is in the outbox, and nothing else is. */
async function mustBeWhole(phone) {
  const entries = (await phone.all('entries')).map((entry) => entry.id)
  const waiting = (await phone.all('outgoing')).filter((row) => row.sort === 'entry').map((row) => row.id)
  assert.deepEqual(entries.sort(), waiting.sort())
  return entries.length
}

test('a browser that cleared the storage is noticed, and the server gives back what it has', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  await lookIn(phone, bin)
  await phone.allSent()
  await server.stop()
  await answer(phone, bin)
  await until('they are kept', async () => (await phone.unsent()) === 3)
  const noted = () =>
    phone.page.evaluate(() => JSON.parse(localStorage.getItem('underlog-holds') ?? '{}').unsent)
  await until('that is noted', async () => (await noted()) === 3)
  const session = await phone.context.newCDPSession(phone.page)
  await session.send('Storage.clearDataForOrigin', {
    origin: server.url,
    storageTypes: 'indexeddb,cache_storage,service_workers',
  })
  await server.start()
  await phone.page.goto(`${server.url}/?again#/`)
  await phone.page.getByText('This browser has cleared the records').waitFor()
  await phone.page.getByText('3 records had not been sent').waitFor()
  await phone.signIn()
  await until('it is back', async () => (await phone.all('entries')).length === 1)
  await phone.page.goto(`${server.url}/#/rack`)
  await phone.page.getByText('Pied pillbugs').first().waitFor()
})

test('a full device says so, saves nothing by half, and goes on when there is room', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  // The browser asks for its quota once and then reckons for itself: it has to be small from the start.
  await phone.close()
  await phone.open('/api/health')
  const session = await phone.context.newCDPSession(phone.page)
  await session.send('Storage.overrideQuotaForOrigin', { origin: server.url, quotaSize: 1000 })
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  await phone.page
    .getByText(/The storage of this device is full/)
    .first()
    .waitFor()
  assert.equal((await phone.all('entries')).length, 0)
  assert.equal(await mustBeWhole(phone), 0)
  await phone.close()
  await phone.open()
  await lookIn(phone, bin)
  await until('it is kept', async () => (await phone.all('entries')).length === 1)
  await phone.allSent()
})

test('a tab that is killed in the middle of writing leaves a record whole or not at all', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  await server.stop()
  let kept = 0
  for (const pause of [0, 2, 5, 10, 20, 40]) {
    const sheet = await phone.atStop(bin)
    const session = await phone.context.newCDPSession(phone.page)
    await phone.more(sheet)
    const tap = sheet.getByRole('button', { name: /^Gave / }).click({ noWaitAfter: true })
    await Promise.race([tap, phone.page.waitForTimeout(200 + pause)])
    session.send('Page.crash').catch(() => undefined)
    const dead = phone.page
    phone.page = await phone.context.newPage()
    await tap.catch(() => undefined)
    await dead.close().catch(() => undefined)
    // The crash may take the service worker's process along: until the browser
    // has started it anew it asks the stopped server, and a person tries again.
    await until('the app starts', () =>
      phone.page.goto(`${server.url}/#/rack`).then(
        () => true,
        () => false,
      ),
    )
    await phone.page.getByText('Pied pillbugs').first().waitFor()
    const now = await mustBeWhole(phone)
    assert.ok(now === kept || now === kept + 1, `${now} records after ${kept}`)
    kept = now
  }
  await server.start()
  await phone.allSent()
  assert.equal((await server.everything(await phone.meta('token'))).entries.length, kept)
})

test('a new version that takes over while the outbox is on its way loses and doubles nothing', async (house) => {
  const files = mkdtempSync(join(tmpdir(), 'underlog-dist-'))
  cpSync(dist, files, { recursive: true })
  const { server, phone, bin } = await house.begin(ONE_BIN, { files })
  await phone.worker()
  const { page } = phone
  await page.reload() // from here on the worker is in charge of the page
  appendFileSync(join(files, 'sw.js'), '\n// another version\n')
  await server.stop()
  await answer(phone, bin)
  await until('all are kept', async () => (await phone.unsent()) === 3)
  // The first answers come so late that the page is gone by then.
  let held = 0
  await phone.context.route('**/api/underlog/exchange', async (route) => {
    if (held++ < 2) await new Promise((resolve) => setTimeout(resolve, 4000))
    const response = await route.fetch().catch(() => null)
    await (response ? route.fulfill({ response }) : route.abort()).catch(() => undefined)
  })
  await server.start()
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).update())
  await page.goto(`${server.url}/#/`)
  await page.evaluate(() => (window.before = true))
  await page.getByRole('button', { name: 'Use it' }).click()
  await until('the page has been loaded anew', () =>
    page.evaluate(() => window.before === undefined).catch(() => false),
  )
  await phone.allSent()
  assert.equal((await server.everything(await phone.meta('token'))).entries.length, 3)
  assert.equal((await phone.all('entries')).length, 3)
})

test('what waits in the outbox of a former version is sent by this one, and what was refused is there', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  await phone.worker()
  const { page } = phone
  await phone.context.route('**/api/underlog/exchange', (route) => route.abort())
  await answer(phone, bin)
  await until('all are kept', async () => (await phone.unsent()) === 3)
  await page.goto(`${server.url}/api/health`) // an answer of the server: nothing of the app runs
  await page.evaluate(asVersionThree)
  await phone.context.unroute('**/api/underlog/exchange')
  await page.goto(`${server.url}/#/`)
  await until('the outbox is of this version', async () => (await phone.all('outbox')).length === 0)
  await phone.allSent()
  const { entries } = await server.everything(await phone.meta('token'))
  assert.equal(entries.length, 3)
  await page.getByRole('link', { name: /1 entry needs a look/ }).click()
  await page.getByText('water_ml is 9000: give 1 to 2000 mL.').waitFor()
})

/** Runs in the page: makes of the local database one of version 3, in which the outbox was one table, and puts a refused entry into it. */
async function asVersionThree() {
  const STORES = {
    entries: [
      'id',
      '[bin+t]',
      '[what+t]',
      't',
      'struck',
      'arrived',
      'photo',
      '[bin+photo]',
      'batch',
      'mix',
      'item',
    ],
    sheets: ['[sheet+id]', 'sheet', 'arrived'],
    outbox: ['++position', 'id', 'state'],
    meta: ['key'],
    photos: ['name', 'state'],
    pictures: ['[name+size]', '[kept+usedAt+bytes]'],
  }
  const path = (text) => (text.startsWith('[') ? text.slice(1, -1).split('+') : text)
  const done = (request) =>
    new Promise((resolve, reject) => {
      request.onsuccess = () => resolve(request.result)
      request.onerror = () => reject(request.error)
    })
  const now = await done(indexedDB.open('underlog'))
  const read = (name) => done(now.transaction(name).objectStore(name).getAll())
  const rows = Object.fromEntries(
    await Promise.all(Object.keys(STORES).map(async (name) => [name, await read(name)])),
  )
  for (const { name: _, ...row } of await read('outgoing'))
    rows.outbox.push({ ...row, state: 'waiting', problems: [], sentence: '' })
  const id = 'e'.repeat(32)
  rows.outbox.push({
    ...rows.outbox[0],
    position: 0,
    id,
    record: { id, at: new Date().toISOString(), what: 'water', water_ml: 9000 },
    state: 'refused',
    problems: [{ field: 'water_ml', value: '9000', accepted: 'give 1 to 2000 mL' }],
    sentence: 'water_ml is 9000: give 1 to 2000 mL.',
  })
  now.close()
  await done(indexedDB.deleteDatabase('underlog'))
  const opening = indexedDB.open('underlog', 30)
  opening.onupgradeneeded = () => {
    for (const [name, [key, ...indexes]] of Object.entries(STORES)) {
      const options = key.startsWith('++')
        ? { keyPath: key.slice(2), autoIncrement: true }
        : { keyPath: path(key) }
      const store = opening.result.createObjectStore(name, options)
      for (const index of indexes) store.createIndex(index, path(index))
      for (const row of rows[name]) store.put(row)
    }
  }
  ;(await done(opening)).close()
}

test('an app that speaks an older version of the exchange says so, keeps everything, fetches its update and sends it then', async (house) => {
  const files = mkdtempSync(join(tmpdir(), 'underlog-dist-'))
  cpSync(dist, files, { recursive: true })
  const { server, phone, bin } = await house.begin(ONE_BIN, { files })
  await phone.worker()
  const { page } = phone
  await page.reload() // from here on the worker is in charge of the page
  await server.stop()
  await answer(phone, bin)
  await until('all are kept', async () => (await phone.unsent()) === 3)
  // The server learns another version meanwhile, and has the app that speaks it.
  appendFileSync(join(files, 'sw.js'), '\n// another version\n')
  const asked = []
  await phone.context.route('**/api/underlog/exchange', async (route) => {
    const body = JSON.parse(route.request().postData())
    asked.push(body.entries.length)
    await route.continue({ postData: JSON.stringify({ ...body, protocol: 0 }) })
  })
  await server.start()
  await page.goto(`${server.url}/#/`)
  await page.getByText('This app speaks version 0 of the exchange and the server version 1').first().waitFor()
  assert.equal(await phone.unsent(), 3)
  assert.equal((await server.everything(await phone.meta('token'))).entries.length, 0)
  // Nobody has to look for the new version: hearing of it was reason enough.
  await page.getByRole('button', { name: 'Use it' }).waitFor()
  await page.evaluate(() => (window.before = true))
  await phone.context.unroute('**/api/underlog/exchange')
  await page.getByRole('button', { name: 'Use it' }).click()
  await until('the page has been loaded anew', () =>
    page.evaluate(() => window.before === undefined).catch(() => false),
  )
  await phone.allSent()
  assert.equal((await server.everything(await phone.meta('token'))).entries.length, 3)
  assert.equal(await page.getByText('This app speaks version').count(), 0)
  assert.ok(asked.length > 0)
})

test('the hint of news works again after the server was away', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  const other = await house.phone(server)
  await other.signIn()
  await other.allSent()
  await phone.page.bringToFront()
  const news = async () => {
    const before = (await phone.all('entries')).length
    await lookIn(other, bin)
    // Well before the minute after which a phone without anything to send looks by itself.
    await until('the news has arrived', async () => (await phone.all('entries')).length > before, 15_000)
  }
  await news()
  await server.stop()
  await new Promise((resolve) => setTimeout(resolve, 5000))
  await server.start()
  // What the stream has failed once or twice is made good within the pauses that follow.
  await until(
    'the stream is open again',
    async () => (await server.order('GET', '/listeners')).count >= 2,
    30_000,
  )
  await news()
})

test('unsent records are saved to a file before signing out, and read back in after it', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  const { page } = phone
  await server.stop()
  await lookIn(phone, bin)
  await until('it is kept', async () => (await phone.unsent()) === 1)
  await page.goto(`${server.url}/#/room`)
  await page.getByRole('button', { name: 'Sign out of this device' }).click()
  await page.getByRole('button', { name: 'Sign out of this device' }).click()
  await page.getByText('1 record is not sent yet').waitFor()
  const [file] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save them as a file' }).click(),
  ])
  const path = join(tmpdir(), `underlog-unsent-${server.port}.jsonl`)
  await file.saveAs(path)
  await page.getByRole('button', { name: 'Sign out all the same' }).click()
  await until('the device is empty', async () => (await phone.unsent()) === 0)
  await server.start()
  await page.goto(`${server.url}/?again#/`)
  await phone.signIn()
  await page.goto(`${server.url}/#/room`)
  await page.getByLabel('Read saved records back in').setInputFiles(path)
  await page.getByText('1 record taken in').waitFor()
  rmSync(path)
  await phone.allSent()
  assert.equal((await server.everything(await phone.meta('token'))).entries.length, 1)
})

test('a lost phone is signed out from Room', async (house) => {
  const { server, phone } = await house.begin(ONE_BIN)
  const lost = await house.phone(server)
  await lost.signIn()
  await lost.allSent()
  await phone.page.goto(`${server.url}/#/room`)
  await phone.page.getByRole('heading', { name: 'Where everybody is signed in' }).waitFor()
  await phone.page
    .getByRole('button', { name: /^Sign out: / })
    .first()
    .click()
  await phone.page.getByRole('button', { name: 'Sign it out there?' }).click()
  await phone.page.getByText('Signed out. That device has to sign in again.').waitFor()
  await lost.page.goto(`${server.url}/?again#/`)
  await lost.page.getByText('Signed out.').first().waitFor()
})
