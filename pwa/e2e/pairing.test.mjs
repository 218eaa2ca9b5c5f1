import assert from 'node:assert/strict'
import decodeQR from 'qr/decode.js'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'
import { barriers } from './screens.mjs'

const LIGHTS = ['day', 'dusk', 'red']

/** Nothing that an accessibility checker finds, in every light. */
async function mustBeAccessible(page, where, picture) {
  for (const light of LIGHTS) {
    await page.evaluate((name) => (document.documentElement.dataset.light = name), light)
    if (process.env.PICTURES)
      await page.screenshot({ path: `${process.env.PICTURES}/${picture}-${light}.png` })
    assert.deepEqual(await barriers(page, light, { where, contrastOnly: light !== 'day' }), [])
  }
  await page.evaluate(() => (document.documentElement.dataset.light = 'day'))
}

/** What a camera reads from a picture. */
async function mustDecode(page, picture) {
  const pixels = await page.evaluate(async (base64) => {
    const bytes = Uint8Array.from(atob(base64), (char) => char.charCodeAt(0))
    const image = await createImageBitmap(new Blob([bytes], { type: 'image/png' }))
    const canvas = new OffscreenCanvas(image.width, image.height).getContext('2d')
    canvas.drawImage(image, 0, 0)
    const { data, width, height } = canvas.getImageData(0, 0, image.width, image.height)
    return { data: [...data], width, height }
  }, picture.toString('base64'))
  return decodeQR({ ...pixels, data: Uint8ClampedArray.from(pixels.data) })
}

/** Has the owner's screen show a code, and answers it with its link. */
async function mustShowCode(phone, whom, name) {
  const { page } = phone
  await page.goto(`${phone.server.url}/#/room`)
  await page.getByRole('button', { name: 'Show a code' }).click()
  const sheet = page.getByRole('dialog', { name: 'Let a phone in' })
  if (whom) await sheet.getByLabel('Who will use it?').selectOption({ label: whom })
  if (name) await sheet.getByLabel('Their name').fill(name)
  await sheet.getByRole('button', { name: 'Make the code' }).click()
  const link = await mustDecode(page, await sheet.getByRole('img').first().screenshot())
  const code = (await sheet.locator('.typed').innerText()).split(/\s/).at(-1)
  assert.equal(link, `${phone.server.url}/#/pair/${code}`)
  return { sheet, code, link }
}

test('a second phone is signed in by scanning the code of the first', async (house) => {
  const { server, phone: first, bin } = await house.begin(ONE_BIN)
  const { sheet, link } = await mustShowCode(first)
  await sheet.getByText('signed in as you').waitFor()
  await mustBeAccessible(first.page, 'dialog', 'code')

  const second = await house.phone(server, [], link.replace(server.url, ''))
  await second.page.getByRole('heading', { name: 'Sign in with a code' }).waitFor()
  await mustBeAccessible(second.page, 'main', 'claim')
  await second.page.getByRole('button', { name: 'Sign in' }).click()
  await second.page.getByRole('navigation').first().waitFor()
  assert.equal(new URL(second.page.url()).hash, '#/')
  assert.equal((await second.meta('person')).name, 'Ada')
  await until('the bins have come', async () => (await second.all('sheets')).some((one) => one.id === bin))
  await first.page.getByText('A phone is signed in as Ada.').waitFor()

  // The link is worthless now, also to whoever finds it in a history.
  const third = await house.phone(server, [], link.replace(server.url, ''))
  await third.page.getByRole('heading', { name: 'Sign in with a code' }).waitFor()
  await third.page.getByRole('button', { name: 'Sign in' }).click()
  await third.page.getByText('This code is not good any more').waitFor()
  assert.equal(await third.meta('person'), undefined)
})

test('a helper comes in by typing a code, and what they log is theirs', async (house) => {
  const { server, phone: first, bin } = await house.begin(ONE_BIN)
  const { code } = await mustShowCode(first, 'A new helper', 'Kim')

  const second = await house.phone(server)
  await second.page.getByRole('link', { name: 'Sign in with a code' }).click()
  await second.page.getByLabel('The code').fill(code.toLowerCase().replace('-', ''))
  await second.page.getByRole('button', { name: 'Sign in' }).click()
  await second.page.getByRole('navigation').first().waitFor()
  const person = await second.meta('person')
  assert.deepEqual([person.name, person.role], ['Kim', 'helper'])
  await until('the bins have come', async () => (await second.all('sheets')).some((one) => one.id === bin))
  const stop = await second.atStop(bin)
  await stop.getByRole('button', { name: 'Looked in, all well' }).click()
  await until('it is kept', async () => (await second.all('entries')).some((one) => one.what === 'look'))
  await second.allSent()
  const { entries } = await server.everything(await first.meta('token'))
  assert.equal(entries.find((entry) => entry.what === 'look').by, person.id)

  // A helper lets in only themselves: there is nothing to choose.
  await second.page.goto(`${server.url}/#/room`)
  await second.page.getByRole('button', { name: 'Show a code' }).click()
  await second.page.getByText('signed in as you').waitFor()
  assert.equal(await second.page.getByRole('heading', { name: 'Sensors of the air' }).count(), 0)
})

test('a sensor gets its key once, logs with the line that is shown, and is shut out again', async (house) => {
  const { server, phone, page } = await house.begin(ONE_BIN)
  await page.goto(`${server.url}/#/room`)
  const section = page.locator('section', { has: page.getByRole('heading', { name: 'Sensors of the air' }) })
  await section.getByText('There is none yet.').waitFor()
  await section.getByRole('button', { name: 'Add a sensor' }).click()
  await section.getByLabel('What is it called?').fill('Shelf')
  await section.getByRole('button', { name: 'Make its key' }).click()
  const line = await section.locator('pre').innerText()
  if (process.env.PICTURES) await section.screenshot({ path: `${process.env.PICTURES}/sensor.png` })
  await mustBeAccessible(page, 'section:has(pre)', 'sensor')

  const post = async () => {
    const [, header, body, url] = /^curl -H "(.+)" -d '(.+)' (\S+)$/.exec(line)
    const [name, value] = header.split(': ')
    return (await fetch(url, { method: 'POST', headers: { [name]: value }, body })).status
  }
  assert.equal(await post(), 201)
  await until('the reading has come', async () =>
    (await phone.all('entries')).some((entry) => entry.what === 'climate' && entry.by === 'Shelf'),
  )

  await section.getByRole('button', { name: 'I have put it away' }).click()
  await page.reload()
  await section.getByText(/Shelf/).waitFor()
  assert.ok(!(await page.content()).includes('underlog-sensor-'), 'the key is shown again')
  await section.getByRole('button', { name: 'Take back the key of Shelf' }).click()
  await section.getByRole('button', { name: 'Take back', exact: true }).last().click()
  await section.getByText('There is none yet.').waitFor()
  assert.equal(await post(), 401)
})
