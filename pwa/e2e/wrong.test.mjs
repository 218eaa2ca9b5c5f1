import assert from 'node:assert/strict'
import { ONE_BIN_IN_THE_EVENING } from './beginnings.mjs'
import { giveSubscription } from './push.mjs'
import { test, until } from './runner.mjs'

const newId = () =>
  [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, '0')).join('')

test('what a sitter finds wrong comes as an alert that leads to it', async (house) => {
  const { server, phone, page, bin } = await house.begin(ONE_BIN_IN_THE_EVENING)
  await giveSubscription(phone, server)
  await page.goto(`${server.url}/#/room`)
  await page.getByRole('button', { name: /allow alerts/i }).click()
  await until('the server knows the subscription', () => phone.meta('alertsConfirmedAt'))
  await phone.allSent()
  const { lookedIn } = await mustSit(server, await phone.meta('token'))
  const note = await lookedIn(bin, 'Two of them lie on their backs at the dry end, and it smells sour.')

  const [message] = await until('the alert arrives', async () => {
    const { messages, problems } = await server.pushes()
    assert.deepEqual(problems, [])
    return messages.length > 0 && messages
  })
  const [shown] = await phone.push(JSON.stringify(message.payload))
  assert.equal(shown.title, 'Something is wrong, says Kim')
  assert.match(shown.body, /^W2-3 Pied pillbugs: Two of them lie/)
  const { navigate } = message.payload.notification
  assert.equal(navigate, `/#/alert?wrong=${note}`)
  // It stands on the owner's round too, until it is seen to.
  await page.goto(`${server.url}/#/`)
  await page.getByRole('link', { name: 'Kim: something is wrong at W2-3' }).click()
  await page.getByRole('heading', { name: 'Something is wrong' }).waitFor()
  await page.goto(server.url + navigate)
  await page.getByRole('heading', { name: 'Something is wrong' }).waitFor()
  await page.getByText('Two of them lie on their backs').waitFor()
  await page.getByText(/^Kim, /).waitFor()
  await page.getByRole('link', { name: 'To this bin' }).click()
  await page.waitForURL(`**/#/bin/${bin}`)
  await page.goBack()
  await page.getByRole('button', { name: 'I have seen to it' }).click()
  await page.getByText('Seen to.', { exact: true }).waitFor()
  await page.getByRole('link', { name: 'To the round' }).click()
  await page.getByRole('heading', { level: 1, name: /round$/ }).waitFor()
  const line = page.getByRole('link', { name: /something is wrong/ })
  await until('the line is gone', async () => (await line.count()) === 0)
})

/** A trip that is on, and somebody who holds its pass. */
async function mustSit(server, token) {
  const call = async (method, path, authorization, body) => {
    const response = await fetch(server.url + path, {
      method,
      headers: { 'Content-Type': 'application/json', Authorization: authorization },
      body: JSON.stringify(body),
    })
    const answer = await response.json()
    assert.ok(response.ok, JSON.stringify(answer))
    return answer
  }
  const { now } = await server.order('GET', '/now')
  const day = (ahead) => new Date(Date.parse(now) + ahead * 86_400_000).toISOString().slice(0, 10)
  const trip = newId()
  const stamp = `${Date.parse(now).toString(16).padStart(12, '0')}-0000-test`
  const fields = { name: 'To the sea', leaves: day(-2), returns: day(9), from_hour: 9, to_hour: 20 }
  const stamped = Object.fromEntries(Object.entries(fields).map(([name, v]) => [name, { v, s: stamp }]))
  const sheets = [{ sheet: 'trips', id: trip, fields: stamped }]
  await server.exchange(token, { device: newId(), epoch: '', cursor: 0, sheets })
  const { secret } = await call('POST', '/api/underlog/passes', token, { trip, sitter: 'Kim' })
  const lookedIn = async (bin, words) => {
    const note = { id: newId(), bin, at: now, what: 'note', note: words }
    const path = '/api/underlog/pass/exchange'
    const { verdicts } = await call('POST', path, `Pass ${secret}`, {
      protocol: 1,
      device: newId(),
      epoch: '',
      entries: [note],
    })
    assert.equal(verdicts[0].verdict, 'stored')
    return note.id
  }
  return { lookedIn }
}
