import { expect, it } from 'vitest'
import { inZone } from './clock'

// Offsets from the IANA time zone database: Berlin +01:00/+02:00, St John's -03:30, Kathmandu +05:45.
it.each([
  ['2026-01-15T12:00:00Z', 'Europe/Berlin', '2026-01-15T13:00:00+01:00'],
  ['2026-07-15T12:00:00Z', 'Europe/Berlin', '2026-07-15T14:00:00+02:00'],
  ['2026-01-15T12:00:00Z', 'America/St_Johns', '2026-01-15T08:30:00-03:30'],
  ['2026-01-15T12:00:00Z', 'Asia/Kathmandu', '2026-01-15T17:45:00+05:45'],
  ['2026-01-15T12:00:00Z', 'UTC', '2026-01-15T12:00:00Z'],
])('%s in %s', (instant, zone, want) => {
  expect(inZone(Date.parse(instant), zone)).toBe(want)
})
