import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import { db } from '../data/db'
import { edit, log } from '../data/log'
import { mustAddBin, mustHaveFreshDevice } from '../test/room'
import { FakeServer } from '../test/server'
import { drain } from './exchange'
import { isLittle } from './keeping'
import { readUnsent, saveUnsent } from './unsent'

beforeEach(mustHaveFreshDevice)
afterEach(() => vi.unstubAllGlobals())

it('brings unsent records back from a file, on an emptied device, and stores them once', async () => {
  const bin = await mustAddBin('Pied')
  await log({ what: 'look', bin })
  await edit('bins', bin, { name: 'Calico' })
  const file = await saveUnsent()
  const ids = (await db.outgoing.toArray()).map((row) => row.id)
  await mustHaveFreshDevice()
  expect(await readUnsent(file)).toEqual({ taken: 3, already: 0, problems: [] })
  expect((await db.outgoing.toArray()).map((row) => row.id)).toEqual(ids)
  expect((await db.sheets.get(['bins', bin]))!.fields['name']!.v).toBe('Calico')
  expect(await readUnsent(file)).toEqual({ taken: 0, already: 3, problems: [] })

  const server = new FakeServer()
  server.install()
  await drain()
  expect(server.entries()).toHaveLength(1)
  expect(server.sheet(bin)!.fields['name']!.v).toBe('Calico')
})

it('names the lines that are not right, and takes the others', async () => {
  const good = { type: 'entry', id: 'a'.repeat(32), what: 'look', bin: 'b1', at: '2026-05-01T08:00:00Z' }
  const lines = ['{"half":', '[]', '{"type":"book","id":"x"}', JSON.stringify({ ...good, what: 'sing' }), '']
  const file = new Blob([[...lines, JSON.stringify(good)].join('\n')])
  const found = await readUnsent(file)
  expect(found.taken).toBe(1)
  expect(found.problems.map((one) => one.line)).toEqual([1, 2, 3, 4])
  for (const { sentence } of found.problems) expect(sentence).toMatch(/\.$/)
})

it('a full device says so and saves nothing by half', async () => {
  const full = Object.assign(new Error('The transaction failed'), {
    name: 'AbortError',
    inner: Object.assign(new Error(''), { name: 'QuotaExceededError' }),
  })
  const write = vi.spyOn(db, 'write').mockRejectedValueOnce(full)
  const done = await log({ what: 'look', bin: 'b1' })
  write.mockRestore()
  expect(done).toMatchObject({ ok: false, problems: [{ value: 'full' }] })
  expect(await db.entries.count()).toBe(0)
})

it('little room is told at nine tenths, or with less than a few photos to go', () => {
  expect(isLittle(0, 0)).toBe(false) // nobody knows
  expect(isLittle(10e6, 1e9)).toBe(false)
  expect(isLittle(910e6, 1e9)).toBe(true)
  expect(isLittle(1e9 - 20e6, 1e9)).toBe(true)
  expect(isLittle(30e6, 50e6)).toBe(true)
})
