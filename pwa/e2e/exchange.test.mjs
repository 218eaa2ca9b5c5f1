import assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { test, until } from './runner.mjs'

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
