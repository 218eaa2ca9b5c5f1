import assert from 'node:assert/strict'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'

test('two devices see each other without being touched', async (house) => {
  const { server, phone: first, bin } = await house.begin(ONE_BIN)
  const second = await house.phone(server)
  await second.signIn()
  await second.page.goto(`${server.url}/#/bin/${bin}`)
  await second.page.getByRole('heading', { name: 'Pied pillbugs' }).first().waitFor()

  const sheet = await first.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  await until('the second device has it', async () =>
    (await second.all('entries')).some((entry) => entry.what === 'look'),
  )
  const other = await second.atStop(bin)
  await second.more(other)
  await second.feed(other, 'Melon')
  await until('the first device has it', async () =>
    (await first.all('entries')).some((entry) => entry.what === 'feed'),
  )
  const ids = async (phone) => (await phone.all('entries')).map((entry) => entry.id).sort()
  assert.deepEqual(await ids(first), await ids(second))
})

test('what the server refuses needs a look, holds up nothing, and can be dropped', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  await server.stop()
  // An entry of a bin that no server knows, as a damaged backup might bring it; the app's own forms make none such.
  await phone.page.evaluate(
    () =>
      new Promise((resolve, reject) => {
        const open = indexedDB.open('underlog')
        open.onsuccess = () => {
          const transaction = open.result.transaction(['entries', 'outgoing'], 'readwrite')
          const at = new Date().toISOString()
          const entry = { id: '0'.repeat(31) + '1', at, what: 'water', bin: 'b'.repeat(32), water_ml: 30 }
          transaction.objectStore('entries').put({ ...entry, t: Date.parse(at), arrived: 99, known: 0 })
          transaction.objectStore('outgoing').add({
            position: 999,
            name: entry.id,
            id: entry.id,
            sort: 'entry',
            record: entry,
            attempts: 0,
            since: at,
            correction: 0,
          })
          transaction.oncomplete = () => (open.result.close(), resolve())
          transaction.onerror = () => reject(transaction.error)
        }
      }),
  )
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  await until('both wait', async () => (await phone.unsent()) === 2)
  await server.start()
  await phone.allSent()

  const { entries } = await server.everything(await phone.meta('token'))
  assert.deepEqual(
    entries.map((entry) => entry.what),
    ['look'],
  )
  const { page } = phone
  await page.goto(`${server.url}/#/`)
  await page.getByRole('link', { name: /1 entry needs a look/ }).click()
  await page.getByRole('heading', { name: 'Needs a look' }).waitFor()
  const reason = await page.locator('.reason').innerText()
  assert.match(reason, /bin/)
  assert.match(reason, /b{10}/, 'the sentence names the value')
  await page.getByRole('button', { name: 'Drop', exact: true }).click()
  await page.getByRole('button', { name: 'Drop it' }).click()
  await page.getByText('Nothing was refused').waitFor()
  assert.equal((await phone.all('refused')).length, 0)
})

test('a session that ended keeps everything, and goes on after signing in', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  await phone.page.evaluate(
    () =>
      new Promise((resolve) => {
        const open = indexedDB.open('underlog')
        open.onsuccess = () => {
          const transaction = open.result.transaction('meta', 'readwrite')
          transaction.objectStore('meta').put({ key: 'token', value: 'no.such.session' })
          transaction.oncomplete = () => (open.result.close(), resolve())
        }
      }),
  )
  await phone.page.reload()
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  await phone.page.goto(`${server.url}/#/`)
  await phone.page
    .getByText(/Signed out\. 1 entry kept on this device/)
    .first()
    .waitFor()
  await phone.page.getByRole('link', { name: 'Sign in' }).first().click()
  await phone.signIn()
  await phone.allSent()
  const { entries } = await server.everything(await phone.meta('token'))
  assert.equal(entries.length, 1)
})
