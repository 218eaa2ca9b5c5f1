import { expect, it } from 'vitest'
import { visitDays } from './trip'

const trip = { leaves: '2026-11-24', returns: '2026-11-28' }

it.each([
  ['before', '2026-11-20', ['2026-11-24', '2026-11-25', '2026-11-26', '2026-11-27']],
  ['underway', '2026-11-26', ['2026-11-26', '2026-11-27']],
  ['on the day of coming back', '2026-11-28', []],
])('no day that is past is offered for a visit: %s', (_, today, days) => {
  expect(visitDays(trip, today)).toEqual(days)
})
