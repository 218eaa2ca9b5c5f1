import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { mustHaveFreshDevice } from '../test/room'
import { FakeServer, type Fault } from '../test/server'

/*
 * Whatever happened before: once the faults are over, the outbox is empty
 * within 30 seconds with nobody touching the phone. Page lives come and go;
 * each has modules of its own, as after a reload. Time is made here.
 *
 * A failure names its seed; SEED=n replays it, SEEDS=n sets how many there are.
 */
const SEEDS = Number(process.env['SEEDS'] ?? 30)
const FIRST = Number(process.env['SEED'] ?? 1)
const PROMISED_MS = 30_000
const STEP_MS = 500

/** Mulberry32, a small generator in the public domain: the same seed, the same run. */
function chance(seed: number): () => number {
  return () => {
    seed = (seed + 0x6d2b79f5) | 0
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

/** Lets the database do what is due; it goes by the event loop and not by the clock. */
async function settle(turns = 12): Promise<void> {
  for (let i = 0; i < turns; i++) await new Promise((resolve) => setImmediate(resolve))
}

class Life {
  private constructor(
    readonly db: (typeof import('../data/db'))['db'],
    readonly log: (typeof import('../data/log'))['log'],
    readonly edit: (typeof import('../data/log'))['edit'],
    readonly go: (typeof import('./courier'))['go'],
    readonly drain: (typeof import('./exchange'))['drain'],
  ) {}

  static async begin(): Promise<Life> {
    vi.resetModules()
    const { db } = await import('../data/db')
    const { log, edit } = await import('../data/log')
    const { go } = await import('./courier')
    const { drain } = await import('./exchange')
    return new Life(db, log, edit, go, drain)
  }

  /** As a flat battery does: nothing of it goes on. */
  end(): void {
    vi.clearAllTimers()
    this.db.close()
  }
}

class FreeLocks {
  request<T>(_name: string, _options: unknown, work: () => Promise<T>): Promise<T> {
    return work()
  }
}

let server: FakeServer

beforeEach(async () => {
  await mustHaveFreshDevice()
  const { db } = await import('../data/db')
  db.close()
  vi.stubGlobal('navigator', { onLine: true, locks: new FreeLocks() })
  // Packing is done by other threads, in real time: beside it the time that is made here would run ahead.
  vi.stubGlobal('CompressionStream', undefined)
  server = new FakeServer()
  vi.spyOn(console, 'error').mockImplementation(() => undefined) // the courier reports a database that was closed under it
})
afterEach(() => {
  vi.useRealTimers()
  vi.unstubAllGlobals()
  vi.restoreAllMocks()
})

const FAULTS: Fault[] = [
  'request lost',
  'answer lost',
  'hang',
  'portal page',
  'answer cut off',
  404,
  408,
  429,
  500,
  502,
  503,
]

describe('liveness', () => {
  it(
    `the outbox is empty within 30 s of healing (seeds ${FIRST} to ${FIRST + SEEDS - 1})`,
    { timeout: 3_600_000 },
    async () => {
      let slowest = 0
      for (let seed = FIRST; seed < FIRST + SEEDS; seed++) {
        await mustHaveFreshDevice()
        server = new FakeServer()
        slowest = Math.max(slowest, await live(seed))
      }
      console.log(`${SEEDS} seeds, the slowest ${slowest / 1000} s after healing`)
    },
  )

  it('a page that ends at any step of a drain loses and doubles nothing', { timeout: 600_000 }, async () => {
    const begin = async (life: Life) => {
      server.mostInAnswer = 2
      for (let i = 0; i < 5; i++)
        server.add({ id: `${i}`.repeat(32), what: 'look', bin: 'b', at: new Date().toISOString() })
      await life.log({ what: 'look', bin: 'b1' }, { what: 'look', bin: 'b2' })
      // Each edit of one sheet is a page of its own: from the second on they leave while an answer is written.
      for (const name of ['A', 'B', 'C', 'D']) await life.edit('bins', 'b1', { name })
    }
    const steps = await endAtEveryStep(begin, 7, async (next, when) => {
      expect(server.sheet('b1')?.fields['name']?.v, when).toBe('D')
      expect(await next.db.get('firstLoad')).toBeUndefined()
    })
    expect(steps).toBeGreaterThan(10)
  })

  it('a page that ends at any step of a resend loses and doubles nothing', { timeout: 600_000 }, async () => {
    const count = 700 // a first page, and more than that behind it
    const lost = 600 // of which the server knows nothing
    const begin = async (life: Life) => {
      await life.log(...Array.from({ length: count }, () => ({ what: 'look', bin: 'b1' }) as const))
      const records = (await life.db.outgoing.toArray()).map((row) => row.record)
      for (const [i, record] of records.entries()) if (i !== lost) server.add(record)
      await life.db.set({ epoch: server.epoch, cursor: count - 1 })
    }
    const steps = await endAtEveryStep(begin, count, async (_next, when) => {
      const asked = server.requests.flatMap((request) => request.asked ?? [])
      expect(asked.length, when).toBeGreaterThan(0)
    })
    expect(steps).toBeGreaterThan(8)
  })
})

/** Has a drain end at every step of it, each time from the beginning, and another page go on. Answers how many steps there are. */
async function endAtEveryStep(
  begin: (life: Life) => Promise<void>,
  entries: number,
  check: (next: Life, when: string) => Promise<void>,
): Promise<number> {
  for (let at = 0; ; at++) {
    const when = `ended at step ${at}`
    await mustHaveFreshDevice()
    server = new FakeServer()
    const life = await Life.begin()
    await begin(life)
    const whole = await drainUpTo(life, at)
    life.end()
    const next = await Life.begin()
    server.install()
    await next.drain()
    expect(await next.db.outgoing.count(), when).toBe(0)
    expect(server.entries().length, when).toBe(entries)
    expect(new Set(server.entries().map(({ id }) => id)).size, when).toBe(entries)
    expect(await next.db.entries.count(), when).toBe(entries)
    await check(next, when)
    next.end()
    if (whole) return at
  }
}

/** Drains until the given step: before or after a request, before or after a transaction. True: it came to its end. */
async function drainUpTo(life: Life, last: number): Promise<boolean> {
  let step = 0
  let end: (whole: boolean) => void
  const over = new Promise<boolean>((resolve) => (end = resolve))
  const here = async () => {
    if (step++ !== last) return
    end(false)
    await new Promise(() => undefined)
  }
  server.install()
  const honest = globalThis.fetch
  vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
    await here()
    const answer = await honest(path, init)
    await here()
    return answer
  })
  const write = life.db.write.bind(life.db)
  life.db.write = async (work, ...also) => {
    await here()
    const done = await write(work, ...also)
    await here()
    return done
  }
  const failed = (error: unknown) => {
    if (step <= last) throw error // else its database was closed under it
  }
  void life.drain().then(() => end(true), failed)
  return over
}

