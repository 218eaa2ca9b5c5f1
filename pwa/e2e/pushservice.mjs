/**
 * A push service as Firefox speaks with one: Mozilla's protocol over a
 * WebSocket to the browser, RFC 8030 over HTTP to the application's server,
 * whose identification (RFC 8292) it checks. It cannot read the messages: that
 * is the browser's part.
 */
import { createPublicKey, randomBytes, randomUUID, verify } from 'node:crypto'
import { once } from 'node:events'
import { createServer } from 'node:http'
import { WebSocketServer } from 'ws'

export class PushService {
  channels = new Map() // by the token in the endpoint: {channelID, agent, key}
  browsers = new Map() // by agent: the WebSocket
  waiting = [] // for a browser that is not here
  posts = [] // what servers sent: {status, claims, headers, bytes}
  answers = [] // what browsers said to each message: ack, or nack with its code

  static async start() {
    const service = new PushService()
    service.http = createServer((request, response) => void service.take(request, response))
    service.sockets = new WebSocketServer({
      server: service.http,
      handleProtocols: (offered) => [...offered][0] ?? false,
    })
    service.sockets.on('connection', (socket) => service.talk(socket))
    service.http.listen(0, '127.0.0.1')
    await once(service.http, 'listening')
    service.port = service.http.address().port
    return service
  }

  /** Where a browser finds it. */
  get url() {
    return `ws://localhost:${this.port}/`
  }

  async close() {
    for (const socket of this.sockets.clients) socket.terminate()
    this.http.closeAllConnections()
    this.http.close()
    await once(this.http, 'close')
  }

  /** The browser's side. */
  talk(socket) {
    let agent
    const say = (message) => socket.send(JSON.stringify(message))
    const does = {
      hello: ({ uaid }) => {
        agent = uaid || randomUUID().replaceAll('-', '')
        this.browsers.set(agent, socket)
        say({ messageType: 'hello', status: 200, uaid: agent, use_webpush: true, broadcasts: {} })
        const due = this.waiting.filter((one) => one.agent === agent)
        this.waiting = this.waiting.filter((one) => one.agent !== agent)
        for (const one of due) say(one.message)
      },
      register: ({ channelID, key }) => {
        const token = randomBytes(24).toString('base64url')
        this.channels.set(token, { channelID, agent, key: key?.replace(/=+$/, '') })
        const pushEndpoint = `http://localhost:${this.port}/push/${token}`
        say({ messageType: 'register', status: 200, channelID, pushEndpoint })
      },
      unregister: ({ channelID }) => {
        for (const [token, channel] of this.channels)
          if (channel.channelID === channelID) this.channels.delete(token)
        say({ messageType: 'unregister', status: 200, channelID })
      },
      ack: ({ updates }) => this.answers.push(...updates.map(({ code }) => ({ ack: true, code }))),
      nack: ({ code }) => this.answers.push({ ack: false, code }),
    }
    socket.on('message', (raw) => {
      const message = JSON.parse(String(raw))
      if (message.messageType === undefined)
        say({}) // the browser asks whether the line holds
      else does[message.messageType]?.(message)
    })
  }

  /** The server's side. */
  async take(request, response) {
    const chunks = []
    for await (const chunk of request) chunks.push(chunk)
    const body = Buffer.concat(chunks)
    const channel = this.channels.get(/^\/push\/([\w-]+)$/.exec(request.url)?.[1])
    const claims = identified(request.headers.authorization, channel?.key)
    const status = !channel ? 410 : !claims ? 403 : request.headers.ttl === undefined ? 400 : 201
    this.posts.push({ status, claims, headers: request.headers, bytes: body.length })
    if (status !== 201) return void response.writeHead(status).end()
    const version = randomUUID()
    const message = {
      messageType: 'notification',
      channelID: channel.channelID,
      version,
      data: body.toString('base64url'),
      headers: { encoding: request.headers['content-encoding'] },
    }
    const socket = this.browsers.get(channel.agent)
    if (socket?.readyState === socket?.OPEN) socket.send(JSON.stringify(message))
    else this.waiting.push({ agent: channel.agent, message })
    response.writeHead(201, { Location: `/messages/${version}`, TTL: request.headers.ttl }).end()
  }
}

/** The claims of a VAPID header whose signature holds and whose key is the one subscribed with; else null. */
function identified(header, subscribedWith) {
  const [, token, key] = /^vapid t=([^,\s]+),\s*k=([\w-]+)$/i.exec(header ?? '') ?? []
  if (!token || key !== subscribedWith) return null
  const [head, claims, signature] = token.split('.')
  const point = Buffer.from(key, 'base64url')
  const jwk = {
    kty: 'EC',
    crv: 'P-256',
    x: point.subarray(1, 33).toString('base64url'),
    y: point.subarray(33, 65).toString('base64url'),
  }
  const holds = verify(
    'sha256',
    Buffer.from(`${head}.${claims}`),
    { key: createPublicKey({ format: 'jwk', key: jwk }), dsaEncoding: 'ieee-p1363' },
    Buffer.from(signature, 'base64url'),
  )
  return holds ? JSON.parse(Buffer.from(claims, 'base64url')) : null
}
