import assert from 'node:assert/strict'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'
import { audit } from './screens.mjs'

const HOUR = 3_600_000
const before = (hours) => new Date(Date.now() - hours * HOUR).toISOString()
const id = (n) => `${String(n).padStart(8, '0')}${'c'.repeat(24)}`

/** Two meals that nobody touched, and a third that lies since yesterday. */
async function threeMeals(server, token, bin) {
  const entries = [8, 5, 1].flatMap((days, n) => [
    { id: id(10 * n), bin, at: before(24 * days), what: 'feed', food: 'carrot', pieces: 1 },
    ...(days > 1
      ? [
          {
            id: id(10 * n + 1),
            bin,
            at: before(24 * days - 23),
            what: 'leftovers',
            of: id(10 * n),
            left: 'untouched',
            mould: 'none',
            removed: true,
          },
        ]
      : []),
  ])
  const { verdicts } = await server.exchange(token, { device: 'e'.repeat(32), entries })
  assert.deepEqual([...new Set(verdicts.map((one) => one.verdict))], ['stored'])
  return id(20)
}

test('the third meal that is not touched tells of trouble, without signal', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)
  const third = await threeMeals(server, await phone.meta('token'), bin)
  await page.goto(`${server.url}/#/`)
  await page.reload()
  await until('the meals are here', async () => (await phone.all('entries')).length === 5)
  await page.goto(`${server.url}/#/bin/${bin}`)
  await page.getByRole('heading', { name: 'Pied pillbugs' }).waitFor()
  await page.locator('.chore').first().waitFor() // the forecast is there, and with it what may be wrong
  await server.stop()
  assert.equal(await page.getByRole('heading', { name: 'May be going wrong' }).count(), 0)

  const sheet = await phone.atStop(bin, third)
  const left = sheet.getByRole('group', { name: /^Carrot, in since/ })
  await left.getByRole('button', { name: 'untouched' }).click()
  await sheet.getByText('A sign to keep in mind: 3 meals running were not touched').waitFor()
  if (process.env.PICTURES) await page.screenshot({ path: `${process.env.PICTURES}/stop-sign.png` })
  await sheet.getByRole('link', { name: 'What may be behind it' }).click()
  const trouble = page.getByRole('region', { name: 'May be going wrong' })
  await trouble.getByText('they have enough').waitFor()
  assert.equal(await trouble.locator('.causes li').count(), 7)
  assert.ok((await trouble.locator('ol li').count()) >= 3)
  assert.deepEqual(await audit(page, 'a bin in trouble'), [])
  if (process.env.PICTURES)
    for (const light of ['day', 'dusk', 'red']) {
      await page.evaluate((name) => (document.documentElement.dataset.light = name), light)
      await page.screenshot({ path: `${process.env.PICTURES}/trouble-${light}.png`, fullPage: true })
    }

  await page.goto(`${server.url}/#/needs-a-look`)
  await page.getByRole('heading', { level: 1, name: 'Needs a look' }).waitFor()
  await page.getByText('3 meals running were not touched').waitFor()
  assert.deepEqual(await audit(page, 'needs a look'), [])

  // The look taken back takes the trouble back.
  await phone.atStop(bin)
  await page.goto(`${server.url}/#/notebook`)
  await page.getByText('Carrot: untouched').first().waitFor()
  const look = (await phone.all('entries')).find((row) => row.of === third)
  const row = page.locator('.row', { hasText: 'Carrot: untouched' }).first()
  await row.getByRole('button', { name: /^Photo or strike/ }).click()
  await row.getByRole('button', { name: /^Strike/ }).click()
  await until('it is struck', async () => (await phone.all('entries')).some((one) => one.struck === look.id))
  await page.goto(`${server.url}/#/bin/${bin}`)
  await until(
    'no sign is left',
    async () => (await page.getByRole('heading', { name: 'May be going wrong' }).count()) === 0,
  )
})

