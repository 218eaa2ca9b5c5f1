/** What the tests of alerts begin with: a phone that takes them, and a bin that was fed. */
import assert from 'node:assert/strict'
import { ONE_BIN_IN_THE_EVENING } from './beginnings.mjs'
import { until } from './runner.mjs'

/** Chromium has no push service here: the tests' own stands in, at the one place where the browser would ask. */
export async function giveSubscription(phone, server) {
  const subscription = await server.order('POST', '/push/subscription')
  await phone.page.addInitScript(stubPush, subscription)
  await phone.page.reload()
}

function stubPush(given) {
  const isOn = () => localStorage.getItem('test-push') === 'on'
  const subscription = {
    endpoint: given.endpoint,
    options: { applicationServerKey: null },
    toJSON: () => ({ endpoint: given.endpoint, keys: given.keys }),
    unsubscribe: async () => (localStorage.removeItem('test-push'), true),
  }
  PushManager.prototype.getSubscription = async () => (isOn() ? subscription : null)
  PushManager.prototype.subscribe = async () => (localStorage.setItem('test-push', 'on'), subscription)
}

export async function mustHaveFedBin(house) {
  const { server, phone, bin } = await house.begin(ONE_BIN_IN_THE_EVENING)
  await giveSubscription(phone, server)
  await phone.page.goto(`${server.url}/#/room`)
  await phone.page.getByRole('button', { name: /allow alerts/i }).click()
  await until('the server knows the subscription', () => phone.meta('alertsConfirmedAt'))
  await phone.page.getByLabel('The round', { exact: true }).selectOption('off') // leftovers alone are looked at here

  const sheet = await phone.atStop(bin)
  await phone.more(sheet)
  await phone.feed(sheet, 'Melon')
  await until('the feeding is kept', async () => (await phone.all('entries')).length === 1)
  await phone.allSent()
  const fed = (await phone.all('entries')).find((entry) => entry.what === 'feed')
  return { server, phone, bin, fed }
}

export async function mustGetPush(server) {
  await server.advance('26h')
  const { messages, problems } = await until('a message arrives', async () => {
    const found = await server.pushes()
    return found.messages.length > 0 && found
  })
  assert.deepEqual(problems, [])
  return messages
}

/** The payload of the message about leftovers. */
export function leftoversIn(messages) {
  const found = messages.find((message) => message.payload.notification?.data?.sort === 'leftovers')
  assert.ok(found, `no message about leftovers in ${JSON.stringify(messages)}`)
  return JSON.stringify(found.payload)
}
