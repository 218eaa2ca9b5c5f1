import assert from 'node:assert/strict'
import { createHash } from 'node:crypto'
import { mkdtempSync, rmSync, truncateSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'
import { barriers } from './screens.mjs'

/** An abstract picture, made in the page: wide, red on the left and blue on the right, with noise so that it has some size. */
async function picture(page, { width = 2400, height = 1200, seed = 1 } = {}) {
  const base64 = await page.evaluate(
    async ([width, height, seed]) => {
      const canvas = new OffscreenCanvas(width, height)
      const pen = canvas.getContext('2d')
      const data = pen.createImageData(width, height)
      for (let i = 0, r = seed; i < data.data.length; i += 4) {
        r = (r * 1103515245 + 12345) & 0x7fffffff
        const x = (i / 4) % width
        const left = x < width / 2
        data.data.set([left ? 200 : 30, (r >> 16) & 127, left ? 30 : 200, 255], i)
      }
      pen.putImageData(data, 0, 0)
      const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.9 })
      const bytes = new Uint8Array(await blob.arrayBuffer())
      let text = ''
      for (let at = 0; at < bytes.length; at += 8192)
        text += String.fromCharCode(...bytes.subarray(at, at + 8192))
      return btoa(text)
    },
    [width, height, seed],
  )
  return Buffer.from(base64, 'base64')
}

/** The EXIF of a camera held upright (orientation 6), with a time and a place in it. */
function withExif(jpeg, time) {
  const tiff = Buffer.alloc(200)
  tiff.write('MM\0*', 0, 'latin1')
  tiff.writeUInt32BE(8, 4)
  tiff.writeUInt16BE(3, 8)
  const entry = (at, tag, type, count, value) => {
    tiff.writeUInt16BE(tag, at)
    tiff.writeUInt16BE(type, at + 2)
    tiff.writeUInt32BE(count, at + 4)
    if (type === 3) tiff.writeUInt16BE(value, at + 8)
    else tiff.writeUInt32BE(value, at + 8)
  }
  entry(10, 0x0112, 3, 1, 6) // orientation: turn right
  entry(22, 0x8769, 4, 1, 60) // the camera's own
  entry(34, 0x8825, 4, 1, 110) // the place
  tiff.writeUInt16BE(1, 60)
  entry(62, 0x9003, 2, 20, 80)
  tiff.write(`${time}\0`, 80, 'latin1')
  tiff.writeUInt16BE(1, 110)
  entry(112, 0x0001, 2, 2, 0x4e000000) // GPSLatitudeRef: N
  tiff.write('GPS-52.5163-13.3777', 140, 'latin1')
  const content = Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), tiff])
  const head = Buffer.from([0xff, 0xd8, 0xff, 0xe1, 0, 0])
  head.writeUInt16BE(content.length + 2, 4)
  return Buffer.concat([head, content, jpeg.subarray(2)])
}

const file = (buffer, name = 'photo.jpg', mimeType = 'image/jpeg') => ({ name, mimeType, buffer })

/** Hands a file to "Choose a photo" of a part of the page. */
async function choose(part, chosen) {
  await part.locator('input[type=file]:not([capture])').last().setInputFiles(chosen)
}

/** The bytes of the pictures on a phone. */
async function picturesOn(phone) {
  const rows = await phone.page.evaluate(
    () =>
      new Promise((resolve, reject) => {
        const open = indexedDB.open('underlog')
        open.onerror = () => reject(open.error)
        open.onsuccess = () => {
          const all = open.result.transaction('pictures').objectStore('pictures').getAll()
          all.onsuccess = () => {
            open.result.close()
            resolve(
              all.result.map((row) => {
                let text = ''
                const bytes = new Uint8Array(row.data)
                for (let at = 0; at < bytes.length; at += 8192)
                  text += String.fromCharCode(...bytes.subarray(at, at + 8192))
                return { ...row, data: btoa(text) }
              }),
            )
          }
        }
      }),
  )
  return rows.map((row) => ({ ...row, data: Buffer.from(row.data, 'base64') }))
}

async function onServer(server, phone, name) {
  const response = await fetch(`${server.url}/api/underlog/photos/${name}`, {
    headers: { Authorization: await phone.meta('token') },
  })
  return { status: response.status, bytes: Buffer.from(await response.arrayBuffer()) }
}