test('an escape leads to a look for ways out, without signal', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)
  await server.stop()

  const sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await sheet.getByRole('button', { name: 'Escaped ones' }).click()
  await sheet.getByRole('button', { name: 'More', exact: true }).click()
  await sheet.getByRole('button', { name: 'on the floor' }).click()
  const escaped = await until('two are kept, and where', async () => {
    const rows = await phone.all('entries')
    const struck = new Set(rows.map((row) => row.struck))
    const left = rows.filter((row) => row.what === 'seen' && !struck.has(row.id))
    return left.length === 1 && left[0].place === 'on the floor' && left[0]
  })
  assert.deepEqual([escaped.seen, escaped.count], ['escaped', 2])
  if (process.env.PICTURES) await page.screenshot({ path: `${process.env.PICTURES}/stop-seen.png` })
  assert.deepEqual(await audit(page, 'a stop with an escape'), [])

  await page.goto(`${server.url}/#/`)
  await page.reload()
  await page
    .getByText(/look for ways out/i)
    .first()
    .waitFor()
  await phone.atStop(bin)
  const ways = sheet.getByRole('group', { name: 'Ways out' })
  await ways.getByRole('group', { name: 'Lid' }).getByRole('button', { name: 'was ajar' }).click()
  await ways.getByText('Mend it now if you can').waitFor()
  await ways.getByRole('button', { name: 'All tight' }).click()
  await until('one check is left', async () => {
    const rows = await phone.all('entries')
    const struck = new Set(rows.map((row) => row.struck))
    const left = rows.filter((row) => row.what === 'escape' && !struck.has(row.id))
    return left.length === 1 && left[0].lid === 'shut'
  })
  await page.goto(`${server.url}/#/find`)
  await page.getByRole('searchbox').fill('floor')
  await page.getByText('Seen: escaped, about 2, on the floor').first().waitFor()

  await server.start()
  await phone.allSent()
  const all = await server.everything(await phone.meta('token'))
  assert.ok(all.entries.some((entry) => entry.what === 'escape' && entry.rim === 'clear'))
  assert.ok(all.entries.some((entry) => entry.seen === 'escaped' && entry.count === 2))
})

test('what an owner changes of a kind stays theirs, and an own kind can be kept', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)
  await server.stop()

  await page.goto(`${server.url}/#/bin/${bin}`)
  await page.getByRole('link', { name: 'Porcellio scaber' }).click()
  const heat = page.locator('.value', { hasText: 'Temperature' })
  await heat.getByText('15 to 26 °C').waitFor()
  await page.getByRole('link', { name: 'Change values' }).click()
  await page.getByLabel('Temperature, most').fill('10')
  await page.getByRole('button', { name: 'Save the kind' }).click()
  await page.getByText('temperature_max_c is 10: give at least temperature_min_c, 15.').waitFor()
  await page.getByLabel('Temperature, most').fill('23')
  assert.deepEqual(await audit(page, 'the form of a kind'), [])
  await page.getByRole('button', { name: 'Save the kind' }).click()
  await heat.getByText('Yours.').waitFor()
  await heat.getByText('15 to 23 °C').waitFor()
  await heat.getByText('Shipped as 15 to 26 °C').waitFor()
  assert.deepEqual(await audit(page, 'a kind'), [])
  if (process.env.PICTURES)
    for (const light of ['day', 'dusk', 'red']) {
      await page.evaluate((name) => (document.documentElement.dataset.light = name), light)
      await page.screenshot({ path: `${process.env.PICTURES}/kind-${light}.png`, fullPage: true })
    }

  // The server's next start offers what ships again, and the edit stays.
  await server.start()
  await phone.allSent()
  await server.stop()
  await server.start()
  await page.reload()
  await heat.getByText('15 to 23 °C').waitFor()
  const everything = await server.everything(await phone.meta('token'))
  const scaber = everything.sheets.find((one) => one.fields.slug?.v === 'porcellio-scaber')
  assert.equal(scaber.fields.temperature_max_c.v, 23)

  await page.goto(`${server.url}/#/kinds/new`)
  await page.getByLabel('Name', { exact: true }).fill('Attic ghosts')
  await page.getByRole('button', { name: 'Save the kind' }).click()
  await page.getByRole('heading', { name: 'Attic ghosts' }).waitFor()
  await page.goto(`${server.url}/#/bin/${bin}/edit`)
  await page.getByLabel('Kind', { exact: true }).selectOption({ label: 'Attic ghosts' })
  await page.getByRole('button', { name: 'Save the bin' }).click()
  await page.waitForURL((url) => !url.hash.endsWith('/edit'))
  await page.goto(`${server.url}/#/kinds`)
  const own = page.getByRole('link', { name: /Attic ghosts/ })
  await own.getByText('in 1 bin · yours').waitFor()
  assert.deepEqual(await audit(page, 'the kinds'), [])
  if (process.env.PICTURES)
    await page.screenshot({ path: `${process.env.PICTURES}/kinds.png`, fullPage: true })
})
