import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import { get } from 'svelte/store'
import { db } from '../data/db'
import { log } from '../data/log'
import { mustHaveFreshDevice } from '../test/room'
import { FakeServer } from '../test/server'
import { drainAlone, go, lineState, sendingState } from './courier'
import { pauseAfter } from './pause'
import { Away } from './server'

let server: FakeServer

beforeEach(async () => {
  await mustHaveFreshDevice()
  server = new FakeServer()
  server.install()
  vi.stubGlobal('navigator', { onLine: true, locks: new FakeLocks() })
})
afterEach(() => vi.unstubAllGlobals())

/** Web Locks as far as the courier uses them: exclusive, waiting in line, abortable, stealable. */
class FakeLocks {
  private tail: Promise<unknown> = Promise.resolve()

  async request<T>(
    _name: string,
    options: { signal?: AbortSignal; steal?: boolean },
    work: () => Promise<T>,
  ): Promise<T> {
    const turn = options.steal ? Promise.resolve() : this.tail
    const waited = new Promise<never>((_, reject) =>
      options.signal?.addEventListener('abort', () => reject(options.signal!.reason as Error)),
    )
    const run = Promise.race([turn, waited]).then(work)
    this.tail = run.catch(() => undefined)
    return run
  }
}

it('pauses longer after each failure, up to a bound that keeps the promise of 30 seconds', () => {
  expect(pauseAfter(1, true, 1)).toBe(1000)
  expect(pauseAfter(3, true, 1)).toBe(4000)
  expect(pauseAfter(3, true, 0)).toBe(2000)
  for (const failures of [5, 50, 5000]) expect(pauseAfter(failures, true, 1)).toBe(8000)
  expect(pauseAfter(50, false, 1)).toBe(60_000)
})

it('tries again by itself until the outbox is empty', async () => {
  vi.spyOn(Math, 'random').mockReturnValue(0)
  server.faults = ['request lost']
  await log({ what: 'look', bin: 'b1' })
  await go()
  expect(get(lineState)).toBe('server-away')
  await vi.waitFor(async () => expect(await db.outgoing.count()).toBe(0), 3000)
  await vi.waitFor(() => expect(get(lineState)).toBe('online'))
  vi.restoreAllMocks()
})

it('goes once more for what was logged while it was under way', async () => {
  await log({ what: 'look', bin: 'b1' })
  const first = go()
  await log({ what: 'look', bin: 'b2' })
  void go()
  await first
  await vi.waitFor(() => expect(server.entries()).toHaveLength(2))
  await vi.waitFor(() => expect(get(sendingState)).toBe(false))
})

it('two drains at once send everything once', async () => {
  await log({ what: 'look', bin: 'b1' }, { what: 'look', bin: 'b2' })
  await Promise.all([drainAlone(), drainAlone()])
  expect(server.entries()).toHaveLength(2)
  expect(server.requests.flatMap((request) => request.entries)).toHaveLength(2)
})

it('gives up a drain that makes no progress, and the next one gets through', async () => {
  await log({ what: 'look', bin: 'b1' })
  server.faults = ['hang']
  await expect(drainAlone(60)).rejects.toBeInstanceOf(Away)
  await drainAlone()
  expect(server.entries()).toHaveLength(1)
})

it('takes the lock from a holder that is frozen', async () => {
  await log({ what: 'look', bin: 'b1' })
  void navigator.locks.request('underlog-exchange', {}, () => new Promise(() => undefined))
  await drainAlone(1000, 50)
  expect(server.entries()).toHaveLength(1)
})
