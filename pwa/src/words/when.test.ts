import { expect, it } from 'vitest'
import { dayAndMonth } from './when'

it.each([
  ['2026-12-08', '2026-11-26', '8 December'],
  ['2027-01-08', '2026-11-26', '8 January 2027'],
  ['2025-12-08', '2026-11-26', '8 December 2025'],
  ['2027-01-08', undefined, '8 January'],
])('%s, today %s: %s', (day, today, said) => expect(dayAndMonth(day, 'en-GB', today)).toBe(said))
