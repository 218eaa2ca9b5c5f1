import { expect, it } from 'vitest'
import { kinds } from '../data/seeds'
import { mustBin } from '../test/records'
import { atPlace, findBins } from './find'

const bins = [
  mustBin({
    id: 'a',
    name: 'Pied pillbugs',
    rack: 'Window',
    shelf: 2,
    position: 3,
    kind: 'armadillidium-vulgare',
  }),
  mustBin({
    id: 'b',
    name: 'Little sea',
    rack: 'Window',
    shelf: 2,
    position: 13,
    kind: 'cubaris',
    line: 'from Málaga',
  }),
  mustBin({ id: 'c', name: 'Sea form', rack: 'Winter', shelf: 1, position: 1, kind: 'cubaris' }),
]
const ids = (typed: string) => findBins(bins, kinds, typed).map((bin) => bin.id)

it.each([
  ['W2-3', 'a'],
  ['w2 3', 'a'],
  [' w23 ', 'a'],
  ['W2-13', 'b'],
  ['W2', undefined],
  ['', undefined],
])('%s is the place of %s', (typed, id) => expect(atPlace(bins, typed)?.id).toBe(id))

it('two bins in one place are nobody s', () => {
  expect(atPlace([bins[0]!, { ...bins[1]!, position: 3 }], 'w2-3')).toBeUndefined()
})

it.each([
  ['pied', ['a']],
  ['vulgare', ['a']],
  ['sea', ['c', 'b']], // the name that begins with it first
  ['malaga', ['b']],
  ['cubaris winter', ['c']],
  ['w2', ['a', 'b']],
  ['nothing like it', []],
  ['   ', []],
])('%s finds %j', (typed, found) => expect(ids(typed)).toEqual(found))
