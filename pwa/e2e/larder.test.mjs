import assert from 'node:assert/strict'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'

test('without signal a batch is gathered, heated, used in three bins and traced both ways; a doubtful one says so', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)
  const bins = [bin]
  for (const [i, name] of ['Amber', 'Snow'].entries())
    bins.push(await phone.addBin({ name, position: i + 2 }))
  await phone.allSent()
  await server.stop()

  // From an empty larder: a batch, gathered and heated.
  await page.goto(`${server.url}/#/`)
  await page.reload()
  await page.getByRole('navigation').getByRole('link', { name: 'Larder' }).click()
  await page.getByText('Gather leaves, write down where and when').waitFor()
  await page.getByRole('link', { name: 'Leaves' }).click()
  await page.getByLabel('Tree').fill('Oak')
  await page.getByLabel('Where from').fill('The old quarry')
  await page.getByText('Think twice').waitFor()
  await page
    .getByRole('group', { name: 'Was it sprayed?' })
    .getByRole('button', { name: 'no', exact: true })
    .click()
  await page.getByRole('button', { name: /^half an hour at/ }).click()
  await page.getByText('Think twice').waitFor({ state: 'detached' })
  await page.getByLabel('How much').fill('12')
  await page.getByRole('button', { name: 'Keep it' }).click()
  await page.getByRole('link', { name: /Leaves 1.*About 12/ }).waitFor()

  // Leaves that nobody heated.
  await page.getByRole('link', { name: 'Leaves', exact: true }).click()
  await page.getByLabel('Tree').fill('Maple')
  await page.getByLabel('How much').fill('400')
  await page.getByRole('button', { name: 'Keep it' }).click()
  await page.getByRole('link', { name: /Leaves 2.*Think twice/ }).waitFor()

  for (const bin of bins) {
    const sheet = await phone.atStop(bin)
    await phone.more(sheet)
    const from = sheet.getByRole('group', { name: 'From' })
    await from.getByRole('button', { name: 'Leaves 2' }).click()
    await sheet.getByText('Only leaves from known, unsprayed').waitFor()
    await from.getByRole('button', { name: 'Leaves 1' }).click()
    await sheet.getByRole('button', { name: 'Added', exact: true }).click()
    await until('it is kept', async () =>
      (await phone.all('entries')).some((row) => row.bin === bin && row.batch === 'leaves 1'),
    )
  }

  // The one used last lies first, without a touch.
  const sheet = await phone.atStop(bins[0])
  await phone.more(sheet)
  await sheet
    .getByRole('group', { name: 'From' })
    .getByRole('button', { name: 'Leaves 1', pressed: true })
    .waitFor()

  // From the batch to its bins, with when it runs out; another start in between.
  await page.goto(`${server.url}/#/larder`)
  await page.reload()
  await page.getByRole('heading', { name: 'What runs out' }).waitFor()
  await page.locator('.chart').getByRole('link', { name: 'Leaves 1' }).waitFor()
  await page.getByRole('link', { name: /Leaves 1.*left/ }).click()
  await page.getByText(/Runs out about/).waitFor()
  await page.getByText('3 bins').waitFor()

  // From a bin to its batch.
  await page.getByRole('link', { name: /Amber/ }).click()
  const wentIn = page.locator('section', { hasText: 'What went in' })
  await wentIn.getByText(/^In the 60 days before/).click()
  await wentIn.getByText('2 other bins got it too').waitFor()
  await wentIn
    .getByRole('link', { name: /Leaves 1/ })
    .first()
    .click()
  await page.getByRole('heading', { name: 'Leaves 1', level: 1 }).waitFor()

  // A look in the box corrects the sums.
  const left = page.getByText(/^About .* left/)
  const before = await left.textContent()
  await page.getByRole('button', { name: 'nearly out' }).click()
  await until('the look counts', async () => (await left.textContent()) !== before)

  await server.start()
  await page.evaluate(() => window.dispatchEvent(new Event('online')))
  await phone.allSent()
  const all = await server.everything(await phone.meta('token'))
  const batches = all.sheets.filter((one) => one.sheet === 'batches')
  assert.deepEqual(batches.map((one) => one.fields.slug.v).sort(), ['leaves 1', 'leaves 2'])
  assert.equal(all.entries.filter((one) => one.batch === 'leaves 1').length, 3)
  assert.equal(all.entries.filter((one) => one.what === 'larder' && one.found === 'nearly out').length, 1)
})

test('food and supplies are put in with a few touches, a mix is made and mixed again', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)
  await page.goto(`${server.url}/#/larder`)
  await page.getByRole('link', { name: 'Food', exact: true }).click()
  await page.getByRole('button', { name: 'Carrot' }).click()
  await page.getByRole('button', { name: 'in a week' }).click()
  await page.getByRole('button', { name: 'Keep it' }).click()
  await page.getByRole('link', { name: /Carrot.*About 4.*Use by/ }).waitFor()

  await page.getByRole('link', { name: 'Supply' }).click()
  await page.getByRole('button', { name: 'calcium' }).click()
  await page.getByRole('button', { name: 'two months' }).click()
  await page.getByRole('button', { name: 'Keep it' }).click()
  await page
    .getByRole('link', { name: /Cuttlebone/ })
    .last()
    .click()
  await page.getByRole('button', { name: 'Took one' }).click()
  await page.getByText('Took one: Cuttlebone').waitFor()
  await page.getByRole('button', { name: 'Undo' }).click()
  await until('it is struck', async () => (await phone.all('entries')).some((row) => row.what === 'strike'))

  await page.goto(`${server.url}/#/larder/mixes/new`)
  await page.getByLabel('Ingredient').fill('Flake soil')
  await page.getByLabel('Parts').fill('3')
  await page.getByRole('button', { name: 'Another ingredient' }).click()
  await page.getByLabel('Ingredient').nth(1).fill('Leaf mould')
  await page.getByLabel('How much in all').fill('99999999')
  await page.getByRole('button', { name: 'Keep it' }).click()
  await page.getByText('How much in all is 99999999: give a number from 0 to 10000 litres.').waitFor()
  await page.getByLabel('How much in all').fill('20')
  await page.getByRole('button', { name: 'Keep it' }).click()
  await page
    .getByRole('link', { name: /House mix/ })
    .last()
    .click()
  await page.getByText('75 %').waitFor()
  await page.getByRole('button', { name: 'Mix it again' }).click()
  await page.getByRole('button', { name: 'Keep it' }).click()
  await until('there are two', async () => {
    const mixes = (await phone.all('sheets')).filter((row) => row.sheet === 'mixes')
    return mixes.length === 2 && new Set(mixes.map((row) => row.fields.slug.v)).size === 2
  })

  const sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await sheet
    .getByRole('group', { name: 'With' })
    .getByRole('button', { name: 'House mix', pressed: true })
    .waitFor()
  await sheet.getByRole('button', { name: 'Renewed it' }).click()
  await until('the renewal names it', async () =>
    (await phone.all('entries')).some((row) => row.what === 'renew' && row.mix?.startsWith('house mix')),
  )
  await phone.allSent()
})
