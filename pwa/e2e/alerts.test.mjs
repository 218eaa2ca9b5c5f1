import assert from 'node:assert/strict'
import { ONE_BIN } from './beginnings.mjs'
import { leftoversIn, mustGetPush, mustHaveFedBin } from './push.mjs'
import { test, until } from './runner.mjs'

test('the day after a feeding the alert comes, names bin, place and food, and its button settles it', async (house) => {
  const { server, phone, bin, fed } = await mustHaveFedBin(house)
  const messages = await mustGetPush(server)
  const text = leftoversIn(messages)
  assert.ok(text.length < 1024)

  const [shown] = await phone.push(text)
  assert.equal(shown.title, 'Check leftover food')
  assert.match(shown.body, /W2-3/)
  assert.match(shown.body, /Pied pillbugs/)
  assert.match(shown.body, /melon/i)
  assert.deepEqual(
    shown.actions.map((one) => one.title),
    ['All gone', 'Took it out'],
  )

  await phone.press('all-gone')
  await phone.allSent()
  const { entries } = await server.everything(await phone.meta('token'))
  const settled = entries.filter((entry) => entry.what === 'leftovers')
  assert.equal(settled.length, 1)
  assert.equal(settled[0].of, fed.id)
  assert.equal(settled[0].bin, bin)
  assert.equal(settled[0].left, 'all gone')
  assert.deepEqual(await phone.notifications(), [])
})

test('the button works with the server stopped, and the entry follows', async (house) => {
  const { server, phone, fed } = await mustHaveFedBin(house)
  const messages = await mustGetPush(server)
  await server.stop()
  await phone.push(leftoversIn(messages))
  await phone.press('all-gone')
  const kept = await until('the entry is kept', async () =>
    (await phone.all('entries')).find((entry) => entry.what === 'leftovers'),
  )
  assert.equal(kept.of, fed.id)
  assert.equal(await phone.unsent(), 1)
  await server.start()
  await phone.allSent()
  const { entries } = await server.everything(await phone.meta('token'))
  assert.equal(entries.filter((entry) => entry.what === 'leftovers').length, 1)
})

test('a tap on the notification opens the stop; a message that nobody understands still shows something', async (house) => {
  const { phone, bin } = await house.begin(ONE_BIN)
  for (const message of ['{"version":99}', 'not even JSON', '']) {
    const [shown] = await phone.push(message)
    assert.equal(shown.title, 'Underlog')
    assert.match(shown.body, /wants a look/)
  }

  const notification = {
    title: 'Check leftover food',
    body: 'W1-1',
    tag: 'leftovers-x',
    navigate: `/#/alert?of=x&in=${bin}`,
    data: { sort: 'leftovers', at: 1 },
  }
  await phone.push(JSON.stringify({ web_push: 8030, notification }))
  // The browser lets only a real tap open or focus windows; what the page does with the word is tested here.
  const worker = await phone.worker()
  await worker.evaluate(() => {
    WindowClient.prototype.focus = async function () {
      return this
    }
  })
  await phone.press('')
  await phone.page.waitForURL(`**/#/alert?of=x&in=${bin}`)
})
