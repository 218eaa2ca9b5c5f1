import { describe, expect, it } from 'vitest'
import type { Survey } from '../types'
import { mustBin, mustChore, mustGlance } from '../test/records'
import { byShelf, minutes, nextChore, stops, wantsByBin } from './round'

const now = new Date('2026-03-01T18:00:00Z')
const hours = (n: number) => new Date(now.getTime() + n * 3_600_000).toISOString()
const survey = (chores: Survey['chores']): Survey => ({
  at: now.toISOString(),
  chores,
  glances: [mustGlance({ bin: 'a' })],
})

describe('stops', () => {
  const cases: { name: string; opens: number; due: number; stop: boolean }[] = [
    { name: 'open and due now', opens: -3, due: 0, stop: true },
    { name: 'overdue', opens: -90, due: -40, stop: true },
    { name: 'due in exactly twelve hours', opens: -1, due: 12, stop: true },
    { name: 'opens later tonight and due before the next round', opens: 5, due: 11, stop: true },
    { name: 'open but due after the next round', opens: -1, due: 12.1, stop: false },
    { name: 'neither open nor due', opens: 20, due: 30, stop: false },
  ]
  it.each(cases)('$name: $stop', ({ opens, due, stop }) => {
    const found = stops(
      [mustBin({ id: 'a' })],
      survey([mustChore({ bin: 'a', opens: hours(opens), due: hours(due) })]),
      now,
    )
    expect(found.length > 0).toBe(stop)
  })

  it('stand in walking order: rack, shelf, position', () => {
    const bins = [
      mustBin({ id: 'd', rack: 'Window', shelf: 2, position: 10 }),
      mustBin({ id: 'c', rack: 'Window', shelf: 2, position: 9 }),
      mustBin({ id: 'b', rack: 'Window', shelf: 1, position: 2 }),
      mustBin({ id: 'a', rack: 'Door 2', shelf: 3, position: 1 }),
      mustBin({ id: 'z', rack: 'Door 10', shelf: 1, position: 1 }),
    ]
    const found = stops(bins, survey(bins.map((bin) => mustChore({ bin: bin.id }))), now)
    expect(found.map((stop) => stop.bin.id)).toEqual(['a', 'z', 'b', 'c', 'd'])
  })

  it('leave out deleted bins and chores of bins that are not here', () => {
    const chores = [mustChore({ bin: 'a' }), mustChore({ bin: 'elsewhere' })]
    expect(stops([mustBin({ id: 'a', deleted: true })], survey(chores), now)).toEqual([])
  })

  it('carry what is open but due later as optional, the most urgent wish first', () => {
    const chores = [
      mustChore({ bin: 'a', chore: 'leaves', due: hours(30), opens: hours(-1) }),
      mustChore({ bin: 'a', chore: 'feed', due: hours(10) }),
      mustChore({ bin: 'a', chore: 'feel', due: '2026-03-01T20:00:00+03:00' }), // 17:00 UTC
      mustChore({ bin: 'a', chore: 'renew', opens: hours(40), due: hours(80) }),
    ]
    const [stop] = stops([mustBin({ id: 'a' })], survey(chores), now)
    expect(stop?.wanted.map((chore) => chore.chore)).toEqual(['feel', 'feed'])
    expect(stop?.later.map((chore) => chore.chore)).toEqual(['leaves'])
  })

  it('are none before the first survey', () => {
    expect(stops([mustBin({ id: 'a' })], undefined, now)).toEqual([])
  })
})

it('stops stand under their shelves', () => {
  const bins = [
    mustBin({ id: 'a', shelf: 1 }),
    mustBin({ id: 'b', shelf: 1, position: 2 }),
    mustBin({ id: 'c', shelf: 4 }),
  ]
  const list = stops(bins, survey([mustChore({ bin: 'a' }), mustChore({ bin: 'b' })]), now)
  expect(byShelf(list).map(({ shelf, stops }) => [shelf, stops.length])).toEqual([[1, 2]])
})

it('the time grows with every stop and every chore, and is never nothing', () => {
  const bins = [mustBin({ id: 'a' }), mustBin({ id: 'b', position: 2 })]
  const one = stops(bins, survey([mustChore({ bin: 'a' })]), now)
  const two = stops(bins, survey([mustChore({ bin: 'a' }), mustChore({ bin: 'b', chore: 'renew' })]), now)
  expect(minutes([])).toBe(1)
  expect(minutes(one)).toBe(1) // 35 s at the bin and 30 s to feel
  expect(minutes(two)).toBe(17) // and 35 s and 15 min to renew
})

it('the next chore is the first one after this round', () => {
  const chores = [
    mustChore({ bin: 'a' }),
    mustChore({ bin: 'b', due: hours(50) }),
    mustChore({ bin: 'c', due: hours(13) }),
  ]
  expect(nextChore(survey(chores), now)?.bin).toBe('c')
  expect(nextChore(undefined, now)).toBeUndefined()
})

it('wants are gathered by bin', () => {
  const wants = wantsByBin(
    survey([
      mustChore({ bin: 'a' }),
      mustChore({ bin: 'a', chore: 'feed' }),
      mustChore({ bin: 'b', due: hours(99) }),
    ]),
    now,
  )
  expect([...wants]).toEqual([['a', ['feel', 'feed']]])
})
