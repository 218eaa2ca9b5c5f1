/**
 * The bin drawing in all its states, from the page that exists in development
 * only, against the pictures kept beside this file. UPDATE=1 draws them anew.
 */
import assert from 'node:assert/strict'
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { join } from 'node:path'
import { chromium } from 'playwright-core'
import { createServer } from 'vite'
import { CHROMIUM, FLAGS } from '../scripts/chromium.mjs'
import { test } from './runner.mjs'
import { light, LIGHTS } from './screens.mjs'
import { results } from './server.mjs'

const kept = fileURLToPath(new URL('./pictures/', import.meta.url))
const root = fileURLToPath(new URL('../', import.meta.url))

/**
 * The share of a picture that differs. Both are averaged over squares of 4
 * pixels first, so that the edges of letters and of lines, which differ from
 * one machine's fonts to another's, weigh little; a colour, a reach or a leaf
 * that is not where it was weighs all.
 */
function apart(page, one, other) {
  return page.evaluate(
    async ([one, other]) => {
      const small = async (data) => {
        const image = await createImageBitmap(await (await fetch(`data:image/png;base64,${data}`)).blob())
        const canvas = new OffscreenCanvas(Math.ceil(image.width / 4), Math.ceil(image.height / 4))
        const context = canvas.getContext('2d')
        context.imageSmoothingQuality = 'high'
        context.drawImage(image, 0, 0, canvas.width, canvas.height)
        return context.getImageData(0, 0, canvas.width, canvas.height)
      }
      const [a, b] = [await small(one), await small(other)]
      if (a.width !== b.width || Math.abs(a.height - b.height) > 2) return 1
      const length = Math.min(a.data.length, b.data.length)
      let differ = 0
      for (let i = 0; i < length; i += 4) {
        const most = Math.max(...[0, 1, 2].map((c) => Math.abs(a.data[i + c] - b.data[i + c])))
        if (most > 14) differ++
      }
      return differ / (length / 4)
    },
    [one, other],
  )
}

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
    mkdirSync(kept, { recursive: true })
    const wrong = []
    for (const size of ['large', 'small']) {
      for (const one of LIGHTS) {
        await light(page, one)
        const name = `drawings-${size}-${one}.png`
        const now = await page.locator(`.sheet.${size}`).screenshot({ scale: 'device' })
        const file = join(kept, name)
        if (process.env.UPDATE) {
          writeFileSync(file, now)
          continue
        }
        const share = await apart(page, readFileSync(file).toString('base64'), now.toString('base64'))
        if (share <= TOLERANCE) continue
        writeFileSync(join(results, name), now)
        wrong.push(`${name}: ${(100 * share).toFixed(2)} % differs; the new one is in test-results`)
      }
    }
    assert.deepEqual(wrong, [])
  } finally {
    await browser.close()
    await vite.close()
  }
})
