import { describe, expect, it } from 'vitest'
import { mustBin } from '../test/records'
import type { Bin } from '../types'
import { rearrange, shelvesOf, type Slot } from './shelves'

const bins: Bin[] = [
  mustBin({ id: 'a', position: 1 }),
  mustBin({ id: 'b', position: 2 }),
  mustBin({ id: 'c', position: 3 }),
  mustBin({ id: 'gap', position: 6 }),
  mustBin({ id: 'x', shelf: 2, position: 1 }),
  mustBin({ id: 'y', rack: 'Door', position: 4 }),
]

/** The shelf as it stands after the edits: ids by position. */
function after(id: string, slot: Slot): string[] {
  const changes = rearrange(
    bins,
    bins.find((bin) => bin.id === id)!,
    slot,
  )
  const moved = bins.map((bin) => ({ ...bin, ...changes.find((change) => change.id === bin.id) }))
  const shelf = moved.filter((bin) => bin.rack === slot.rack && bin.shelf === slot.shelf)
  const places = shelf.map((bin) => bin.position)
  expect(new Set(places).size, 'no two bins in one place').toBe(places.length)
  return shelf.sort((a, b) => a.position - b.position).map((bin) => `${bin.id}${bin.position}`)
}

describe('putting a bin', () => {
  const cases: { name: string; id: string; slot: Slot; shelf: string[] }[] = [
    {
      name: 'between neighbours moves those that are in the way',
      id: 'x',
      slot: { rack: 'Window', shelf: 1, before: 'b' },
      shelf: ['a1', 'x2', 'b3', 'c4', 'gap6'],
    },
    {
      name: 'before a gap disturbs nobody',
      id: 'x',
      slot: { rack: 'Window', shelf: 1, before: 'gap' },
      shelf: ['a1', 'b2', 'c3', 'x5', 'gap6'],
    },
    {
      name: 'at the front',
      id: 'c',
      slot: { rack: 'Window', shelf: 1, before: 'a' },
      shelf: ['c1', 'a2', 'b3', 'gap6'],
    },
    {
      name: 'at the right end',
      id: 'a',
      slot: { rack: 'Window', shelf: 1 },
      shelf: ['b2', 'c3', 'gap6', 'a7'],
    },
    { name: 'on an empty shelf', id: 'a', slot: { rack: 'Window', shelf: 5 }, shelf: ['a1'] },
    { name: 'on another rack', id: 'a', slot: { rack: 'Door', shelf: 1 }, shelf: ['y4', 'a5'] },
  ]
  it.each(cases)('$name', ({ id, slot, shelf }) => expect(after(id, slot)).toEqual(shelf))

  it('where it stands already changes nothing', () => {
    expect(rearrange(bins, bins[1]!, { rack: 'Window', shelf: 1, before: 'c' })).toEqual([])
    expect(rearrange(bins, bins[3]!, { rack: 'Window', shelf: 1 })).toEqual([])
  })
})

it('racks hold their shelves, shelves their bins, in walking order', () => {
  const seen = shelvesOf([...bins].reverse()).map((rack) => [
    rack.rack,
    rack.shelves.map((one) => one.bins.map((bin) => bin.id).join('')),
  ])
  expect(seen).toEqual([
    ['Door', ['y']],
    ['Window', ['abcgap', 'x']],
  ])
})
