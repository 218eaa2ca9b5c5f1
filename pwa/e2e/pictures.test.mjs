/**
 * The bin drawing in all its states, from the page that exists in development
 * only, and the main screens of the example room on a fixed evening, against
 * the pictures kept beside this file.
 */
import assert from 'node:assert/strict'
import { fileURLToPath } from 'node:url'
import { chromium } from 'playwright-core'
import { createServer } from 'vite'
import { CHROMIUM, FLAGS } from '../scripts/chromium.mjs'
import { test } from './runner.mjs'
import { compare } from './pictures.mjs'
import { light, LIGHTS, lookAround, SIZES } from './screens.mjs'

const root = fileURLToPath(new URL('../', import.meta.url))

/** Of a sheet with 27 drawings, so much may differ: a tenth of one drawing. */
const TOLERANCE = 0.004

test('the bin drawing in all its states looks as it did', async () => {
  const vite = await createServer({
    root,
    server: { port: 0, host: '127.0.0.1', proxy: {} },
    logLevel: 'error',
  })
  await vite.listen()
  const browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
  try {
    const page = await browser.newPage({ viewport: { width: 1180, height: 900 }, deviceScaleFactor: 0.5 })
    await page.emulateMedia({ reducedMotion: 'reduce' })
    await page.goto(`http://127.0.0.1:${vite.httpServer.address().port}/#/drawings`)
    await page.getByRole('heading', { name: 'Drawings' }).waitFor({ timeout: 60_000 })
    // Letters are the machine's, not the drawing's.
    await page.addStyleTag({ content: 'figcaption, .label { visibility: hidden }' })
    const wrong = []
    for (const size of ['large', 'small']) {
      for (const one of LIGHTS) {
        await light(page, one)
        const now = await page.locator(`.sheet.${size}`).screenshot({ scale: 'device' })
        wrong.push(...(await compare(page, `drawings-${size}-${one}.png`, now, TOLERANCE)))
      }
    }
    assert.deepEqual(wrong, [])
  } finally {
    await browser.close()
    await vite.close()
  }
})

/** The moment of the pictures: a spring evening in UTC, the zone of the tests' phones. */
const EVENING = '2026-05-28T19:05:20Z'
/** Of a screen so much may differ: a button that moved by its own height is more. */
const SCREEN_TOLERANCE = 0.01
const SETTLE_MS = 400

/** The screen at half its size: small files, and enough to see what is where. */
async function half(page) {
  const session = await page.context().newCDPSession(page)
  const { width, height } = page.viewportSize()
  const clip = { x: 0, y: 0, width, height, scale: 0.5 }
  const { data } = await session.send('Page.captureScreenshot', { format: 'png', clip })
  await session.detach()
  return Buffer.from(data, 'base64')
}

test('the main screens look as they did', async (house) => {
  const server = await house.server({ at: EVENING, still: true })
  const phone = await house.phone(server)
  const { page } = phone
  const wrong = []
  // The system's letters differ from machine to machine and would wrap lines elsewhere: the app's own stand in for them.
  // The line about the server goes by this machine's clock.
  const dress = () =>
    page.evaluate(() => {
      document.documentElement.style.setProperty('--plain', 'Vollkorn')
      document.styleSheets[0].insertRule('.signal { display: none !important }')
    })
  const look = async (name, size, ...lights) => {
    await page.setViewportSize(size)
    for (const one of lights) {
      await light(page, one)
      await page.evaluate(() => document.fonts.ready)
      await page.waitForTimeout(SETTLE_MS)
      wrong.push(...(await compare(page, `${name}-${one}.png`, await half(page), SCREEN_TOLERANCE)))
    }
  }
  const at = (hash) => page.evaluate((hash) => (location.hash = hash), hash)
  const [small, , large] = SIZES

  await page.emulateMedia({ reducedMotion: 'reduce' })
  await dress()
  await page.getByRole('button', { name: 'Look around' }).waitFor()
  await look('first-page', small, 'day')
  await lookAround(phone)
  await phone.allSent()
  await look('round', small, ...LIGHTS)
  await page.locator('.begin a').last().click()
  await page.getByRole('dialog').getByRole('heading').first().waitFor()
  await look('stop', small, ...LIGHTS)
  await page.keyboard.press('Escape')
  await at('#/rack')
  await page.locator('.bins a svg').first().waitFor()
  await look('rack', small, 'day')
  const bin = await page.locator('.bins a').first().getAttribute('href')
  await at(bin)
  await page.locator('article figure svg .now').first().waitFor({ state: 'attached' }) // the fan, and so the engine
  await look('bin', small, 'day')
  await look('rack-and-bin', large, 'day')
  await at('#/notebook')
  await page.locator('.rows li').nth(20).waitFor()
  await look('notebook', small, 'day')
  await at('#/room')
  await page.getByText('About Underlog').waitFor()
  await look('room', small, 'day')
  assert.deepEqual(wrong, [])
})
