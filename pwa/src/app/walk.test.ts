import { beforeEach, describe, expect, it, vi } from 'vitest'
import { mustBin, mustChore } from '../test/records'
import type { EntryDraft } from '../types'
import type { Stop } from './round'

/** The local database, as far as a walk knows it: what was logged and struck, in turn. */
const written: string[] = []
let count = 0
let refuse = false
vi.mock('../data/log', () => ({
  log: async (...drafts: EntryDraft[]) => {
    await Promise.resolve()
    if (refuse)
      return {
        ok: false,
        problems: [{ field: 'water_ml', value: '-3', accepted: 'give a number from 1 to 2000 mL' }],
      }
    const record = drafts.map((draft) => ({ ...draft, id: `e${++count}`, at: '' }))
    for (const entry of record) written.push(`${entry.id} ${entry.what}${entry.feel ? ` ${entry.feel}` : ''}`)
    return { ok: true, record }
  },
  strike: async (id: string) => {
    written.push(`strike ${id}`)
    return { ok: true, record: [] }
  },
}))
const { walk } = await import('./walk.svelte')

const now = new Date('2026-03-01T18:00:00Z')
const bin = mustBin({ id: 'a' })
const stop = (...sorts: ('feel' | 'feed' | 'leaves' | 'look')[]): Stop => ({
  bin,
  glance: undefined,
  wanted: sorts.map((chore) => mustChore({ bin: 'a', chore })),
  later: [],
})
const feel = (word: 'dry' | 'damp') => walk.say('a', 'feel', [{ what: 'feel', bin: 'a', feel: word }], word)

beforeEach(() => {
  walk.end()
  written.length = 0
  count = 0
  refuse = false
})

describe('a walk', () => {
  it('follows the forecast until something is answered, then keeps its questions', async () => {
    walk.see([stop('feel')], now)
    walk.see([stop('feel', 'feed')], now)
    expect(walk.open('a').map((chore) => chore.chore)).toEqual(['feel', 'feed'])
    await feel('damp')
    walk.see([], now)
    expect(walk.open('a').map((chore) => chore.chore)).toEqual(['feed'])
    expect(walk.isDone('a')).toBe(false)
    await walk.say('a', 'feed', [{ what: 'feed', bin: 'a', food: 'melon' }], 'Fed melon')
    expect(walk.isDone('a')).toBe(true)
  })

  it('forgets what the forecast took back before anything was answered', () => {
    walk.see([stop('feel')], now)
    walk.see([], now)
    expect(walk.wanted).toEqual({})
  })

  it('felt dry is not done before there was water', async () => {
    walk.see([stop('feel')], now)
    await feel('dry')
    expect([walk.isDone('a'), walk.isThirsty('a')]).toEqual([false, true])
    await walk.say('a', 'water', [{ what: 'water', bin: 'a', water_ml: 30 }], 'Watered')
    expect([walk.isDone('a'), walk.isThirsty('a')]).toEqual([true, false])
  })

  it('all well settles everything that was asked', async () => {
    walk.see([stop('feel', 'feed', 'leaves')], now)
    await walk.say('a', 'look', [{ what: 'look', bin: 'a' }], 'Looked in')
    expect(walk.isDone('a')).toBe(true)
  })

  it('another answer strikes the first, also when thumbs are faster than the database', async () => {
    walk.see([stop('feel')], now)
    await Promise.all([feel('dry'), feel('damp')])
    expect(walk.answer('a', 'feel')?.draft.feel).toBe('damp')
    const struck = written.filter((line) => line.startsWith('strike'))
    const kept = written.filter(
      (line) => line.startsWith('e') && !struck.includes(`strike ${line.split(' ')[0]}`),
    )
    expect(kept).toEqual(['e2 feel damp'])
  })

  it('undo strikes what was logged and asks again', async () => {
    walk.see([stop('feel')], now)
    await feel('damp')
    await walk.undo('a', 'feel')
    expect(written).toEqual(['e1 feel damp', 'strike e1'])
    expect(walk.isBegun('a')).toBe(false)
  })

  it('an undo before the entry is written still strikes it', async () => {
    walk.see([stop('feel')], now)
    await Promise.all([feel('damp'), walk.undo('a', 'feel')])
    expect(written).toEqual(['e1 feel damp', 'strike e1'])
  })

  it('a refused answer says why and leaves the earlier one standing', async () => {
    walk.see([stop('feel')], now)
    await feel('damp')
    refuse = true
    expect(await feel('dry')).toBe(false)
    expect(walk.failed['a']).toContain('give a number from 1 to 2000 mL')
    expect(walk.answer('a', 'feel')?.draft.feel).toBe('damp')
  })

  it('is over after a long pause', async () => {
    walk.see([stop('feel')], now)
    await feel('damp')
    walk.see([stop('feed')], new Date(Date.now() + 4 * 3_600_000))
    expect(walk.isBegun('a')).toBe(false)
    expect(walk.open('a').map((chore) => chore.chore)).toEqual(['feed'])
  })
})
