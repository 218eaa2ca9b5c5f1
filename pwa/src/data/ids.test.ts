import { expect, it } from 'vitest'
import { newId } from './ids'

it('an id is a UUIDv7 (RFC 9562, section 5.7) as 32 hex digits that sort by time', () => {
  const early = newId(1_645_557_742_000)
  // The time of the RFC's example in appendix A.6: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F.
  expect(early.slice(0, 12)).toBe('017f22e279b0')
  expect(early).toMatch(/^[0-9a-f]{12}7[0-9a-f]{3}[89ab][0-9a-f]{15}$/)
  expect(newId(1_645_557_742_001) > early).toBe(true)
})
