import { beforeEach, describe, expect, it, vi } from 'vitest'
import { mustAddBin, mustHaveFreshDevice } from '../test/room'
import type { Entry, Sheet } from '../types'
import { db } from './db'
import { discard, edit, log, mend, strike } from './log'
import { countUnsent, setAside } from './outbox'

beforeEach(mustHaveFreshDevice)

const outbox = () => db.outgoing.toArray()

describe('logging', () => {
  it('writes the entry and its place in the outbox together', async () => {
    const bin = await mustAddBin()
    const done = await log({ what: 'water', bin, water_ml: 30 })
    if (!done.ok) throw new Error('refused')
    const [entry] = done.record
    expect(entry).toMatchObject({ what: 'water', bin, by: 'p'.repeat(15), device: 'd'.repeat(32) })
    expect(await db.entries.get(entry!.id)).toMatchObject({ water_ml: 30, known: 0 })
    expect((await outbox()).map((row) => [row.sort, row.id])).toEqual([
      ['sheet', bin],
      ['entry', entry!.id],
    ])
  })

  it('keeps nothing of a wish with one bad record in it', async () => {
    const done = await log({ what: 'look', bin: 'b1' }, { what: 'water', bin: 'b1', water_ml: -3 })
    expect(done).toMatchObject({ ok: false, problems: [{ field: 'water_ml', value: '-3' }] })
    expect(await db.entries.count()).toBe(0)
    expect(await db.outgoing.count()).toBe(0)
  })

  it('keeps neither half where the database fails in between', async () => {
    const fail = vi.spyOn(db.outgoing, 'bulkAdd').mockRejectedValueOnce(new Error('disk full'))
    await expect(log({ what: 'look', bin: 'b1' })).rejects.toThrow('disk full')
    fail.mockRestore()
    expect(await db.entries.count()).toBe(0)
  })

  it('opens the database again where the connection was lost, once', async () => {
    const lost = new Error('Connection to Indexed Database server lost. Refresh the page to try again')
    const fail = vi.spyOn(db.outgoing, 'bulkAdd').mockRejectedValueOnce(lost)
    expect((await log({ what: 'look', bin: 'b1' })).ok).toBe(true)
    fail.mockRestore()
    expect(await db.outgoing.count()).toBe(1)
    expect(await db.entries.count()).toBe(1)
  })

  it('corrects the time by what the last exchange found', async () => {
    await db.set({ correction: 3_600_000 })
    const done = await log({ what: 'look', bin: 'b1' })
    if (!done.ok) throw new Error('refused')
    expect(Math.abs(Date.parse(done.record[0]!.at) - Date.now() - 3_600_000)).toBeLessThan(5000)
  })
})

describe('striking', () => {
  it('is an entry of its own, once', async () => {
    const done = await log({ what: 'look', bin: 'b1' })
    if (!done.ok) throw new Error('refused')
    const id = done.record[0]!.id
    const first = await strike(id)
    const second = await strike(id)
    expect(first).toEqual(second)
    expect(await db.entries.where('struck').equals(id).count()).toBe(1)
    if (!first.ok) throw new Error('refused')
    expect((await strike(first.record[0]!.id)).ok).toBe(false)
  })
})

describe('editing', () => {
  it('stamps only what is named, later than anything seen', async () => {
    const bin = await mustAddBin()
    const ahead = 'ffffffffff00-0000-other'
    await db.set({ stamp: ahead })
    await edit('bins', bin, { name: 'Calico' })
    const row = (await outbox()).at(-1)!
    const fields = (row.record as Sheet).fields
    expect(Object.keys(fields)).toEqual(['name'])
    expect(fields['name']!.s > ahead).toBe(true)
    const kept = await db.sheets.get(['bins', bin])
    expect(kept!.fields['name']!.v).toBe('Calico')
    expect(kept!.fields['rack']!.v).toBe('West')
  })

  it('says what is wrong with a bin 4 km long', async () => {
    const bin = await mustAddBin()
    const done = await edit('bins', bin, { length_mm: 4_000_000 })
    expect(done).toMatchObject({ ok: false, problems: [{ field: 'length_mm', value: '4000000' }] })
  })
})

describe('what was refused', () => {
  async function mustBeRefused(): Promise<{ position: number; id: string }> {
    const done = await log({ what: 'feed', bin: 'gone', food: 'melon' })
    if (!done.ok) throw new Error('refused at once')
    const row = (await outbox()).at(-1)!
    await db.write(async () => setAside(row, [], 'bin is gone: give a bin.'))
    return { position: row.position, id: row.id }
  }

  it('is mended under a new id, and the old one is gone', async () => {
    const bin = await mustAddBin()
    const { position, id } = await mustBeRefused()
    const done = await mend(position, { bin })
    if (!done.ok) throw new Error('not mended')
    expect(done.record).not.toBe(id)
    expect(await db.entries.get(id)).toBeUndefined()
    const rows = (await outbox()).filter((row) => row.sort === 'entry')
    expect(rows).toHaveLength(1)
    expect(rows[0]).toMatchObject({ record: { bin, food: 'melon' } })
    expect(await db.refused.count()).toBe(0)
    expect((rows[0]!.record as Entry).at).toBeTruthy()
  })

  it('can be dropped', async () => {
    const { position, id } = await mustBeRefused()
    await discard(position)
    expect(await db.entries.get(id)).toBeUndefined()
    expect(await countUnsent()).toBe(0)
  })

  it('leaves no field of a dropped edit behind, and fetches what was there before', async () => {
    const bin = await mustAddBin()
    await db.outgoing.clear()
    await db.set({ cursor: 7 })
    await edit('bins', bin, { name: 'Calico' })
    const [row] = await outbox()
    await db.write(async () => setAside(row!, [], 'name is Calico: give another.'))
    await discard(row!.position)
    const kept = await db.sheets.get(['bins', bin])
    expect(kept!.fields['name']).toBeUndefined()
    expect(kept!.fields['rack']!.v).toBe('West')
    expect(await db.get('cursor')).toBe(0)
  })
})
