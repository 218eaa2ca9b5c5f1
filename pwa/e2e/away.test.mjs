import assert from 'node:assert/strict'
import { EXAMPLE } from './beginnings.mjs'
import { test, until } from './runner.mjs'
import { barriers } from './screens.mjs'

/** A day so many from now, as forms write it. */
const dayFromNow = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10)

test('without signal a trip is planned, tried otherwise, kept, and arrives', async (house) => {
  const { server, phone, page } = await house.begin(EXAMPLE)
  await server.stop()
  await page.goto(`${server.url}/#/away`)
  await page.reload()

  await page.getByLabel('Leaving').fill(dayFromNow(1))
  await page.getByLabel('Back', { exact: true }).fill(dayFromNow(26))
  const verdict = page.locator('section', { hasText: 'Will the room last?' })
  await verdict.getByText(/^Of \d+ bins|^All \d+ bins/).waitFor()
  await verdict.getByText('nobody can come in time').first().waitFor()

  await page.getByRole('button', { name: 'Any day' }).click()
  const visits = page.locator('section', { hasText: 'Visits' }).locator('details')
  await visits.first().waitFor()
  await until(
    'somebody can come in time',
    async () => (await verdict.getByText('nobody can come in time').count()) === 0,
  )
  await page.getByText('Bins that the trip is about').click()
  const ticks = page.locator('details', { hasText: 'Bins that the trip is about' }).getByRole('checkbox')
  const rackful = await ticks.count()
  await ticks.first().uncheck()
  await verdict.getByText(new RegExp(`^(Of|All) ${rackful - 1} bins`)).waitFor()
  assert.deepEqual(await barriers(page, 'the form of a trip'), [])

  await page.getByLabel('Who comes').fill('Next door')
  await page.getByRole('button', { name: 'Keep this trip' }).click()
  await page.getByRole('button', { name: 'Change the trip' }).waitFor()
  const strips = await page.getByRole('img', { name: /dried through before the return/ }).count()
  assert.ok(strips > 0, 'each bin has its strip of days')

  await page.reload()
  await page.getByRole('button', { name: 'Change the trip' }).waitFor()
  await visits.first().waitFor()
  const planned = await visits.count()

  await server.start()
  await page.evaluate(() => window.dispatchEvent(new Event('online')))
  await phone.allSent()
  const all = await server.everything(await phone.meta('token'))
  const trip = all.sheets.find((one) => one.sheet === 'trips')
  assert.equal(trip.fields.sitter.v, 'Next door')
  assert.equal(trip.fields.days.v.length, 25)
  assert.equal(trip.fields.bins.v.length, rackful - 1)
  assert.ok(planned > 0 && planned < 12, `${planned} visits in 25 days`)
})

test('a renewal that falls into a trip is moved out of its way from the round, and back', async (house) => {
  const { server, phone, page } = await house.begin(EXAMPLE)
  const plans = async () =>
    Object.fromEntries(
      (await phone.all('sheets'))
        .filter((row) => row.sheet === 'bins')
        .map((row) => [row.id, row.fields.renew_on?.v ?? '']),
    )
  await page.goto(`${server.url}/#/renewals`)
  await page.getByRole('button', { name: 'Keep this plan' }).click()
  await page.getByText('The plan is kept').waitFor()
  await until('every bin has its week', async () => Object.values(await plans()).every((on) => on !== ''))
  const before = await plans()

  const [leaves, returns] = [dayFromNow(6), dayFromNow(26)]
  const inTheWay = (on) => leaves <= on && on <= returns
  const some = Object.keys(before).filter((id) => inTheWay(before[id]))
  assert.ok(some.length > 0, 'one renewal a week, and three weeks away')
  await page.goto(`${server.url}/#/away`)
  await page.getByLabel('Leaving').fill(leaves)
  await page.getByLabel('Back', { exact: true }).fill(returns)
  await page.getByRole('button', { name: 'Keep this trip' }).click()
  await page.getByRole('button', { name: 'Change the trip' }).waitFor()

  await page.goto(`${server.url}/#/`)
  const way = page.getByRole('button', { name: /^Move (it|them) out of the way$/ })
  await way.waitFor()
  assert.deepEqual(await barriers(page, 'the round before a trip'), [])
  await way.click()
  await page.getByText(/moved out of the way of the trip/).waitFor()
  await way.waitFor({ state: 'detached' })
  const after = await plans()
  for (const id of Object.keys(before)) {
    assert.ok(!inTheWay(after[id]), `${id} is renewed on ${after[id]}`)
    if (!some.includes(id)) assert.equal(after[id], before[id], 'what is not in the way stays')
  }
  await page.getByRole('button', { name: 'Undo' }).click()
  await until('all is as it was', async () => JSON.stringify(await plans()) === JSON.stringify(before))
  await way.waitFor()
})
