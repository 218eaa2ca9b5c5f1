/**
 * Sends messages with the npm package web-push as fast as it goes, to compare:
 * reads {endpoint, p256dh, auth, payload, messages, at_once} and writes
 * {per_second}. Connections are kept, and the receiver's own certificate is taken.
 */
import { readFileSync } from 'node:fs'
import { Agent } from 'node:https'
import webpush from 'web-push'

const order = JSON.parse(readFileSync(0, 'utf8'))
const { publicKey, privateKey } = webpush.generateVAPIDKeys()
const subscription = { endpoint: order.endpoint, keys: { p256dh: order.p256dh, auth: order.auth } }
const options = {
  agent: new Agent({ keepAlive: true, maxSockets: order.at_once, rejectUnauthorized: false }),
  vapidDetails: { subject: 'mailto:keeper@example.org', publicKey, privateKey },
  TTL: 3600,
  urgency: 'high',
  topic: 'x'.repeat(32),
}
const send = () => webpush.sendNotification(subscription, order.payload, options)

await Promise.all(Array.from({ length: order.at_once }, send)) // the connections are made
let left = order.messages
const began = process.hrtime.bigint()
await Promise.all(
  Array.from({ length: order.at_once }, async () => {
    while (left-- > 0) await send()
  }),
)
const seconds = Number(process.hrtime.bigint() - began) / 1e9
console.log(JSON.stringify({ per_second: order.messages / seconds }))
options.agent.destroy()
