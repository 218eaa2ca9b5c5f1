import assert from 'node:assert/strict'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'
import { barriers } from './screens.mjs'

const LOOKS = 24

/** Waters and, days later, feels a bin, so often that its forecasts have a record. */
async function keepForMonths(server, token, bin) {
  const words = ['damp', 'dry', 'barely']
  const device = 'e'.repeat(32)
  await server.advance('1h') // the forecast of a bin of which nothing is known
  for (let i = 0; i < LOOKS; i++) {
    const { now } = await server.order('GET', '/now')
    const id = (n) => `${String(2 * i + n).padStart(8, '0')}${'0'.repeat(24)}`
    const entries = [
      { id: id(0), bin, at: now, what: 'feel', feel: words[i % 3] },
      { id: id(1), bin, at: now, what: 'water', water_ml: 30 },
    ]
    const { verdicts } = await server.exchange(token, { device, entries })
    assert.deepEqual([...new Set(verdicts.map((one) => one.verdict))], ['stored'])
    await server.advance('1h') // the forecast after the dose
    await server.advance(`${40 + 7 * (i % 5)}h`)
  }
}

test('the forecasts are scored by the looks, and the score is there without signal', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)
  await page.goto(`${server.url}/#/bin/${bin}`)
  await page.getByText('Not enough looks yet: 0 of 20.').first().waitFor()

  await keepForMonths(server, await phone.meta('token'), bin)
  await page.reload()
  const sentence = page.getByText(/^Of the \d+ looks? called \d+\s% dry, \d+\s% were\.$/)
  await sentence.waitFor()
  await until('it is kept', () => phone.meta('honesty'))
  const { room, bins } = await phone.meta('honesty')
  assert.equal(room.dry.n, LOOKS)
  assert.deepEqual(bins[bin], room)
  assert.equal(
    room.dry.tenths.reduce((sum, tenth) => sum + tenth.n, 0),
    room.dry.n,
  )

  for (const light of ['day', 'dusk', 'red']) {
    await page.evaluate((name) => (document.documentElement.dataset.light = name), light)
    const section = page.locator('section', { has: page.getByText('Are the forecasts any good?') })
    await section.getByText('Damp side feels dry as a table').click()
    assert.equal(await section.getByRole('row').count(), 1 + room.dry.tenths.length)
    if (process.env.PICTURES) await section.screenshot({ path: `${process.env.PICTURES}/${light}.png` })
    assert.deepEqual(
      await barriers(page, light, { where: 'section:has(.diagonal)', contrastOnly: light !== 'day' }),
      [],
    )
    await section.getByText('Damp side feels dry as a table').click()
  }

  await server.stop()
  await page.goto(`${server.url}/#/room`)
  await page.reload()
  await sentence.waitFor()
})
