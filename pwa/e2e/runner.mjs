/**
 * A test runner of a few lines: in order, two at a time, each with its own
 * server and phones. What fails is tried once more alone, and said so: on a
 * machine of two processors a neighbour can starve a test.
 */
import { cpSync, mkdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { Phone } from './phone.mjs'
import { freePort, results, Server } from './server.mjs'

const tests = []
const LONGEST_MS = 120_000
// The engine's code as it is compiled at first: to make better code of it takes longer than a test has use for it.
const AS_COMPILED = '--js-flags=--liftoff-only'
const LANES = 2 // most of a test is waiting; a third starves the others

/** longest: after so many ms the test has hung. */
export function test(name, work, longest = LONGEST_MS) {
  tests.push({ name, work, longest })
}

export async function runTests(only = '') {
  mkdirSync(results, { recursive: true })
  const waiting = tests.filter((one) => one.name.includes(only))
  const all = waiting.length
  const starved = []
  const lanes = await Promise.all(Array.from({ length: LANES }, Lane.open))
  const walk = async (lane) => {
    for (let next = waiting.shift(); next; next = waiting.shift())
      if (!(await passes(next, lane))) starved.push(next)
  }
  await Promise.all(lanes.map(walk))
  let failed = 0
  for (const one of starved) if (!(await passes(one, lanes[0], ' (again, alone)'))) failed += 1
  for (const lane of lanes) await lane.close()
  console.log(`${all - failed} passed, ${starved.length - failed} of them only alone, ${failed} failed`)
  if (failed > 0 || all === 0) process.exitCode = 1
}

async function passes({ name, work, longest }, lane, how = '') {
  const house = new House(lane)
  const began = Date.now()
  try {
    await within(work(house), longest)
    console.log(`ok    ${name}${how} (${((Date.now() - began) / 1000).toFixed(1)} s)`)
    return true
  } catch (error) {
    console.log(`FAIL  ${name}${how}\n      ${String(error.stack ?? error).replaceAll('\n', '\n      ')}`)
    await house.report(name)
    return false
  } finally {
    await house.close()
  }
}

/** One test after the other, at one address: what a phone keeps, it keeps for the address that it had it from. */
class Lane {
  begun = new Map() // beginnings by name, as they were left

  static async open() {
    const lane = new Lane()
    lane.port = await freePort()
    return lane
  }

  /** The house in which a beginning was made: server and phone stand still, and only their folders are read. */
  async beginning({ name, at, make }) {
    if (!this.begun.has(name)) {
      const house = new House(this)
      try {
        const server = await house.server({ at })
        const phone = await house.phone(server)
        const known = await make(phone)
        await phone.allSent()
        await phone.worker()
        await phone.engineKept()
        await phone.close()
        await server.stop()
        this.begun.set(name, { house, server, phone, known })
      } catch (error) {
        await house.close()
        throw error
      }
    }
    return this.begun.get(name)
  }

  async close() {
    for (const { house } of this.begun.values()) await house.close()
  }
}

/** What one test starts, so that it can be ended whatever happens. */
class House {
  servers = []
  phones = []
  others = [] // anything else with a close()

  constructor(lane) {
    this.lane = lane
  }

  async server(options) {
    const server = await Server.start({ port: this.lane.port, ...options })
    this.servers.push(server)
    return server
  }

  /**
   * A server and a phone that are where a beginning (beginnings.mjs) left them, and what is known of them. It is made
   * once in a lane, and copied from then on: to set up a room by hand took longer than most of what is shown in it.
   */
  async begin(beginning, { flags, ...options } = {}) {
    const { server: was, phone: had, known } = await this.lane.beginning(beginning)
    const from = (folder) => cpSync(was.data, folder, { recursive: true })
    const server = await this.server({ at: beginning.at && was.now, from, ...options })
    const phone = await this.phone(server, flags, '/', (folder) =>
      cpSync(had.profile, folder, { recursive: true }),
    )
    return { server, phone, page: phone.page, ...known }
  }

  async phone(server, flags = [], path, from) {
    const phone = new Phone(server, [AS_COMPILED, ...flags])
    this.phones.push(phone)
    from?.(phone.profile)
    await phone.open(path)
    return phone
  }

  async report(name) {
    const file = name.replace(/[^a-z0-9]+/gi, '-').toLowerCase()
    for (const [i, phone] of this.phones.entries()) {
      const path = join(results, `${file}-${i}.png`)
      await phone.page?.screenshot({ path }).catch(() => undefined)
      const text = await phone.page
        ?.locator('body')
        .innerText({ timeout: 2000 })
        .catch(() => '')
      writeFileSync(join(results, `${file}-${i}.txt`), [...phone.said, '', text].join('\n'))
    }
    for (const [i, server] of this.servers.entries()) {
      writeFileSync(join(results, `${file}-server-${i}.txt`), server.log)
    }
    console.log(`      pictures and logs are in test-results/${file}-*`)
  }

  async close() {
    for (const phone of this.phones) await phone.close().catch(() => undefined)
    for (const other of this.others) await other.close().catch(() => undefined)
    for (const server of this.servers)
      await server.stop('SIGKILL').catch(() => server.process?.kill('SIGKILL'))
    const left = [...this.phones.map((phone) => phone.profile), ...this.servers.map((server) => server.data)]
    for (const folder of left) rmSync(folder, { recursive: true, force: true, maxRetries: 5 })
  }
}

function within(promise, ms) {
  let timer
  const late = new Promise((_, reject) => {
    timer = setTimeout(() => reject(new Error(`not done after ${ms / 1000} s`)), ms)
  })
  return Promise.race([promise, late]).finally(() => clearTimeout(timer))
}

/** Waits until look answers something true, and answers that. */
export async function until(what, look, ms = 30_000) {
  const end = Date.now() + ms
  for (;;) {
    const found = await look()
    if (found) return found
    if (Date.now() > end) throw new Error(`waited ${ms / 1000} s in vain: ${what}`)
    await new Promise((resolve) => setTimeout(resolve, 100))
  }
}
