import { expect, it } from 'vitest'
import { foods } from '../data/seeds'
import type { Bin, Feeding } from '../types'
import { boardOf, draftsOf, fedBins, inScope, sayPick, scopesOf } from './feeding'

const row = { bans: [], share: 0.25, low: 0.1, high: 0.4, looks: 0, limed: null }
const plan: Feeding = {
  at: '2026-06-01T18:00:00Z',
  bins: [
    { ...row, bin: 'a', state: 'feed', pick: { food: 'carrot', pieces: 2, why: ['in turn'] } },
    {
      ...row,
      bin: 'b',
      state: 'feed',
      pick: { food: 'carrot', pieces: 3, why: ['variety'], calcium: 'cuttlebone' },
    },
    { ...row, bin: 'c', state: 'look first', pick: { calcium: 'cuttlebone' } },
    { ...row, bin: 'd', state: 'early' },
    { ...row, bin: 'e', state: 'nothing', pick: {} },
  ],
  foods: [],
  board: [
    { food: 'carrot', pieces: 5, bins: 2 },
    { food: 'cuttlebone', pieces: 2, bins: 2 },
  ],
  looked: 24,
}

it('logs the meals with the pieces that were changed, and calcium where it is due', () => {
  expect(draftsOf(plan, { b: 7 })).toEqual([
    { what: 'feed', bin: 'a', food: 'carrot', pieces: 2 },
    { what: 'feed', bin: 'b', food: 'carrot', pieces: 7 },
    { what: 'feed', bin: 'b', food: 'cuttlebone', pieces: 1 },
    { what: 'feed', bin: 'c', food: 'cuttlebone', pieces: 1 },
  ])
  expect(fedBins(plan).map((one) => one.bin)).toEqual(['a', 'b'])
})

it('what is on the board is what is given', () => {
  expect(boardOf(plan, { b: 7 })).toEqual([
    { food: 'carrot', pieces: 9, bins: 2 },
    { food: 'cuttlebone', pieces: 2, bins: 2 },
  ])
})

it('a scope is a rack, a shelf, or every bin that is due', () => {
  const at = (id: string, rack: string, shelf: number) => ({ id, rack, shelf }) as Bin
  const bins = [at('a', 'West', 1), at('b', 'West', 2), at('c', 'East', 1)]
  expect(scopesOf(bins).map((one) => inScope(one.value, bins))).toEqual([
    ['c'],
    ['c'],
    ['a', 'b'],
    ['a'],
    ['b'],
  ])
  expect(inScope('', bins)).toEqual([])
})

it('a pick is said with its reasons', () => {
  expect(sayPick({ food: 'dried shrimp', why: ['protein', 'variety'], share: 0.25, days: 9 }, foods)).toBe(
    'Dried shrimp: protein is due, about one in 4 meals here and not had for 9 days',
  )
  expect(sayPick({ food: 'carrot', why: ['variety'] }, foods)).toBe('Carrot: new here')
  expect(sayPick({}, foods)).toBe('Nothing at hand fits this bin today.')
})
