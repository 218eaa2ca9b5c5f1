import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import { db } from '../data/db'
import { mustHaveFreshDevice } from '../test/room'
import { fetchHonesty, type Honesty } from './honesty'

const tally = {
  n: 3,
  enough: 20,
  brier: 0.1,
  brier_of_share: 0.2,
  tenths: [],
  found: { n: 1, early: 0, in_time: 1, late: 0 },
  sentence: '',
}
const report: Honesty = { room: { dry: tally, mouldy: tally }, bins: {} }

beforeEach(mustHaveFreshDevice)
afterEach(() => vi.unstubAllGlobals())

it('asks as the person of this device and keeps the answer', async () => {
  const asked = vi.fn(async (_path: string, _init: RequestInit) => Response.json(report))
  vi.stubGlobal('fetch', asked)
  await fetchHonesty()
  expect(asked.mock.calls[0]![0]).toBe('/api/underlog/honesty')
  expect((asked.mock.calls[0]![1].headers as Record<string, string>)['Authorization']).toBe('token')
  expect(await db.get('honesty')).toEqual(report)
})

it('what was fetched stays when there is no signal and when the server refuses', async () => {
  await db.set({ honesty: report })
  for (const answer of [
    () => Promise.reject(new TypeError('Failed to fetch')),
    async () => Response.json({ message: 'Sign in first.' }, { status: 401 }),
    async () => new Response('<html>Welcome to our network</html>'),
  ]) {
    vi.stubGlobal('fetch', answer)
    await fetchHonesty()
    expect(await db.get('honesty')).toEqual(report)
  }
})

it('is not kept for somebody who signed out while it came', async () => {
  vi.stubGlobal('fetch', async () => {
    await db.empty()
    return Response.json(report)
  })
  await fetchHonesty()
  expect(await db.get('honesty')).toBeUndefined()
})
