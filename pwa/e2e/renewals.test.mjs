import assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { EXAMPLE, ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'

test('a renewal is moved and the plan kept with the server stopped, and the server hears of it', async (house) => {
  const { server, phone, page } = await house.begin(EXAMPLE)
  await server.stop()
  await page.evaluate(() => (location.hash = '#/rack'))
  await page.getByRole('link', { name: 'Renewals' }).click()
  await page.getByText(/never more than one in a week/).waitFor()

  // By hand into another week: there it stays.
  const block = page.locator('button.block').nth(1)
  const code = (await block.textContent()).trim()
  await block.click()
  const column = page.getByRole('button', { name: new RegExp(`^Move ${code} to the week of`) })
  const target = (await column.nth(6).getAttribute('aria-label')).replace(/.*the week of /, '')
  await column.nth(6).click()
  const moved = page.getByRole('button', { name: new RegExp(`^${code}, .*, week of ${target}$`) })
  await moved.waitFor()
  await until('the focus is on what was moved', () => moved.evaluate((at) => at === document.activeElement))

  await page.getByRole('button', { name: 'Keep this plan' }).click()
  await page.getByText('The plan is kept').waitFor()
  await page.getByRole('button', { name: 'Keep this plan' }).waitFor({ state: 'detached' })
  const planned = async () => {
    const rows = await phone.all('sheets')
    return rows.filter((row) => row.sheet === 'bins' && row.fields.renew_on?.v)
  }
  const bins = (await phone.all('sheets')).filter((row) => row.sheet === 'bins')
  await until('every bin has its week', async () => (await planned()).length === bins.length)
  assert.equal((await planned()).filter((row) => row.fields.renew_moved?.v === true).length, 1)

  // Another start, still without a server: the plan stands.
  await page.reload()
  await moved.waitFor()
  await server.start()
  await phone.allSent()

  // Young that were seen are told under More…, and taken back.
  const sheet = await phone.atStop(bins[0].id)
  await phone.more(sheet)
  await sheet.getByRole('button', { name: 'Saw young' }).click()
  await until('it is kept', async () => (await phone.all('entries')).some((row) => row.what === 'young'))
  await phone.allSent()
})

test('a renewal leads to its new label, and a sheet for all bins is printed from the rack', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)
  const sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await sheet.getByRole('button', { name: 'Renewed it' }).click()
  await sheet.getByRole('link', { name: 'Print its new label' }).click()
  await page.getByText('W1-1').waitFor()
  const made = async () => {
    await page.getByRole('button', { name: 'Make the sheet' }).click()
    const saving = page.waitForEvent('download')
    await page.getByRole('link', { name: 'Save the sheet (PDF)' }).click()
    const saved = await saving
    assert.equal(saved.suggestedFilename(), 'labels.pdf')
    assert.equal(
      readFileSync(await saved.path())
        .subarray(0, 5)
        .toString(),
      '%PDF-',
    )
  }
  await made()

  await page.evaluate(() => (location.hash = '#/rack'))
  await page.getByRole('link', { name: 'Labels' }).click()
  await page.getByLabel('Label paper by its measures').check()
  await page.getByLabel('Labels side by side').fill('4')
  await page.getByRole('button', { name: 'Make the sheet' }).click()
  await page.getByText(/4 columns reach to .* mm/).waitFor()
  await page.getByLabel('Labels side by side').fill('3')
  await made()

  await server.stop()
  await page.getByRole('button', { name: 'Make the sheet' }).click()
  await page.getByText('it does not answer now').waitFor()
})
