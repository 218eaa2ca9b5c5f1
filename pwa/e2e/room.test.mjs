import assert from 'node:assert/strict'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'

test('a room is set up, a bin added, and what is logged arrives', async (house) => {
  const server = await house.server()
  const phone = await house.phone(server)
  await phone.setUp({ room: 'Cellar' })
  const bin = await phone.addBin({ name: 'Pied pillbugs' })

  const sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await sheet.getByRole('group', { name: 'Damp side feels' }).getByRole('button', { name: 'dry' }).click()
  await sheet.getByRole('button', { name: /^Gave / }).click()
  await until('both are kept', async () => (await phone.all('entries')).length === 2)
  await phone.allSent()

  const all = await server.everything(await phone.meta('token'))
  assert.deepEqual(all.entries.map((entry) => [entry.what, entry.bin]).sort(), [
    ['feel', bin],
    ['water', bin],
  ])
  const kept = all.sheets.find((one) => one.id === bin)
  assert.equal(kept.fields.name.v, 'Pied pillbugs')
  assert.equal(all.sheets.find((one) => one.sheet === 'rooms').fields.name.v, 'Cellar')
})

test('a tap that is undone is struck, here and on the server', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  await sheet.getByRole('button', { name: /undo/i }).first().click()
  const entries = await until('a strike is kept', async () => {
    const rows = await phone.all('entries')
    return rows.some((row) => row.what === 'strike') && rows
  })
  const looked = entries.find((row) => row.what === 'look')
  assert.equal(entries.find((row) => row.what === 'strike').struck, looked.id)
  await phone.allSent()
  const all = await server.everything(await phone.meta('token'))
  assert.equal(all.entries.filter((entry) => entry.struck === looked.id).length, 1)
})

test('what is left is kept before anything is said about mould, and mould said afterwards corrects it', async (house) => {
  const { phone, bin } = await house.begin(ONE_BIN)
  let sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await phone.feed(sheet, 'Melon')
  const fed = await until('a feeding is kept', async () =>
    (await phone.all('entries')).find((row) => row.what === 'feed'),
  )
  sheet = await phone.atStop(bin, fed.id)
  await sheet.getByRole('button', { name: 'some left' }).click()
  const looks = async () => (await phone.all('entries')).filter((row) => row.what === 'leftovers')
  const [first] = await until('a look is kept', async () => ((await looks()).length === 1 ? looks() : false))
  assert.equal(first.left, 'some left')
  assert.equal('mould' in first, false)
  await sheet.getByRole('button', { name: 'specks' }).click()
  const strike = await until('the first is struck', async () =>
    (await phone.all('entries')).find((row) => row.what === 'strike'),
  )
  assert.equal(strike.struck, first.id)
  const second = (await looks()).find((row) => row.id !== first.id)
  assert.deepEqual([second.left, second.mould], ['some left', 'specks'])
})

test('the example room can be looked around in, and goes without a trace', async (house) => {
  const server = await house.server()
  const phone = await house.phone(server)
  const { page } = phone
  await page.getByRole('button', { name: 'Look around an example room' }).click()
  await page.getByText('Example room, all invented').waitFor({ timeout: 30_000 })
  await page.getByText(/\d+ bins want you/).waitFor({ timeout: 30_000 })
  assert.ok((await phone.all('entries')).length > 1000)

  await page.goto(`${server.url}/#/room`)
  await page.getByRole('button', { name: 'Remove the example' }).first().click()
  await page.getByRole('button', { name: 'Remove the example' }).last().click()
  await page.getByRole('button', { name: 'Set up my room' }).waitFor({ timeout: 30_000 })
  assert.equal((await phone.all('entries')).length, 0)
  assert.equal((await phone.all('sheets')).length, 0)
})

test('the first screen does not wait for the engine, and knows when there is none', async (house) => {
  const server = await house.server()
  const phone = await house.phone(server)
  await phone.setUp()
  await phone.addBin({ name: 'Pied pillbugs' })
  await phone.context.route('**/engine.wasm*', () => undefined) // never answered
  await phone.page.goto(`${server.url}/#/rack`)
  await phone.page.reload()
  await phone.page.getByText('Pied pillbugs').first().waitFor({ timeout: 5000 })
})
