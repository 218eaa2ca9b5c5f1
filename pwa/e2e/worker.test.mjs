/** The service worker's own paths, in a real one: what it shows, says, counts and leads to. */
import assert from 'node:assert/strict'
import { ONE_BIN, ONE_BIN_IN_THE_EVENING } from './beginnings.mjs'
import { giveSubscription, leftoversIn, mustGetPush, mustHaveFedBin } from './push.mjs'
import { test, until } from './runner.mjs'
import { barriers, light, LIGHTS } from './screens.mjs'

/** Takes down in the worker what it does with the number on the app's sign, which a headless browser does not show. */
async function countSigns(phone) {
  const worker = await phone.worker()
  await worker.evaluate(() => {
    self.signs = []
    navigator.setAppBadge = async (count) => void self.signs.push(count)
    navigator.clearAppBadge = async () => void self.signs.push(0)
  })
  return () => worker.evaluate(() => self.signs)
}

/** The app is closed: a page of the same origin without it, from which the worker can be asked. */
async function closeApp(phone) {
  await phone.page.goto(`${phone.server.url}/api/underlog/welcome`)
}

const alert = ({ of, bin, more = {} }) =>
  JSON.stringify({
    web_push: 8030,
    notification: {
      title: 'Check leftover food',
      body: 'W2-3 Pied pillbugs: melon since yesterday 17:00',
      tag: `leftovers ${of.slice(0, 12)}`,
      navigate: `/#/alert?of=${of}&in=${bin}`,
      data: { sort: 'leftovers', at: Math.floor(Date.now() / 1000) },
      actions: [
        { action: 'all-gone', title: 'All gone', navigate: `/#/alert?of=${of}&in=${bin}&did=all-gone` },
      ],
    },
    ...more,
  })

async function lookedAt(server, phone, fed) {
  const token = await phone.meta('token')
  const { now } = await server.order('GET', '/now')
  const look = {
    id: 'a'.repeat(32),
    bin: fed.bin,
    at: now,
    what: 'leftovers',
    of: fed.id,
    left: 'all gone',
    mould: 'none',
  }
  const { verdicts } = await server.exchange(token, { device: 'd'.repeat(32), entries: [look] })
  assert.deepEqual(
    verdicts.map((one) => one.verdict),
    ['stored'],
    JSON.stringify(verdicts),
  )
}

test('an alert that was seen to on this phone without signal says that it is done, and rings for nobody', async (house) => {
  const { server, phone, bin, fed } = await mustHaveFedBin(house)
  const message = leftoversIn(await mustGetPush(server))
  await server.stop()
  await phone.page.goto(`${server.url}/#/alert?of=${fed.id}&in=${bin}`)
  await phone.page.getByRole('button', { name: 'All gone' }).click()
  await until('the look is kept', async () => (await phone.unsent()) === 1)

  const [shown] = await phone.push(message)
  assert.equal(shown.title, 'Done already: check leftover food')
  assert.deepEqual(shown.actions, [])
  assert.equal(shown.silent, true)
  assert.equal(shown.tag, JSON.parse(message).notification.tag)
  assert.equal((await phone.notifications()).length, 1)
})

test('an alert that was seen to on another phone: the worker learns it while it shows the alert', async (house) => {
  const { server, phone, fed } = await mustHaveFedBin(house)
  const message = leftoversIn(await mustGetPush(server))
  await closeApp(phone)
  await lookedAt(server, phone, fed)
  await phone.push(message)
  const [shown] = await until('the worker has learnt', async () => {
    const all = await phone.notifications()
    return all[0]?.title.startsWith('Done already') && all
  })
  assert.equal(shown.title, 'Done already: check leftover food')
  assert.equal((await phone.notifications()).length, 1)
})

test('an alert that is shown is taken back when its bin is seen to, also without signal', async (house) => {
  const { server, phone, bin, fed } = await mustHaveFedBin(house)
  const message = leftoversIn(await mustGetPush(server))
  await server.stop()
  const [shown] = await phone.push(message)
  assert.equal(shown.title, 'Check leftover food')
  await phone.page.goto(`${server.url}/#/alert?of=${fed.id}&in=${bin}`)
  await phone.page.getByRole('button', { name: 'Took it out' }).click()
  await until('the alert is taken back', async () => (await phone.notifications()).length === 0)
})

