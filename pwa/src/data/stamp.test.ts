import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { Sheet } from '../types'
import { laterStamp, merge, nextStamp } from './stamp'

interface Case {
  name: string
  now: number
  device: string
  seen: string
  want: string
}

const file = new URL('../../../testdata/stamps.json', import.meta.url)
const vectors = JSON.parse(readFileSync(file, 'utf8')) as { cases: Case[] }

describe('the clock of stamps, as in Go', () => {
  it.each(vectors.cases)('$name', ({ now, device, seen, want }) => {
    expect(nextStamp(now, device, seen)).toBe(want)
  })
})

describe('merging', () => {
  const sheet = (fields: Sheet['fields']): Sheet => ({ sheet: 'bins', id: 'b1', fields })
  const early = '000000000001-0000-a'
  const late = '000000000002-0000-a'

  it('takes the later stamp of each field, whoever arrives first', () => {
    const mine = sheet({ name: { v: 'Mine', s: late }, shelf: { v: 1, s: early } })
    const theirs = sheet({ name: { v: 'Theirs', s: early }, shelf: { v: 2, s: late } })
    const want = { name: { v: 'Mine', s: late }, shelf: { v: 2, s: late } }
    expect(merge(mine, theirs).fields).toEqual(want)
    expect(merge(theirs, mine).fields).toEqual(want)
  })

  it('decides equal stamps by the value, the same on both sides', () => {
    const one = sheet({ name: { v: 'A', s: late } })
    const other = sheet({ name: { v: 'B', s: late } })
    expect(merge(one, other).fields).toEqual(merge(other, one).fields)
  })

  it('leaves its arguments as they were', () => {
    const mine = sheet({ name: { v: 'Mine', s: early } })
    merge(mine, sheet({ name: { v: 'Theirs', s: late } }))
    expect(mine.fields['name']!.v).toBe('Mine')
  })
})

it('an unreadable stamp is never the later one', () => {
  expect(laterStamp('', '000000000001-0000-a')).toBe('000000000001-0000-a')
  expect(laterStamp('000000000001-0000-a', 'zzz')).toBe('000000000001-0000-a')
})
