import assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { EVENING } from './beginnings.mjs'
import { Firefox } from './firefox.mjs'
import { PushService } from './pushservice.mjs'
import { test, until } from './runner.mjs'

const BIN = 'b'.repeat(32)
const FEEDING = 'f'.repeat(32)
const limits = JSON.parse(readFileSync(new URL('../src/generated/limits.json', import.meta.url)))

async function call(server, path, token, body) {
  const response = await fetch(server.url + path, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', ...(token ? { Authorization: token } : {}) },
    body: JSON.stringify(body),
  })
  const answer = await response.json()
  assert.ok(response.ok, `${path}: ${response.status} ${JSON.stringify(answer)}`)
  return answer
}

/** A room with one bin that was fed just now. */
async function mustHaveFedBin(server) {
  const person = { name: 'Ada', password: 'woodlouse tea' }
  const { token } = await call(server, '/api/underlog/setup', '', {
    ...person,
    room: 'Cellar',
    time_zone: 'UTC',
    units: 'metric',
  })
  const { now } = await server.order('GET', '/now')
  const stamp = `${Date.parse(now).toString(16).padStart(12, '0')}-0000-test`
  const { id: _id, ...tub } = limits.tub
  const bin = { ...tub, name: 'Pied pillbugs', rack: 'West', shelf: 2, position: 3, kind: 'porcellio-scaber' }
  const fields = Object.fromEntries(Object.entries(bin).map(([name, v]) => [name, { v, s: stamp }]))
  const { verdicts } = await server.exchange(token, {
    device: 'd'.repeat(32),
    sheets: [{ sheet: 'bins', id: BIN, fields }],
    entries: [{ id: FEEDING, bin: BIN, at: now, what: 'feed', food: 'melon', pieces: 2 }],
  })
  assert.deepEqual(
    verdicts.map((one) => one.verdict),
    ['stored', 'stored'],
    JSON.stringify(verdicts),
  )
  return token
}

async function mustTurnOffDigest(firefox) {
  await firefox.page(() => {
    const field = document.getElementById('alert-digest')
    field.value = 'off'
    field.dispatchEvent(new Event('change', { bubbles: true }))
  })
  await until('the server was told', () =>
    firefox.page(() =>
      performance
        .getEntriesByType('resource')
        .some((one) => one.name.endsWith('/alerts/settings') && one.responseStatus === 200),
    ),
  )
}

test('Firefox takes the alert of a push service, and its button settles the feeding', async (house) => {
  const server = await house.server({ at: EVENING })
  const token = await mustHaveFedBin(server)
  const push = await PushService.start()
  house.others.push(push)
  const firefox = await Firefox.open({ 'dom.push.serverURL': push.url })
  house.others.push(firefox)
  await firefox.recordAlerts()

  const { link } = await call(server, '/api/underlog/pairing', token, {})
  await firefox.goto(link)
  await firefox.click('Sign in')
  await until('Firefox is signed in', () => firefox.page(() => location.hash === '#/'), 30_000)
  await firefox.goto(`${server.url}/#/room`)
  await firefox.click('Allow alerts here')
  await until('the push service has a subscription', () => push.channels.size === 1, 30_000)
  await until('the page knows', () =>
    firefox.page(() => document.getElementById('alert-digest')?.disabled === false),
  )

  await mustTurnOffDigest(firefox) // leftovers alone are looked at here

  await server.advance('26h')
  const title = 'Check leftover food'
  const shown = await until('Firefox shows the alert', async () =>
    (await firefox.alerts()).find((alert) => alert.title === title),
  )
  for (const word of ['W2-3', 'Pied pillbugs', 'melon']) assert.ok(shown.text.includes(word), shown.text)
  assert.deepEqual(shown.actions, ['All gone', 'Took it out'])

  for (const post of push.posts) {
    assert.equal(post.status, 201)
    assert.equal(post.headers['content-encoding'], 'aes128gcm')
    assert.equal(post.claims.aud, `http://localhost:${push.port}`)
    assert.ok(post.bytes <= 4096)
  }
  await until('Firefox has read what was sent', () => push.answers.length === push.posts.length)
  assert.ok(
    push.answers.every((answer) => answer.ack),
    'Firefox could not decrypt it',
  )

  await firefox.pressAlert(title, 'All gone')
  const settled = await until('the entry has come', async () => {
    const { entries } = await server.everything(token)
    return entries.find((entry) => entry.what === 'leftovers')
  })
  assert.deepEqual([settled.bin, settled.of, settled.left], [BIN, FEEDING, 'all gone'])
})
