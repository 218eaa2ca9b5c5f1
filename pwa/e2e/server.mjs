/** The wired server with a clock of its own (backend/apptest), as the tests start, stop and ask it. */
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'

export const results = fileURLToPath(new URL('../test-results/', import.meta.url))
const binary = join(results, 'apptest')
export const dist = fileURLToPath(new URL('../dist/', import.meta.url))

const given = new Set()

/** A port that is free, and that no other test was given: its server may not have started yet. */
export async function freePort() {
  const probe = createServer().listen(0, '127.0.0.1')
  await once(probe, 'listening')
  const { port } = probe.address()
  probe.close()
  await once(probe, 'close')
  if (given.has(port)) return freePort()
  given.add(port)
  return port
}

export class Server {
  data = mkdtempSync(join(tmpdir(), 'underlog-e2e-'))
  now = undefined // where the clock goes on after a stop; the wall clock's time at first
  log = ''

  /** at: the clock's time, RFC 3339; still: it stands between orders; from: fills the data folder. */
  static async start({ at, still = false, files = dist, port, from } = {}) {
    const server = new Server()
    server.still = still
    server.files = files
    server.port = port ?? (await freePort())
    server.now = at
    from?.(server.data)
    await server.start()
    return server
  }

  /** Starts, or starts again, at the same address, with the same folder and where its clock stood. */
  async start() {
    const at = this.now ? ['-at', this.now] : []
    const here = ['-http', `127.0.0.1:${this.port}`, '-phones', `http://localhost:${this.port}`]
    const still = this.still ? ['-still'] : []
    const args = ['-data', this.data, ...here, '-dist', this.files, ...at, ...still]
    this.process = spawn(binary, args, { stdio: ['ignore', 'pipe', 'pipe'] })
    this.process.stderr.on('data', (text) => (this.log += text))
    const lines = createInterface({ input: this.process.stdout })
    const ended = once(this.process, 'exit').then(() => {
      throw new Error(`the server ended:\n${this.log}`)
    })
    ended.catch(() => undefined)
    const [line] = await Promise.race([once(lines, 'line'), ended])
    const { control } = JSON.parse(line)
    this.control = control
    // Pages need the name that browsers take for secure and that has one origin throughout.
    this.url = `http://localhost:${this.port}`
  }

  async stop(signal = 'SIGTERM') {
    if (!this.process || this.process.exitCode !== null) return
    this.now = (await this.order('GET', '/now')).now
    const ended = once(this.process, 'exit')
    this.process.kill(signal)
    await ended
    this.process = undefined
  }

  async order(method, path, body) {
    const response = await fetch(this.control + path, { method, body: body && JSON.stringify(body) })
    if (!response.ok) throw new Error(`${path}: ${await response.text()}`)
    return response.json()
  }

  advance(by) {
    return this.order('POST', '/advance', { by })
  }

  pushes() {
    return this.order('GET', '/push')
  }

  /** Everything that the server has, as a device sees it that never was here before. */
  async everything(token) {
    const device = 'f'.repeat(32)
    const all = { sheets: [], entries: [] }
    let epoch = ''
    let cursor = 0
    for (;;) {
      const answer = await this.exchange(token, { device, epoch, cursor })
      all.sheets.push(...answer.sheets)
      all.entries.push(...answer.entries)
      ;({ epoch, cursor } = answer)
      if (!answer.more) return all
    }
  }

  async exchange(token, request) {
    const body = {
      protocol: 1,
      epoch: '',
      cursor: 0,
      at: new Date().toISOString(),
      sheets: [],
      entries: [],
      ...request,
    }
    const response = await fetch(`${this.url}/api/underlog/exchange`, {
      method: 'POST',
      headers: { Authorization: token, 'Content-Type': 'application/json' },
      body: JSON.stringify(body),
    })
    if (!response.ok) throw new Error(`exchange: ${response.status} ${await response.text()}`)
    return response.json()
  }
}
