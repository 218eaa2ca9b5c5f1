import { expect, it } from 'vitest'
import { choose, isNews } from './offered'

const leftovers = (ignored: number) => ({ sort: 'leftovers' as const, ignored })
const digest = { sort: 'digest' as const, ignored: 6 }

it('an offer is made once, and again after five more or in a new row', () => {
  expect(isNews(leftovers(5), {})).toBe(true)
  for (const ignored of [5, 6, 9]) expect(isNews(leftovers(ignored), { leftovers: 5 })).toBe(false)
  expect(isNews(leftovers(10), { leftovers: 5 })).toBe(true)
  expect(isNews(leftovers(5), { leftovers: 8 })).toBe(true)
})

it('one at a time: during a visit the one that was begun with, and none after it was answered', () => {
  expect(choose([leftovers(5), digest], {}, undefined)).toEqual(leftovers(5))
  expect(choose([leftovers(5), digest], { leftovers: 5 }, undefined)).toEqual(digest)
  expect(choose([leftovers(6), digest], { leftovers: 5 }, 'leftovers')).toEqual(leftovers(6))
  expect(choose([digest], { leftovers: 5 }, 'leftovers')).toBeUndefined()
  expect(choose([], {}, undefined)).toBeUndefined()
})