/** One run; answers how many milliseconds after healing the outbox was empty. */
async function live(seed: number): Promise<number> {
  const next = chance(seed)
  vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout', 'setInterval', 'clearInterval', 'Date'] })
  vi.spyOn(Math, 'random').mockImplementation(next)
  server.install()
  let life = await Life.begin()
  void life.go()
  let logged = 0
  const steps = 10 + Math.floor(next() * 60)
  for (let i = 0; i < steps; i++) {
    if (next() < 0.6) server.faults.push(FAULTS[Math.floor(next() * FAULTS.length)]!)
    if (next() < 0.3) {
      const count = 1 + Math.floor(next() * 3)
      const drafts = Array.from({ length: count }, () => ({ what: 'look', bin: 'b1' }) as const)
      const done = await life.log(...drafts)
      if (done.ok) logged += count
      void life.go()
    }
    if (next() < 0.05) {
      life.end()
      life = await Life.begin()
      void life.go()
    }
    if (next() < 0.03) server.restore(Math.floor(next() * server.log.length), `older${i}`)
    await vi.advanceTimersByTimeAsync(next() < 0.2 ? 20_000 : next() * 3000)
    await settle()
  }
  server.faults = [] // healed
  const began = Date.now()
  while ((await life.db.outgoing.count()) > 0 || (await life.db.get('reoffer'))) {
    const took = Date.now() - began
    if (took > PROMISED_MS)
      throw new Error(`SEED=${seed}: after ${took / 1000} s ${await life.db.outgoing.count()} records wait`)
    await vi.advanceTimersByTimeAsync(STEP_MS)
    await settle(250) // the database takes no time that counts
  }
  const took = Date.now() - began
  const ids = server.entries().map((entry) => entry.id)
  if (new Set(ids).size !== ids.length) throw new Error(`SEED=${seed}: something is there twice`)
  // What a restored server lost comes back at the next exchange, which a minute or a tap brings.
  let over = false
  void life.go().finally(() => (over = true)) // a try that hangs ends by a timer
  for (const last = Date.now() + PROMISED_MS; !over;) {
    if (Date.now() > last) throw new Error(`SEED=${seed}: a try does not end`)
    await vi.advanceTimersByTimeAsync(STEP_MS)
    await settle(50)
  }
  const here = await life.db.entries.count()
  if (here !== logged) throw new Error(`SEED=${seed}: ${logged} were logged and ${here} are here`)
  if (server.entries().length !== logged)
    throw new Error(`SEED=${seed}: ${logged} were logged and ${server.entries().length} are on the server`)
  life.end()
  vi.useRealTimers()
  vi.mocked(Math.random).mockRestore()
  return took
}
