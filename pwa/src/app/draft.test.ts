import { expect, it } from 'vitest'
import { limits } from '../data/limits'
import { mustBin } from '../test/records'
import { changed, filled, newBin, standsThere } from './draft'

const today = '2026-03-01'

it('a new bin stands right of the last one and has the usual tub', () => {
  const all = [mustBin({ id: 'a', position: 1 }), mustBin({ id: 'b', shelf: 2, position: 5 })]
  const bin = newBin(all, limits.tub, today)
  expect([bin.rack, bin.shelf, bin.position, bin.substrate_renewed]).toEqual(['Window', 2, 6, today])
  expect(bin.length_mm).toBe(limits.tub.length_mm)
  expect(newBin(all, limits.tub, today, { rack: 'Window', shelf: 1 }).position).toBe(2)
  expect(newBin([], limits.tub, today).rack).toBe('')
})

it('a new tub is a copy: changing its vents leaves the usual ones alone', () => {
  const bin = newBin([], limits.tub, today)
  bin.openings.pop()
  expect(limits.tub.openings).toHaveLength(1)
})

it('knows who stands there already, never the bin itself', () => {
  const all = [mustBin({ id: 'a' })]
  expect(standsThere(all, mustBin({ id: 'b', rack: ' Window ' }))?.id).toBe('a')
  expect(standsThere(all, all[0]!)).toBeUndefined()
})

it('leaves empty fields out of a new record and trims names', () => {
  const fields = filled(mustBin({ id: '', name: ' Pied ', line: '', note: undefined, substrate_renewed: '' }))
  expect(fields.name).toBe('Pied')
  for (const name of ['id', 'line', 'note', 'substrate_renewed']) expect(fields).not.toHaveProperty(name)
})

it('an edit names only what changed; what was emptied is null', () => {
  const before = mustBin({ id: 'a', line: 'sea form', note: 'warps' })
  expect(
    changed(before, { ...before, line: '', shelf: 3, openings: structuredClone(before.openings) }),
  ).toEqual({ line: null, shelf: 3 })
  expect(changed(before, before)).toEqual({})
})
