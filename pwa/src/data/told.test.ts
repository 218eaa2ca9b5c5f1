import { beforeEach, expect, it, vi } from 'vitest'
import { mustHaveFreshDevice } from '../test/room'
import { log, strike } from './log'
import { isSeenTo, isSettled, readTold, withdrawSettled } from './told'

beforeEach(mustHaveFreshDevice)

const BIN = 'b'.repeat(32)
const FEEDING = 'f'.repeat(32)
const now = () => Math.floor(Date.now() / 1000)
const leftovers = (more: object = {}) =>
  readTold({ sort: 'leftovers', at: now(), navigate: `/#/alert?of=${FEEDING}&in=${BIN}`, ...more })

async function mustLook(minutesAgo = 0): Promise<string> {
  const at = new Date(Date.now() - minutesAgo * 60_000).toISOString()
  const done = await log({ what: 'leftovers', bin: BIN, of: FEEDING, left: 'all gone', mould: 'none', at })
  if (!done.ok) throw new Error(JSON.stringify(done.problems))
  return done.record[0]!.id
}

it('reads what a notification carries, and counts what is odd as absent', () => {
  expect(leftovers({ looks: [1] })).toMatchObject({ of: [FEEDING], in: BIN, damp: [], looks: [1], more: 0 })
  for (const odd of [undefined, null, 7, 'x', { navigate: 5, at: {}, looks: 'x' }])
    expect(readTold(odd)).toMatchObject({ of: [], damp: [], looks: [], at: 0, sort: '' })
})

it('an alert about leftovers is settled by a look, also one without signal and before it came', async () => {
  expect(await isSettled(leftovers())).toBe(false)
  await mustLook(10)
  expect(await isSettled(leftovers())).toBe(true)
  expect(await isSettled(leftovers({ looks: [1] }))).toBe(false) // the server knew of that look
})

it('a look that was struck settles nothing; a feeding that was struck wants nothing', async () => {
  await strike(await mustLook())
  expect(await isSettled(leftovers())).toBe(false)
  const fed = await log({ what: 'feed', bin: BIN, food: 'melon' })
  if (!fed.ok) throw new Error('not fed')
  await strike(fed.record[0]!.id)
  const of = fed.record[0]!.id
  expect(await isSettled(readTold({ sort: 'leftovers', navigate: `/#/alert?of=${of}` }))).toBe(true)
})

it('dampness is settled by a feel or water after what the server knew', async () => {
  const last = now() - 86_400
  const told = readTold({ sort: 'dampness', at: now(), navigate: `/#/alert?damp=${BIN}`, last: [last] })
  await log({ what: 'feel', bin: BIN, feel: 'damp', at: new Date(last * 1000).toISOString() })
  expect(await isSettled(told)).toBe(false)
  await log({ what: 'water', bin: BIN, water_ml: 30 })
  expect(await isSettled(told)).toBe(true)
})

it('of several, all must be settled; of more than it names, nobody can tell', async () => {
  await mustLook()
  const navigate = `/#/alert?of=${FEEDING},${'a'.repeat(32)}`
  expect(await isSettled(readTold({ sort: 'leftovers', navigate }))).toBe(false)
  expect(await isSettled(leftovers({ more: 2 }))).toBe(false)
})

it('the digest is settled when the round has begun', async () => {
  const told = readTold({ sort: 'digest', at: now() - 60, navigate: '/#/' })
  expect(await isSettled(told)).toBe(false)
  await log({ what: 'look', bin: BIN })
  expect(await isSettled(told)).toBe(true)
})

it('what is shown and settled is taken back, and nothing else', async () => {
  await mustLook()
  const shown = [
    { data: { sort: 'leftovers', navigate: `/#/alert?of=${FEEDING}` }, close: vi.fn() },
    { data: { sort: 'leftovers', navigate: `/#/alert?of=${'a'.repeat(32)}` }, close: vi.fn() },
    { data: { sort: 'test' }, close: vi.fn() },
  ]
  const registration = { getNotifications: async () => shown } as unknown as ServiceWorkerRegistration
  await withdrawSettled(registration)
  expect(shown.map((one) => one.close.mock.calls.length)).toEqual([1, 0, 0])
})

it('a feeding is seen to once somebody looked at it or struck it, not because a forecast does not name it', async () => {
  expect(await isSeenTo(FEEDING)).toBe(false)
  const look = await mustLook()
  expect(await isSeenTo(FEEDING)).toBe(true)
  await strike(look)
  expect(await isSeenTo(FEEDING)).toBe(false)
})