async function slowDown(phone, bytesPerSecond) {
  const session = await phone.context.newCDPSession(phone.page)
  await session.send('Network.enable')
  await session.send('Network.emulateNetworkConditions', {
    offline: false,
    latency: 20,
    downloadThroughput: -1,
    uploadThroughput: bytesPerSecond,
  })
}

const sha = (bytes) => createHash('sha256').update(bytes).digest('hex')

test('a photo survives the server stopped in the middle and the app loaded anew, bare, and is seen by another', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)
  await page.goto(`${server.url}/#/bin/${bin}`)
  const part = page.locator('section', { has: page.getByRole('heading', { name: 'Photos' }) })
  await part.getByText('No photo yet').waitFor()
  await slowDown(phone, 200_000)
  const original = withExif(await picture(page), '2024:05:28 19:05:00')
  assert.match(original.toString('latin1'), /GPS-52/)
  await choose(part, file(original))
  await page.getByText('Photo of 28 May 2024 kept on this device').first().waitFor()

  // The words are sent, and part of the photo is; then the server stops.
  const [row] = await until('some of it is there', async () => {
    const rows = await phone.all('photos')
    return rows[0]?.offset > 0 && rows[0].state === 'waiting' && rows
  })
  assert.ok(row.bytes > 3 * 65_536, `a photo of ${row.bytes} bytes shows little`)
  assert.ok(row.bytes <= 600_000)
  await server.stop('SIGKILL')
  const [stopped] = await phone.all('photos')
  assert.equal(stopped.state, 'waiting')
  await page.reload()
  await part.getByRole('img').first().waitFor()
  await server.start()
  await until('it is sent', async () => (await phone.all('photos'))[0].state === 'sent', 60_000)

  // What is here and what is there: the same bytes, turned as taken, and nothing but a picture.
  const here = await picturesOn(phone)
  const full = here.find((one) => one.size === 'full')
  const there = await onServer(server, phone, row.name)
  assert.equal(there.status, 200)
  assert.equal(sha(there.bytes), row.name)
  assert.ok(there.bytes.equals(full.data))
  for (const { data } of here) assert.doesNotMatch(data.toString('latin1'), /Exif|GPS|52\.5163/)
  assert.doesNotMatch(there.bytes.toString('latin1'), /Exif|GPS|52\.5163/)
  const look = await page.evaluate(async (base64) => {
    const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0))
    const bitmap = await createImageBitmap(new Blob([bytes], { type: 'image/jpeg' }))
    const pen = new OffscreenCanvas(bitmap.width, bitmap.height).getContext('2d')
    pen.drawImage(bitmap, 0, 0)
    const at = (y) => [...pen.getImageData(bitmap.width / 2, y, 1, 1).data]
    return { width: bitmap.width, height: bitmap.height, top: at(50), bottom: at(bitmap.height - 50) }
  }, there.bytes.toString('base64'))
  assert.deepEqual([look.width, look.height], [800, 1600], 'it stands upright')
  assert.ok(look.top[0] > look.top[2], 'the left of the camera is on top: red')
  assert.ok(look.bottom[2] > look.bottom[0], 'and its right at the bottom: blue')

  // Another device sees it when it looks, and keeps it for days without signal.
  const other = await house.phone(server)
  await other.signIn()
  await other.page.goto(`${server.url}/#/bin/${bin}`)
  const name = /Pied pillbugs, 28 May 2024/
  await until('the other phone shows it', async () => {
    const shown = other.page.locator('figure').getByRole('img', { name })
    return (await shown.count()) > 0 && shown.first().evaluate((img) => img.naturalHeight === 1600)
  })
  const fetched = await until('it is kept there', async () => {
    const rows = await picturesOn(other)
    return rows.length === 2 && rows
  })
  assert.ok(fetched.find((one) => one.size === 'full').data.equals(full.data))
  const small = fetched.find((one) => one.size === 'small')
  assert.ok(small.bytes < 60_000, `the small one has ${small.bytes} bytes`)
  await other.worker()
  await server.stop()
  await other.page.reload()
  await until('it is shown without the server', async () =>
    other.page
      .locator('figure')
      .getByRole('img', { name })
      .first()
      .evaluate((img) => img.naturalHeight === 1600)
      .catch(() => false),
  )
})

