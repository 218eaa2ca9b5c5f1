import assert from 'node:assert/strict'
import { join } from 'node:path'
import { ONE_BIN } from './beginnings.mjs'
import { cameraFlags, film } from './camera.mjs'
import { test, until } from './runner.mjs'
import { results } from './server.mjs'

/** Films the code that the page of a bin shows. */
async function filmCode(page, file) {
  const { size, path } = await page.evaluate(() => {
    const svg = document.querySelector('details figure svg')
    return { size: svg.viewBox.baseVal.width, path: svg.querySelector('path').getAttribute('d') }
  })
  const dark = new Set([...path.matchAll(/M(\d+) (\d+)h1/g)].map(([, x, y]) => `${x} ${y}`))
  assert.ok(dark.size > 100, 'a code is drawn')
  film(file, size, (x, y) => dark.has(`${x} ${y}`))
}

test('a label before the camera leads to its stop, and so does its place, without a server', async (house) => {
  const file = join(results, 'label.y4m')
  film(file, 10, () => false) // at first the camera sees a blank wall
  const begun = await house.begin(ONE_BIN, { flags: cameraFlags(file) })
  const { server, phone, page, bin: pied } = begun
  const orange = await phone.addBin({ name: 'Powder orange', position: 2 })
  await page.goto(`${server.url}/#/bin/${pied}`)
  await page.getByText('Its code').click()
  await page.getByRole('img', { name: /Code that opens the stop of W1-1/ }).waitFor()
  await filmCode(page, file)
  await phone.allSent()
  await server.stop()

  await page.reload() // from the service worker
  await page.goto(`${server.url}/#/`)
  await page.getByRole('link', { name: 'Scan' }).click()
  await page.getByRole('dialog').getByRole('heading', { name: 'Pied pillbugs' }).waitFor()
  assert.ok(page.url().endsWith(`#/stop/${pied}`), page.url())
  await until('the camera is let go', () => page.evaluate(() => !document.querySelector('video')))

  await page.goto(`${server.url}/#/scan`)
  await page.getByRole('dialog').getByRole('heading', { name: 'Pied pillbugs' }).waitFor() // it is still held there
  film(file, 10, () => false)
  await page.goto(`${server.url}/#/scan`)
  const place = page.getByLabel('Or type the place')
  await place.fill('w1-9')
  await page.getByRole('button', { name: 'Go to the stop' }).click()
  await page.getByText('No bin stands at w1-9.').waitFor()
  await place.fill('w1 2')
  await page.getByRole('button', { name: 'Go to the stop' }).click()
  await page.getByRole('dialog').getByRole('heading', { name: 'Powder orange' }).waitFor()
  assert.ok(page.url().endsWith(`#/stop/${orange}`), page.url())
})
