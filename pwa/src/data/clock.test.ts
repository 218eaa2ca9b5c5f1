import { expect, it } from 'vitest'
import { clockChanges, inZone } from './clock'

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

// Changes of 2026 from the IANA time zone database (from memory); Kathmandu has none.
it.each([
  ['Europe/Berlin', ['2026-03-29T01:00:00Z', 7200], ['2026-10-25T01:00:00Z', 3600]],
  ['America/New_York', ['2026-03-08T07:00:00Z', -14400], ['2026-11-01T06:00:00Z', -18000]],
  ['Australia/Lord_Howe', ['2026-04-04T15:00:00Z', 37800], ['2026-10-03T15:30:00Z', 39600]],
  ['Asia/Kathmandu'],
] as [string, ...[string, number][]][])('the clocks of %s', (zone, ...want) => {
  const all = clockChanges(zone, Date.parse('2026-06-01T12:00:00Z'))
  const found = all.filter(({ at }) => new Date(at * 1000).getUTCFullYear() === 2026)
  expect(found.map(({ at, offset }) => [at, offset])).toEqual(
    want.map(([at, offset]) => [Date.parse(at) / 1000, offset]),
  )
  expect(all.some((one) => one.daylight)).toBe(want.length > 0)
})

it('between changes clocks are as far ahead as the last one said', () => {
  const around = Date.parse('2026-06-01T12:00:00Z')
  for (const zone of ['Europe/Berlin', 'Australia/Lord_Howe', 'Africa/Casablanca']) {
    const all = clockChanges(zone, around)
    for (let at = around - 390 * 86_400_000; at < around + 790 * 86_400_000; at += 31 * 3_600_000) {
      const last = all.findLast((one) => one.at * 1000 <= at)!
      const local = new Date(at + last.offset * 1000).toISOString().slice(0, 19)
      expect(inZone(at, zone).slice(0, 19)).toBe(local)
    }
  }
})