test('a subscription that the browser gave up is made anew, and the next alert comes to it', async (house) => {
  const { server, phone } = await mustHaveFedBin(house)
  const fresh = await server.order('POST', '/push/subscription')
  const { key } = await phone.page.evaluate(
    async (token) => {
      const answer = await fetch('/api/underlog/alerts?device=', { headers: { Authorization: token } })
      return answer.json()
    },
    await phone.meta('token'),
  )
  const before = await phone.meta('alertsConfirmedAt')
  const worker = await phone.worker()
  const asked = await worker.evaluate(async (given) => {
    const asked = []
    PushManager.prototype.getSubscription = async () => null
    PushManager.prototype.subscribe = async (options) => {
      asked.push(options)
      return { endpoint: given.endpoint, toJSON: () => given }
    }
    const event = new ExtendableEvent('pushsubscriptionchange')
    const work = []
    Object.defineProperty(event, 'waitUntil', { value: (promise) => work.push(promise) })
    self.dispatchEvent(event)
    await Promise.all(work)
    return asked
  }, fresh)
  assert.deepEqual(asked, [{ userVisibleOnly: true, applicationServerKey: key }])
  assert.notEqual(await phone.meta('alertsConfirmedAt'), before)
  const messages = await mustGetPush(server)
  assert.deepEqual([...new Set(messages.map((one) => one.endpoint))], [fresh.endpoint])
})

test('the number on the sign: as the message says, one less after a button, none at nought', async (house) => {
  const { phone, bin, fed } = await mustHaveFedBin(house)
  const signs = await countSigns(phone)
  await phone.push(alert({ of: fed.id, bin, more: { app_badge: 2 } }))
  await until('the sign shows it', async () => (await signs()).length > 0)
  assert.deepEqual(await signs(), [2])
  await phone.press('all-gone')
  assert.deepEqual(await signs(), [2, 1])
  await phone.push(JSON.stringify({ notification: { title: 'x', tag: 'x' } }))
  assert.deepEqual(await signs(), [2, 1], 'a message without a number leaves it')
  await phone.push(JSON.stringify({ notification: { title: 'x', tag: 'x' }, app_badge: 0 }))
  await until('the sign is empty', async () => (await signs()).at(-1) === 0)
  const shown = await signs() // an exchange may say the same once more
  assert.deepEqual(
    shown.filter((count, i) => count !== shown[i - 1]),
    [2, 1, 0],
  )
})

test('a tap on the alert opens the app, where it is closed, at the screen where one tap answers', async (house) => {
  const { server, phone, bin, fed } = await mustHaveFedBin(house)
  const message = leftoversIn(await mustGetPush(server))
  await phone.push(message)
  // A browser opens windows for real taps alone: what the worker asks for is taken down, and then opened.
  const worker = await phone.worker()
  await worker.evaluate(() => {
    self.opened = []
    Clients.prototype.matchAll = async () => []
    Clients.prototype.openWindow = async (path) => (self.opened.push(path), null)
  })
  await phone.press('')
  assert.deepEqual(await phone.notifications(), [])
  const [path] = await worker.evaluate(() => self.opened)
  assert.equal(path, `/#/alert?of=${fed.id}&in=${bin}`)
  await phone.page.goto(server.url + path)
  await phone.page.getByRole('heading', { level: 1, name: 'Check leftover food' }).waitFor()
  await phone.page.getByRole('button', { name: 'All gone' }).click()
  await until('it is kept', async () => (await phone.all('entries')).some((one) => one.what === 'leftovers'))
  await phone.allSent()
  const { entries } = await server.everything(await phone.meta('token'))
  const looks = entries.filter((entry) => entry.what === 'leftovers')
  assert.deepEqual(
    looks.map(({ of, left }) => ({ of, left })),
    [{ of: fed.id, left: 'all gone' }],
  )
})

test('a push with garbage shows a line that leads somewhere', async (house) => {
  const { phone } = await house.begin(ONE_BIN)
  for (const message of [
    'null',
    '[]',
    '{"notification":null}',
    '{"notification":{"title":{},"actions":"x"}}',
    '{"notification":{"title":"A title","actions":[7],"data":[1],"tag":{},"navigate":5},"app_badge":"many"}',
    '\u0000\u0001\u0002'.repeat(300),
  ]) {
    const [shown] = await phone.push(message)
    assert.match(shown.title, /^(Underlog|A title)$/, message)
    const worker = await phone.worker()
    await worker.evaluate(() => {
      self.opened = []
      Clients.prototype.matchAll = async () => []
      Clients.prototype.openWindow = async (path) => (self.opened.push(path), null)
    })
    await phone.press('')
    assert.deepEqual(await worker.evaluate(() => self.opened), ['/'], message)
  }
})

