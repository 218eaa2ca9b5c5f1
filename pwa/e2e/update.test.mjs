import assert from 'node:assert/strict'
import { appendFileSync, cpSync, mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { test, until } from './runner.mjs'
import { dist } from './server.mjs'

test('a new version waits for the word of the person, and a half-filled form outlives its arrival', async (house) => {
  const files = mkdtempSync(join(tmpdir(), 'underlog-dist-'))
  cpSync(dist, files, { recursive: true })
  const server = await house.server({ files })
  const phone = await house.phone(server)
  await phone.setUp()
  await phone.worker()
  const { page } = phone
  await page.reload() // from here on the worker is in charge of the page
  await page.goto(`${server.url}/#/bin/new`)
  await page.getByLabel('Name', { exact: true }).fill('Half a na')

  appendFileSync(join(files, 'sw.js'), '\n// another version\n')
  await server.stop()
  await server.start() // the server reads its files anew
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).update())
  await until('the new version waits', () =>
    page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).waiting !== null),
  )
  assert.equal(await page.getByLabel('Name', { exact: true }).inputValue(), 'Half a na')

  // A tap while it waits is kept by the version in charge.
  const bin = await phone.addBin({ name: 'Pied pillbugs' })
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  await until('it is kept', async () => (await phone.all('entries')).length === 1)
  await page.goto(`${server.url}/#/`)
  await page.getByText('A new version is ready.').first().waitFor()
  await page.evaluate(() => (window.before = true))
  await page.getByRole('button', { name: 'Use it' }).click()
  await until('the page has been loaded anew', () =>
    page.evaluate(() => window.before === undefined).catch(() => false),
  )
  await until('no version waits', () =>
    page
      .evaluate(async () => (await navigator.serviceWorker.getRegistration()).waiting === null)
      .catch(() => false),
  )
  await page.getByRole('heading').first().waitFor()
  assert.equal((await phone.all('entries')).length, 1)
  await phone.allSent()
  assert.equal((await server.everything(await phone.meta('token'))).entries.length, 1)
})
