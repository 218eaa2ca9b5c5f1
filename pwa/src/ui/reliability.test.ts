import { expect, it } from 'vitest'
import { bounds, DIAGRAM, dot, x, y } from './reliability'

// Computed with R 4.2.2 (prop.test, correct = FALSE); the first four equal the
// examples of R. G. Newcombe, Stat. Med. 17 (1998) 857-872, table I, as
// remembered; the last is the third seen from the other side.
it.each([
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
  [20, 20, 0.8389, 1],
])('%i of %i lies between %f and %f', (times, n, low, high) => {
  expect(bounds(times, n)[0]).toBeCloseTo(low, 4)
  expect(bounds(times, n)[1]).toBeCloseTo(high, 4)
})

it('nothing seen bounds nothing', () => {
  expect(bounds(0, 0)).toEqual([0, 1])
})

it('a call that came true as often as called lies on the diagonal', () => {
  const d = dot({ from: 0.2, to: 0.3, n: 40, called: 0.25, observed: 0.25 }, 40)
  const across = (d.x - x(0)) / (x(1) - x(0))
  const up = (d.y - y(0)) / (y(1) - y(0))
  expect(across).toBeCloseTo(0.25, 9)
  expect(up).toBeCloseTo(across, 9)
  expect(d.low).toBeGreaterThan(d.y)
  expect(d.high).toBeLessThan(d.y)
})

it('dots grow by area and stay inside', () => {
  const at = (n: number) => dot({ from: 0.9, to: 1, n, called: 1, observed: 1 }, 100)
  expect(at(100).r / at(25).r).toBeCloseTo(2, 9)
  expect(at(1).r).toBeGreaterThanOrEqual(4)
  expect(at(100).x + at(100).r).toBeLessThanOrEqual(DIAGRAM.width)
  expect(at(100).y - at(100).r).toBeGreaterThanOrEqual(0)
})