/** Every screen of alerts, in every light: by axe-core; with PICTURES=FOLDER as pictures too. */
test('the screens of alerts, in every light: accessible', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN_IN_THE_EVENING)
  const found = []
  await page.emulateMedia({ reducedMotion: 'reduce' })
  await giveSubscription(phone, server)
  const look = async (name) => {
    for (const one of LIGHTS) {
      await light(page, one)
      found.push(...(await barriers(page, `${name} (${one})`, { contrastOnly: one !== 'day' })))
      if (process.env.PICTURES)
        await page.screenshot({ path: `${process.env.PICTURES}/${name}-${one}.png`, fullPage: true })
    }
    await light(page, 'day')
  }
  const sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await phone.feed(sheet, 'Melon')
  await until('the feeding is kept', async () => (await phone.all('entries')).length === 1)
  await phone.allSent()
  const [fed] = await phone.all('entries')
  await page.goto(`${server.url}/#/`)
  await page.getByRole('button', { name: 'Yes, remind me' }).waitFor()
  await look('asked')
  await page.goto(`${server.url}/#/room`)
  await page.locator('#alerts').getByRole('button').first().waitFor()
  await look('off')
  // Settings, with an offer; the server makes one only after weeks.
  await page.route('**/api/underlog/alerts?device=*', async (route) => {
    const answer = await route.fetch()
    const state = await answer.json()
    await route.fulfill({
      response: answer,
      json: {
        ...state,
        offers: [
          { sort: 'leftovers', ignored: 6 },
          { sort: 'digest', ignored: 5 },
        ],
      },
    })
  })
  await page.getByRole('button', { name: /allow alerts/i }).click()
  await page.getByLabel('The round', { exact: true }).waitFor()
  await look('settings')
  await page.goto(`${server.url}/#/`)
  await page.getByRole('button', { name: 'Only with the round' }).waitFor()
  await look('offer on the round')
  await page.goto(`${server.url}/#/alert?of=${fed.id}&in=${bin}&damp=${bin}`)
  await page.getByRole('button', { name: 'All gone' }).waitFor()
  await look('landing')
  await page.getByRole('button', { name: 'Tonight' }).click()
  await page.getByText('You will be told again').waitFor()
  await page.getByRole('button', { name: 'All gone' }).click()
  await page.getByRole('button', { name: 'All gone', pressed: true }).waitFor()
  await look('landing, answered')
  await page.goto(`${server.url}/#/alert`)
  await page.getByText('Nothing of this alert is open any more').waitFor()
  await look('landing, nothing open')
  assert.deepEqual(found, [])
}, 240_000)

test('a sort of alert that nothing follows is offered where the person is, once', async (house) => {
  const { server, phone, page } = await house.begin(ONE_BIN_IN_THE_EVENING)
  await giveSubscription(phone, server)
  await page.goto(`${server.url}/#/room`)
  await page.getByRole('button', { name: /allow alerts/i }).click()
  await until('the server knows the subscription', () => phone.meta('alertsConfirmedAt'))
  let ignored = 5
  await page.route('**/api/underlog/alerts?device=*', async (route) => {
    const answer = await route.fetch()
    await route.fulfill({
      response: answer,
      json: { ...(await answer.json()), offers: ignored ? [{ sort: 'digest', ignored }] : [] },
    })
  })
  const offer = page.getByRole('button', { name: 'No more of these' })
  const visit = async (hash) => {
    await page.goto('about:blank')
    await page.goto(server.url + hash)
    await page.getByRole('heading', { level: 1 }).waitFor()
    await until('the server was asked', () =>
      page.evaluate(() =>
        performance.getEntriesByType('resource').some((one) => /alerts\?device=/.test(one.name)),
      ),
    )
    await page.waitForTimeout(500)
    return offer.count()
  }
  assert.equal(await visit('/#/'), 1)
  await page.evaluate(() => (location.hash = '#/alert'))
  await page.getByText('Nothing of this alert').waitFor()
  assert.equal(await offer.count(), 1, 'it stays for the visit')
  assert.equal(await visit('/#/'), 0, 'the next visit has no offer')
  ignored = 10
  assert.equal(await visit('/#/alert'), 1, 'as many more ignored')
  ignored = 0
  await offer.click()
  await until('it is gone', async () => (await offer.count()) === 0)
  const state = await page.evaluate(
    async ([token, device]) => {
      const answer = await fetch(`/api/underlog/alerts?device=${device}`, {
        headers: { Authorization: token },
      })
      return answer.json()
    },
    [await phone.meta('token'), await phone.meta('device')],
  )
  assert.equal(state.settings.digest, 'off')
})
