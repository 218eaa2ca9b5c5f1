import { Dexie, type Table } from 'dexie'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { Database, db } from './db'
import { log } from './log'
import { countUnsent, post, postFirst, setAside, tryAgain, unsentRecords, waiting } from './outbox'
import { takeOver } from './places'
import { mustHaveFreshDevice } from '../test/room'
import { FakeServer } from '../test/server'
import { drain } from '../sync/exchange'
import type { Entry } from '../types'

/** The database as version 3 had it. */
class Former extends Dexie {
  outbox!: Table<{ id: string; state: string }, number>

  constructor(name: string) {
    super(name)
    this.version(3).stores({
      entries: 'id, [bin+t], [what+t], t, struck, arrived, photo, [bin+photo], batch, mix, item',
      sheets: '[sheet+id], sheet, arrived',
      outbox: '++position, id, state',
      meta: 'key',
      photos: 'name, state',
      pictures: '[name+size], [kept+usedAt+bytes]',
    })
  }
}

const look = (id: string): Entry => ({ id, what: 'look', bin: 'b1', at: '2026-05-01T08:00:00Z' }) as Entry
const formerRow = (id: string, state: 'waiting' | 'refused') => {
  const { name: _name, ...row } = waiting('entry', look(id), 0)
  return { ...row, state, problems: [], sentence: state === 'refused' ? 'bin is b1: give another.' : '' }
}
const formerEdit = (id: string) => {
  const record = { sheet: 'bins' as const, id, fields: { name: { v: 'Pied', s: 's' } } }
  return { ...formerRow(id, 'waiting'), sort: 'sheet' as const, record }
}
const places = async (of: Database = db) =>
  (await of.outgoing.toArray()).map(({ position, name, id }) => [position, name, id])

describe('the outbox of a former version', () => {
  let name: string
  beforeEach(() => (name = `former-${Math.random()}`))
  afterEach(() => Dexie.delete(name))

  it('is taken over whole, each record in its place, when the database is brought up to date', async () => {
    const former = new Former(name)
    const rows = [
      formerRow('a', 'waiting'),
      formerRow('b', 'refused'),
      formerEdit('b1'),
      formerRow('c', 'waiting'),
    ]
    await former.outbox.bulkAdd(rows)
    await former.outbox.add({ ...formerRow('before', 'waiting'), position: -1 } as never)
    former.close()

    const now = new Database(name)
    expect(await places(now)).toEqual([
      [-1, 'before', 'before'],
      [1, 'a', 'a'],
      [3, '', 'b1'],
      [4, 'c', 'c'],
    ])
    const [refused, ...others] = await now.refused.toArray()
    expect(others).toEqual([])
    expect(refused).toMatchObject({ position: 2, id: 'b', name: 'b', sentence: 'bin is b1: give another.' })
    expect(refused).not.toHaveProperty('state')
    expect(await now.table('outbox').count()).toBe(0)
    now.close()
  })

  it('takes what a tab of that version still writes, and sends it', async () => {
    await mustHaveFreshDevice()
    const done = await log({ what: 'look', bin: 'b1' })
    if (!done.ok) throw new Error('refused')
    const [ahead] = await db.outgoing.toArray()
    // Such a tab opens the database that is newer than it, and knows of one outbox only.
    vi.spyOn(console, 'warn').mockImplementation(() => undefined)
    const former = new Former('underlog')
    const stray = formerRow('5'.repeat(32), 'waiting')
    await former.outbox.add({ ...stray, position: ahead!.position } as never) // whose place is taken here
    await former.outbox.add(formerRow('6'.repeat(32), 'refused'))
    former.close()

    const server = new FakeServer()
    server.install()
    await drain()
    vi.restoreAllMocks()
    vi.unstubAllGlobals()
    expect(server.entries().map(({ id }) => id)).toEqual([ahead!.id, stray.id])
    expect(await db.outgoing.count()).toBe(0)
    expect((await db.refused.toArray()).map(({ id }) => id)).toEqual(['6'.repeat(32)])
    expect(await db.table('outbox').count()).toBe(0)
  })
})

describe('places', () => {
  beforeEach(mustHaveFreshDevice)
  const rows = (...ids: string[]) => ids.map((id) => waiting('entry', look(id), 0))

  it('are given behind all that waits, was refused or was ever sent', async () => {
    await db.write(async () => {
      await db.set({ offered: 7 })
      await post(rows('a', 'b'))
    })
    expect(await places()).toEqual([
      [8, 'a', 'a'],
      [9, 'b', 'b'],
    ])
    await db.write(async () => {
      for (const row of await db.outgoing.toArray()) await setAside(row, [], 'no.')
      await post(rows('c'))
      await postFirst(rows('d', 'e'))
    })
    expect(await places()).toEqual([
      [-1, 'd', 'd'],
      [0, 'e', 'e'],
      [10, 'c', 'c'],
    ])
  })

  it('are kept by what was refused and is sent again', async () => {
    await db.write(async () => {
      await post(rows('a', 'b'))
      const [first] = await db.outgoing.toArray()
      await setAside(
        first!,
        [{ field: 'bin', value: 'b1', accepted: 'give another' }],
        'bin is b1: give another.',
      )
    })
    expect(await countUnsent()).toBe(2)
    expect((await unsentRecords()).map(({ id }) => id)).toEqual(['a', 'b'])
    const before = (await db.refused.toArray())[0]!
    await tryAgain(before.position)
    await tryAgain(before.position) // a second tap
    expect(await places()).toEqual([
      [1, 'a', 'a'],
      [2, 'b', 'b'],
    ])
    expect((await db.outgoing.toArray())[0]).toEqual({
      ...waiting('entry', look('a'), 0),
      position: 1,
      since: before.since,
    })
    expect(await db.refused.count()).toBe(0)
  })

  it('are as they were where there is nothing to take over', async () => {
    await db.write(async () => post(rows('a')))
    await db.write(async () => takeOver(db), db.table('outbox'))
    expect(await places()).toEqual([[1, 'a', 'a']])
  })
})
