import { readFileSync } from 'node:fs'
import { beforeEach, describe, expect, it } from 'vitest'
import { doubtsOf } from '../app/leaves'
import { blank, nextName, normalised } from '../app/larderDraft'
import { mustAddBin, mustHaveFreshDevice } from '../test/room'
import type { Batch, Doubt, Entry, Mix } from '../types'
import { db, entryRow } from './db'
import { byLastUse, freeSlug, whatWentInto, whereBatchWent, whereMixWent } from './larder'
import { createItem, log, strike } from './log'

beforeEach(mustHaveFreshDevice)

const file = new URL('../../../testdata/doubts.json', import.meta.url)
const vectors = JSON.parse(readFileSync(file, 'utf8')) as {
  cases: { batch: Partial<Batch>; doubts: Doubt[] }[]
}

it.each(vectors.cases)('leaves are doubtful as in Go: $doubts', ({ batch, doubts }) =>
  expect(doubtsOf(batch)).toEqual(doubts),
)

async function mustLog(draft: Parameters<typeof log>[0]): Promise<string> {
  const done = await log(draft)
  if (!done.ok) throw new Error(JSON.stringify(done.problems))
  return done.record[0]!.id
}

async function mustKeep(sort: Parameters<typeof createItem>[0], fields: object): Promise<string> {
  const done = await createItem(sort, fields)
  if (!done.ok) throw new Error(JSON.stringify(done.problems))
  return done.record
}

describe('tracing', () => {
  it('goes from a batch to its bins, by itself and through a mix, and back', async () => {
    const [a, b, c] = [await mustAddBin('A'), await mustAddBin('B'), await mustAddBin('C')]
    await mustKeep('batches', { slug: 'leaves 12', name: 'Leaves 12' })
    const parts = [
      { ingredient: 'Soil', share: 3 },
      { ingredient: 'Leaves', share: 1, batch: 'Leaves 12' },
    ]
    await mustKeep('mixes', { slug: 'house mix', name: 'House mix', parts })
    const day = (n: number) => new Date(Date.now() - n * 86_400_000).toISOString()
    await mustLog({ what: 'add leaves', bin: a, handfuls: 2, batch: 'leaves 12', at: day(3) })
    await mustLog({ what: 'add leaves', bin: a, handfuls: 1, batch: 'Leaves 12', at: day(1) })
    await mustLog({ what: 'add leaves', bin: b, handfuls: 2, batch: 'leaves 13', at: day(1) })
    const wrong = await mustLog({ what: 'add leaves', bin: b, handfuls: 2, batch: 'leaves 12' })
    await strike(wrong)
    await mustLog({ what: 'renew', bin: c, mix: 'house mix', at: day(2) })

    const went = await whereBatchWent('leaves 12')
    expect(went.map((one) => [one.entry.bin, one.through?.name])).toEqual([
      [a, undefined],
      [c, 'House mix'],
      [a, undefined],
    ])
    expect((await whereMixWent('House mix')).map((one) => one.entry.bin)).toEqual([c])
    expect((await whatWentInto(a)).map((entry) => entry.handfuls)).toEqual([1, 2])
    expect((await whatWentInto(a, Date.now() - 2 * 86_400_000)).map((entry) => entry.handfuls)).toEqual([1])
    expect((await whatWentInto(b)).map((entry) => entry.batch)).toEqual(['leaves 13'])
  })

  it('looks at few of many entries', async () => {
    const start = Date.now() - 700 * 86_400_000
    const rows = Array.from({ length: 4000 }, (_, i): Entry => {
      const bin = `bin${i % 200}`
      const named = i % 10 === 0
      return {
        id: `e${i}`,
        bin,
        at: new Date(start + i * 3_000_000).toISOString(),
        ...(named
          ? { what: 'add leaves', handfuls: 1, batch: `leaves ${Math.floor(i / 400)}` }
          : { what: 'feel', feel: 'damp' }),
      }
    })
    await db.entries.bulkPut(rows.map((entry) => entryRow(entry, { arrived: 1, known: 0 })))
    let read = 0
    const spy = () => (read += 1)
    db.entries.hook('reading', (row) => (spy(), row))
    const went = await whereBatchWent('Leaves 7')
    const into = await whatWentInto('bin40')
    expect(went).toHaveLength(40)
    expect(into).toHaveLength(20)
    // Both ways by an index: of 4,000 rows only those of the batch and of the bin are looked at.
    expect(read).toBeLessThan(400)
  })
})

it('what was used last lies first, what is used up lies nowhere', () => {
  const batch = (slug: string, more: Partial<Batch> = {}): Batch => ({ id: slug, slug, name: slug, ...more })
  const list = [
    batch('old', { gathered: '2026-01-01' }),
    batch('new', { gathered: '2026-03-01' }),
    batch('gone', { finished: '2026-02-01' }),
    batch('used'),
  ]
  const sorted = byLastUse(list, ['USED', 'gone'], (one) => one.gathered ?? '')
  expect(sorted.map((one) => one.slug)).toEqual(['used', 'old', 'new'])
})

it('a new thing gets a name of its own, and what is emptied is emptied', () => {
  expect(nextName([{ name: 'Leaves 11, oak' }, { name: 'Beech 3' }, { name: 'Leaves 7' }])).toBe('Leaves 12')
  expect(freeSlug('House mix', [{ slug: 'house mix' }, { slug: 'house mix (2)' }])).toBe('house mix (3)')
  const kept = { batches: [], mixes: [], stock: [], supplies: [] }
  const mix = blank('mixes', kept, '2026-06-01')
  expect(normalised('mixes', { ...mix, note: ' ' })).toEqual({
    name: 'House mix',
    mixed: '2026-06-01',
    parts: [],
  })
  const before = { id: 'm', note: 'wet' } as unknown as Mix
  expect(normalised('mixes', { name: 'M', note: '' }, before)).toEqual({ name: 'M', note: null, parts: [] })
})
