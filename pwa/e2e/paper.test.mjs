import assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { EXAMPLE } from './beginnings.mjs'
import { test, until } from './runner.mjs'
import { audit } from './screens.mjs'

const dayFromNow = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10)

/** The file that a touch hands over. */
async function saved(page, touch) {
  const [download] = await Promise.all([page.waitForEvent('download'), touch()])
  return readFileSync(await download.path())
}

test('a trip goes on paper and into calendars, and a withdrawn link is worth nothing', async (house) => {
  const { server, phone, page } = await house.begin(EXAMPLE)
  const found = []
  await page.goto(`${server.url}/#/away`)
  await page.getByLabel('Leaving').fill(dayFromNow(1))
  await page.getByLabel('Back', { exact: true }).fill(dayFromNow(26))
  await page.getByRole('button', { name: 'Any day' }).click()
  await page.getByLabel('Who comes').fill('Next door')
  await page.getByLabel('Whom to call').fill('030 000')
  await page.getByRole('button', { name: 'Keep this trip' }).click()
  await page.getByRole('button', { name: 'Change the trip' }).waitFor()
  await phone.allSent()

  const paper = page.locator('section', { has: page.getByRole('heading', { name: 'On paper' }) })
  await paper.getByRole('button', { name: 'Make the sheet' }).click()
  const save = paper.getByRole('link', { name: 'Save the sheet (PDF)' })
  await save.waitFor()
  await paper.getByText(/^Ready to print: \d+ visits, \d+ bins/).waitFor()
  const pdf = await saved(page, () => save.click())
  assert.equal(pdf.subarray(0, 5).toString(), '%PDF-')

  const calendar = page.locator('section', { has: page.getByRole('heading', { name: 'In the calendar' }) })
  await calendar.getByRole('button', { name: 'A link for Next door' }).click()
  const address = (await calendar.locator('.address').innerText()).trim()
  const ask = async () => {
    const answer = await fetch(address)
    return { status: answer.status, text: (await answer.text()).replaceAll('\r\n ', '') }
  }
  const first = await ask()
  assert.equal(first.status, 200)
  const visits = first.text.match(/BEGIN:VEVENT/g).length
  assert.ok(visits > 0 && visits < 12, `${visits} visits`)
  assert.match(first.text, /SUMMARY:Visit to the bins \(Next door\): \d+ lid/)
  assert.match(first.text, /If something is wrong\\, call 030 000\./)
  found.push(...(await audit(page, 'a trip on paper and in the calendar')))

  await calendar.getByRole('button', { name: 'It is where it should be' }).click()
  await calendar.getByRole('button', { name: 'Withdraw the link for Next door' }).click()
  await calendar.locator('.note').getByRole('button', { name: 'Withdraw', exact: true }).click()
  await calendar.getByText('The link for Next door is withdrawn.').waitFor()
  assert.equal((await ask()).status, 404)

  await page.goto(`${server.url}/#/room`)
  const mine = page.locator('section', { has: page.getByRole('heading', { name: 'Your calendar' }) })
  await mine.getByRole('button', { name: 'Make a link' }).click()
  await mine.getByLabel('Where it is used').fill('desk computer')
  await mine.getByRole('button', { name: 'Make the link' }).click()
  const own = await fetch((await mine.locator('.address').innerText()).trim())
  assert.match(
    (await own.text()).replaceAll('\r\n ', ''),
    /SUMMARY:Round: \d+ bin[^]*SUMMARY:Visit to the bins/,
  )
  found.push(...(await audit(page, 'your calendar')))

  await server.stop()
  await page.goto(`${server.url}/#/away`)
  await page.reload()
  await calendar.getByRole('button', { name: /Save the visits as a file/ }).waitFor()
  await until(
    'the engine is there',
    async () => (await page.getByRole('heading', { name: 'Visits' }).count()) > 0,
  )
  const file = (
    await saved(page, () => calendar.getByRole('button', { name: /Save the visits as a file/ }).click())
  ).toString()
  assert.equal(file.match(/BEGIN:VEVENT/g).length, visits, 'the phone and the server plan the same visits')
  const uids = (text) => [...text.replaceAll('\r\n ', '').matchAll(/^UID:(.*)\r$/gm)].map(([, uid]) => uid)
  assert.deepEqual(uids(file), uids(first.text))
  assert.deepEqual(found, [])
})
