import { expect, it } from 'vitest'
import type { FanPoint } from '../types'
import { band, daily, FAN, levelAt, poured, scale, ticks, TOP_LEVEL, trace } from './chart'

const point = (at: string, p50: number): FanPoint => ({
  at,
  p05: p50 - 0.2,
  p25: p50 - 0.1,
  p50,
  p75: p50 + 0.1,
  p95: p50 + 0.2,
  dry: 0,
  risk: 0,
})
const points = [
  point('2026-03-01T00:00:00Z', 1),
  point('2026-03-02T00:00:00Z', 0.5),
  point('2026-03-03T00:00:00Z', 0.25),
]
const s = scale(Date.parse(points[0]!.at), Date.parse(points[2]!.at))

it('the ends of the time axis are the edges, the levels are held inside', () => {
  expect(s.x(s.from)).toBe(FAN.left)
  expect(s.x(s.to)).toBe(FAN.width - FAN.right)
  expect(s.y(TOP_LEVEL)).toBe(FAN.top)
  expect(s.y(0)).toBe(FAN.height - FAN.bottom)
  expect(s.y(9)).toBe(FAN.top)
  expect(s.y(-9)).toBe(FAN.height - FAN.bottom)
})

it('the level between points lies on the line', () => {
  expect(levelAt(points, Date.parse('2026-03-01T12:00:00Z'))).toBeCloseTo(0.75, 9)
  expect(levelAt(points, s.from - 1)).toBe(1)
  expect(levelAt(points, s.to + 1)).toBe(0.25)
  expect(levelAt([], 0)).toBe(0)
})

it('a band goes there on its upper edge and back on its lower', () => {
  expect(band(points, 'p05', 'p95', s).split('L')).toHaveLength(6)
  expect(trace(points, 'p50', s)).toMatch(/^M6 /)
  expect(band(points.slice(0, 1), 'p05', 'p95', s)).toBe('')
})

it('the table has one row a day', () => {
  const twice = [points[0]!, point('2026-03-01T18:00:00Z', 0.9), points[1]!]
  expect(daily(twice, (at) => at.toISOString().slice(0, 10))).toEqual([points[0], points[1]])
})

it('labels stay clear of the edges', () => {
  const month = scale(Date.parse('2026-03-01'), Date.parse('2026-03-29'))
  const all = ticks(month, 4)
  expect(all.length).toBeGreaterThan(5)
  for (const at of all) expect(month.x(at)).toBeGreaterThan(30)
})

it('a disc is filled from below', () => {
  expect(poured(10, 10, 6, 0)).toBe('')
  expect(poured(10, 10, 6, 0.5)).toBe('M4 10A6 6 0 0 0 16 10Z')
  expect(poured(10, 10, 6, 0.75)).toBe('M4.8 7A6 6 0 1 0 15.2 7Z')
})
