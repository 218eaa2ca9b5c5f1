import { describe, expect, it } from 'vitest'
import type { Bin, Chore, Trip } from '../types'
import { mustBin, mustChore } from '../test/records'
import { renewalsWithin, tripAhead } from './tripRenewals'

const trip: Trip = {
  id: 't',
  name: 'Away',
  leaves: '2026-03-09',
  returns: '2026-03-21',
  from_hour: 9,
  to_hour: 20,
}

describe('the trip whose renewals are named', () => {
  it.each([
    ['2026-02-08', undefined], // 29 days before
    ['2026-02-09', 't'],
    ['2026-03-09', 't'], // the day of leaving
    ['2026-03-10', undefined],
  ])('on %s: %s', (today, id) => expect(tripAhead([trip], today)?.id).toBe(id))
})

describe('a renewal within a trip', () => {
  const renewal = (from: Partial<Chore>) => mustChore({ bin: 'a', chore: 'renew', ...from })
  const age = (due: string) => renewal({ due, opens: '2026-02-20T17:00:00Z', why: { code: 'age' } })
  const within = (chore: Chore, from: Partial<Bin> = {}, one = trip) =>
    renewalsWithin(one, [chore], [mustBin({ id: 'a', ...from })], 'UTC').length === 1
  it.each([
    ['2026-03-08T18:00:00Z', false],
    ['2026-03-09T18:00:00Z', true],
    ['2026-03-21T18:00:00Z', true],
    ['2026-03-22T00:30:00Z', false],
  ])('that is wanted at %s: %s', (due, is) => expect(within(age(due))).toBe(is))

  it('is in the week in which it is planned, not at its end', () => {
    const week = (opens: string, due: string) => renewal({ opens, due, why: { code: 'planned' } })
    expect(within(week('2026-03-16T00:00:00Z', '2026-03-22T18:00:00Z'))).toBe(true)
    expect(within(week('2026-03-02T00:00:00Z', '2026-03-10T18:00:00Z'))).toBe(false)
  })

  it('is nothing to name where a hand has put it, or the trip is not about the bin', () => {
    const due = age('2026-03-12T18:00:00Z')
    expect(within(due, { renew_moved: true })).toBe(false)
    expect(within(due, { deleted: true })).toBe(false)
    expect(within(due, {}, { ...trip, bins: ['b'] })).toBe(false)
    expect(within(due, {}, { ...trip, bins: ['a'] })).toBe(true)
    expect(within({ ...due, chore: 'feel' })).toBe(false)
  })
})
