import assert from 'node:assert/strict'
import { ONE_BIN_IN_THE_EVENING } from './beginnings.mjs'
import { test, until } from './runner.mjs'

test('a whole shelf is fed with the server stopped, taken back, fed again, and looked at the day after', async (house) => {
  const { server, phone, page } = await house.begin(ONE_BIN_IN_THE_EVENING)
  const names = ['Slate pillbugs', 'Chalkbacks', 'Dwarf whites', 'Moss woodlice']
  const bins = []
  for (const [i, name] of names.entries()) bins.push(await phone.addBin({ name, position: i + 1 }))
  await phone.allSent()
  await server.stop()

  // Food lies in the first: nothing goes on top of it.
  const sheet = await phone.atStop(bins[0])
  await phone.feed(sheet, 'Melon')
  await until('the melon is kept', async () =>
    (await phone.all('entries')).some((row) => row.food === 'melon'),
  )

  await page.evaluate(() => (location.hash = '#/rack'))
  await page.getByRole('link', { name: 'Feed West, shelf 1' }).click()
  await page.getByText(/^Look first: melon/).waitFor()
  const board = page.locator('.board li')
  await board.first().waitFor()

  // One bin gets more, one another food, one nothing.
  await page.getByRole('button', { name: 'Change W1-2' }).click()
  await page.getByLabel('Food', { exact: true }).selectOption('carrot')
  await page.getByText('Your choice').waitFor()
  const more = page.getByRole('button', { name: 'More pieces' })
  await more.click()
  await more.click()
  await page.getByText('4 pieces of carrot').waitFor()
  await page.getByRole('button', { name: 'Change W1-4' }).click()
  await page.getByRole('button', { name: 'Leave it out' }).click()
  await page.getByText('Left out.').waitFor()

  const fedNow = async () => {
    const rows = await phone.all('entries')
    const struck = new Set(rows.filter((row) => row.what === 'strike').map((row) => row.struck))
    return rows.filter((row) => row.what === 'feed' && !struck.has(row.id))
  }
  const meals = async () => (await fedNow()).filter((row) => !/bone|shell/.test(row.food))
  const once = async () => {
    await page.getByRole('button', { name: 'All fed: 2 bins' }).click()
    await page.getByText('2 bins are fed').waitFor()
    await until('both are kept', async () => (await meals()).length === 3)
  }
  await once()
  const carrot = (await meals()).find((row) => row.food === 'carrot' && row.bin === bins[1])
  assert.equal(carrot.pieces, 4)
  // Calcium was never given: it goes along, also where food lies.
  assert.ok((await fedNow()).some((row) => /bone|shell/.test(row.food) && row.bin === bins[1]))
  const arrived = new Set((await fedNow()).filter((row) => row.food !== 'melon').map((row) => row.arrived))
  assert.equal(arrived.size, 1, 'one transaction')

  await page.getByRole('button', { name: 'Undo the feeding' }).click()
  await until('all of it is struck', async () => (await fedNow()).length === 1)
  await page.getByRole('button', { name: 'All fed: 2 bins' }).waitFor()
  await once()

  // For the day after there is a look, and nothing more is to be fed before it.
  await page.reload()
  await page.evaluate((id) => (location.hash = `#/bin/${id}`), bins[1])
  await page.getByText(/^Check leftover food.*tomorrow/).waitFor()
  await page.evaluate(() => (location.hash = '#/feeding?rack=West&shelf=1'))
  await until(
    'all that were fed wait for a look',
    async () => (await page.getByText(/^Look first/).count()) === 3,
  )

  await server.start()
  await page.evaluate(() => window.dispatchEvent(new Event('online')))
  await phone.allSent()
  const all = await server.everything(await phone.meta('token'))
  assert.equal(all.entries.filter((one) => one.food === 'carrot' && one.bin === bins[1]).length, 2)
  assert.ok(all.entries.some((one) => one.what === 'strike'))
})
