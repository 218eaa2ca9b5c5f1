import assert from 'node:assert/strict'
import { EXAMPLE } from './beginnings.mjs'
import { refusedCamera } from './camera.mjs'
import { test } from './runner.mjs'
import { audit, refuse, screens, tooWide } from './screens.mjs'

const LONGEST_MS = 600_000 // many screens, on a busy machine
const errors = (phone) =>
  phone.said.filter((line) => /^error/.test(line) && !/Failed to load resource|ERR_/.test(line))

/** The screens in two parts, so that two can be looked through at a time. */
const PARTS = [
  ['round and rack', (all) => all.slice(0, first(all, 'Bin'))],
  ['bin and all others', (all) => all.slice(first(all, 'Bin'))],
]
const first = (all, name) => all.findIndex((screen) => screen.name === name)

test(
  'the first page in every light and size: accessible, and no wider than the screen',
  async (house) => {
    const phone = await house.phone(await house.server())
    const { page } = phone
    const found = []
    await page.emulateMedia({ reducedMotion: 'reduce' }) // colours are measured, not what lies between two
    const begin = page.getByRole('button', { name: 'Set up my room' })
    await begin.waitFor()
    found.push(...(await audit(page, 'Welcome')))
    await begin.click()
    found.push(...(await audit(page, 'setting up')))
    assert.deepEqual([...found, ...errors(phone)], [])
  },
  LONGEST_MS,
)

for (const [part, of] of PARTS) {
  test(
    `every screen of ${part}, in every light and size, with large text and on its side: accessible, and no wider than the screen`,
    async (house) => {
      const { phone, page } = await house.begin(EXAMPLE, { flags: refusedCamera })
      const found = []
      await page.emulateMedia({ reducedMotion: 'reduce' })
      await refuse(phone)
      for (const { name, open, leave } of of(screens(phone))) {
        await open()
        found.push(...(await audit(page, name)))
        await leave()
      }
      assert.deepEqual([...found, ...errors(phone)], [])
    },
    LONGEST_MS,
  )

  test(
    `every screen of ${part} opens with the server stopped`,
    async (house) => {
      const { server, phone, page } = await house.begin(EXAMPLE, { flags: refusedCamera })
      await server.stop()
      await page.reload()
      await page.locator('.stops a').first().waitFor()
      const found = []
      for (const { name, open, leave } of of(screens(phone))) {
        await open()
        found.push(...(await tooWide(page, name)))
        await leave()
      }
      assert.deepEqual([...found, ...errors(phone)], [])
    },
    LONGEST_MS,
  )
}

const ANDROID =
  'Mozilla/5.0 (Linux; Android 14; Phone) AppleWebKit/537.36 (KHTML, like Gecko) Mobile Safari/537.36'

test(
  'the first evening in every light and size: no bin, the first steps, the offers after a round, and the door again',
  async (house) => {
    const server = await house.server()
    const phone = await house.phone(server, [`--user-agent=${ANDROID}`])
    const { page } = phone
    const found = []
    await page.emulateMedia({ reducedMotion: 'reduce' })
    await phone.setUp()
    found.push(...(await audit(page, 'no bins yet')))
    const bin = await phone.addBin({ name: 'Pied pillbugs' })
    await page.goto(`${server.url}/#/`)
    await page.getByRole('heading', { name: 'The first evening' }).waitFor()
    found.push(...(await audit(page, 'the first steps')))
    const sheet = await phone.atStop(bin)
    await phone.more(sheet)
    await phone.feed(sheet, 'Carrot')
    await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
    await page.keyboard.press('Escape')
    await page.getByRole('heading', { name: 'Keep it at hand' }).waitFor()
    await page.getByRole('button', { name: 'Yes, remind me' }).waitFor()
    found.push(...(await audit(page, 'the offers after a round')))
    await page.getByRole('button', { name: 'Understood' }).click()
    await page.getByRole('heading', { name: 'Keep it at hand' }).waitFor({ state: 'detached' })

    await phone.allSent()
    await page.goto(`${server.url}/#/room`)
    await page.getByRole('button', { name: 'Sign out of this device' }).click()
    await page.getByRole('button', { name: 'Sign out of this device' }).click()
    await page.getByRole('heading', { name: 'Sign in to your room' }).waitFor()
    found.push(...(await audit(page, 'signing in')))
    assert.deepEqual([...found, ...errors(phone)], [])
  },
  LONGEST_MS,
)

test('a round by keyboard alone', async (house) => {
  const { page } = await house.begin(EXAMPLE)
  const active = () => page.evaluate(() => document.activeElement?.textContent?.trim() ?? '')
  const tabTo = async (wanted) => {
    for (let i = 0; i < 80; i++) {
      await page.keyboard.press('Tab')
      if (wanted.test(await active())) return
    }
    assert.fail(`no way by Tab to ${wanted}`)
  }
  await page.reload()
  await page.locator('.stops a').first().waitFor()
  await page.locator('body').press('Tab')
  assert.equal(await active(), 'Skip to the page')
  await page.keyboard.press('Enter')
  await tabTo(/^(Start|Go on) at/)
  await page.keyboard.press('Enter')
  const sheet = page.getByRole('dialog')
  await sheet.getByRole('heading').first().waitFor()
  assert.ok(await page.evaluate(() => document.querySelector('dialog').contains(document.activeElement)))
  const first = await sheet.getByRole('heading').first().textContent()
  await page.keyboard.press('l')
  await sheet.getByRole('button', { name: 'Looked in, all well', pressed: true }).waitFor()
  await page.keyboard.press('n')
  await page.waitForFunction((was) => document.querySelector('dialog h2')?.textContent !== was, first)
  await page.keyboard.press('Escape')
  await sheet.waitFor({ state: 'detached' })

  await page.keyboard.press('k')
  await page.getByRole('heading', { name: 'Rack', level: 1 }).waitFor()
  await tabTo(/^Move bins/)
  await page.keyboard.press('Enter')
  await tabTo(/\d-2/)
  await page.keyboard.press('Enter')
  await page.getByText('is in your hand').waitFor()
  const inHand = await page.evaluate(() => document.activeElement.dataset.bin)
  await page
    .getByRole('button', { name: /^Put it at the right end/ })
    .last()
    .focus()
  await page.keyboard.press('Enter')
  await page.getByText('now stands at').waitFor()
  assert.equal(await page.evaluate(() => document.activeElement.dataset.bin), inHand)
  await page.keyboard.press('Enter')
  await page.getByText('is in your hand').waitFor()
  await page.keyboard.press('Escape')
  await page.keyboard.press('Escape')
  await page.keyboard.press('?')
  await page.getByRole('heading', { name: 'Shortcuts' }).waitFor()
  await page.keyboard.press('Escape')
  await page.getByRole('heading', { name: 'Shortcuts' }).waitFor({ state: 'detached' })
})
