import assert from 'node:assert/strict'
import { ONE_BIN } from './beginnings.mjs'
import { test, until } from './runner.mjs'

/** What the forecast says about the damp side, as the screens read it. */
async function forecast(phone, bin) {
  const outcome = await phone.page.evaluate(
    (id) =>
      new Promise((resolve) => {
        const open = indexedDB.open('underlog-scratch')
        open.onsuccess = () => {
          const row = open.result.transaction('kept').objectStore('kept').get('survey')
          row.onsuccess = () => {
            const survey = row.result?.value
            resolve({
              glance: survey?.glances.find((one) => one.bin === id),
              chores: survey?.chores.filter((one) => one.bin === id),
            })
            open.result.close()
          }
        }
      }),
    bin,
  )
  return outcome
}

test('with the server stopped a watering and a feeding are kept, move the windows, and arrive once', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  const before = await until('a first forecast', async () => {
    const found = await forecast(phone, bin)
    return found.glance && found
  })

  await server.stop()
  let sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await sheet.getByRole('group', { name: 'Damp side feels' }).getByRole('button', { name: 'dry' }).click()
  await sheet.getByRole('button', { name: /^Gave / }).click()
  await phone.feed(sheet, 'Melon')
  await until('three entries are kept', async () => (await phone.all('entries')).length === 3)

  const stillThere = async () => {
    const entries = await phone.all('entries')
    assert.deepEqual(entries.map((entry) => entry.what).sort(), ['feed', 'feel', 'water'])
    assert.equal(await phone.unsent(), 3)
    await phone.page.goto(`${server.url}/#/`)
    await phone.page.getByText('3 entries kept on this device').first().waitFor()
    return until('the windows have moved', async () => {
      const after = await forecast(phone, bin)
      return after.glance?.last_watered && after.chores.some((chore) => chore.chore === 'leftovers') && after
    })
  }
  await phone.page.reload()
  const after = await stillThere()
  assert.ok(!before.chores.some((chore) => chore.chore === 'leftovers'))
  assert.equal(after.glance.food[0].food, 'melon')
  assert.ok(after.glance.damp.mean > before.glance.damp.mean - 0.5)
  const feel = (found) => found.chores.find((chore) => chore.chore === 'feel')
  assert.notEqual(feel(after)?.due, feel(before)?.due)

  await phone.close()
  await phone.open()
  await stillThere()
  await phone.crash() // a flat battery
  await phone.open()
  await stillThere()

  // The server's first answers get lost on the way: what it has stored is offered again, and known again.
  let lost = 0
  await phone.context.route('**/api/underlog/exchange', async (route) => {
    if (lost === 2) return route.continue()
    // The phone also tries while the server is still away: that loses no answer.
    const stored = await route.fetch().catch(() => null)
    if (stored?.ok()) lost += 1
    return route.abort().catch(() => undefined)
  })
  await server.start()
  await phone.allSent()
  assert.equal(lost, 2)
  const { entries } = await server.everything(await phone.meta('token'))
  assert.deepEqual(entries.map((entry) => entry.what).sort(), ['feed', 'feel', 'water'])
  assert.equal((await phone.all('entries')).length, 3)
})

test('two tabs and the service worker send everything once', async (house) => {
  const { server, phone, bin } = await house.begin(ONE_BIN)
  const second = await phone.context.newPage()
  await second.goto(`${server.url}/#/`)
  await server.stop()
  const sheet = await phone.atStop(bin)
  await sheet.getByRole('button', { name: 'Looked in, all well' }).click()
  await second.getByText('1 entry kept on this device').first().waitFor() // the other tab sees it at once
  let offered = 0
  // Answered ones: while the server is on its way up, each tab may have tried in vain.
  phone.context.on('response', (response) => {
    const request = response.request()
    if (request.url().endsWith('/exchange') && request.postData()?.includes('"look"')) offered += 1
  })
  await server.start()
  await phone.allSent()
  const { entries } = await server.everything(await phone.meta('token'))
  assert.equal(entries.length, 1)
  assert.ok(offered <= 2, `offered ${offered} times`)
})

test('without signal the app starts from nothing but itself', async (house) => {
  const server = await house.server()
  const phone = await house.phone(server)
  await phone.setUp()
  await phone.addBin({ name: 'Pied pillbugs' })
  await phone.allSent()
  await phone.worker()
  await phone.page.goto(`${server.url}/#/`)
  await phone.context.setOffline(true)
  await phone.page.getByText('No signal.').first().waitFor()
  await phone.page.goto(`${server.url}/#/rack`)
  await phone.page.reload()
  await phone.page.getByText('Pied pillbugs').first().waitFor()
  const status = await phone.page.evaluate(() =>
    fetch('/api/underlog/welcome').then(
      () => 'answered',
      () => 'failed',
    ),
  )
  assert.equal(status, 'failed', 'an answer of the server is never made up')
})