test('photos at a stop, with an entry, then and now, and struck', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN)

  // At a stop: of the bin, and with what was just logged there. The same photo for both.
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  const same = withExif(await picture(page, { width: 300, height: 200 }), '2025:05:01 10:00:00')
  await sheet.getByRole('button', { name: 'Add a photo to: Looked in, all well' }).waitFor()
  await choose(sheet.locator('.look'), file(same))
  await until('it is kept', async () => (await phone.all('photos')).length === 1)
  await phone.more(sheet)
  await choose(sheet.getByRole('group', { name: 'Photos' }), file(same))
  await until('both entries are kept', async () => (await phone.all('entries')).length === 3)
  await choose(
    sheet.getByRole('group', { name: 'Photos' }),
    file(await picture(page, { width: 300, height: 200, seed: 9 })),
  )
  await until('one picture for two entries', async () => (await phone.all('photos')).length === 2)
  await until('all are sent', async () => (await phone.all('photos')).every((row) => row.state === 'sent'))
  const { entries } = await server.everything(await phone.meta('token'))
  const look = entries.find((entry) => entry.what === 'look')
  assert.equal(entries.filter((entry) => entry.what === 'photo' && entry.of === look.id).length, 1)
  assert.equal(new Set(entries.filter((entry) => entry.photo).map((entry) => entry.photo)).size, 2)

  const folder = mkdtempSync(join(tmpdir(), 'underlog-large-'))
  const large = join(folder, 'large.jpg')
  writeFileSync(large, '')
  truncateSync(large, 50_000_000)

  // What is no photo, each in a sentence, and nothing of it kept.
  await page.goto(`${server.url}/#/bin/${bin}`)
  const part = page.locator('section', { has: page.getByRole('heading', { name: 'Photos' }) })
  const before = (await phone.all('entries')).length
  for (const [bad, sentence] of [
    [file(Buffer.alloc(0)), /that file is empty/],
    [file(Buffer.from('no picture'), 'notes.jpg'), /cannot open that file as a picture/],
    [
      file(
        Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from('ftypheic'), Buffer.alloc(99)]),
        'a.heic',
        'image/heic',
      ),
      /cannot open HEIC/,
    ],
    [large, /50\u00a0MB. Choose one of at most/],
  ]) {
    await choose(part, bad)
    await part.getByRole('alert').filter({ hasText: sentence }).waitFor()
  }
  assert.equal((await phone.all('entries')).length, before)
  assert.equal((await phone.all('photos')).length, 2)

  rmSync(folder, { recursive: true })

  // Then and now, by keyboard.
  await part.getByRole('button', { name: 'Then and now' }).press('Enter')
  const compare = part.getByRole('group', { name: 'Then and now' })
  await compare
    .getByRole('img', { name: /1 May 2025/ })
    .first()
    .waitFor()
  await compare.getByLabel('Then', { exact: true }).waitFor()
  await compare.getByRole('button', { name: 'Slide over' }).press('Enter')
  const slider = compare.getByRole('slider', { name: 'How much of then is shown' })
  await slider.press('End')
  assert.equal(await slider.getAttribute('aria-valuetext'), 'Then on the left 100\u00a0%, now on the right')
  for (const light of ['day', 'dusk', 'red']) {
    await page.evaluate((light) => (document.documentElement.dataset.light = light), light)
    assert.deepEqual(await barriers(page, light, { contrastOnly: light !== 'day' }), [])
  }

  // A struck photo is shown no more, anywhere; its line stays.
  await part
    .getByRole('button', { name: /Look at: .*1 May 2025/ })
    .first()
    .click()
  await page.getByRole('button', { name: 'Strike this photo' }).click()
  await page.getByRole('button', { name: 'Strike this photo' }).click()
  await until('it is struck', async () =>
    (await phone.all('entries')).some((entry) => entry.what === 'strike'),
  )
  await phone.allSent()
  await page.goto(`${server.url}/#/notebook`)
  await page.getByText('Struck: the picture is gone.').first().waitFor()

  // Signing out with a photo that nobody else has warns first.
  await server.stop()
  await page.goto(`${server.url}/#/bin/${bin}`)
  await choose(part, file(await picture(page, { width: 300, height: 200, seed: 5 })))
  await page.getByText('Photo kept on this device').first().waitFor()
  await page.goto(`${server.url}/#/room`)
  await page
    .getByText(/1 photo waits on this device/)
    .first()
    .waitFor()
})
