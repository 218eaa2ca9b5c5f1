import { describe, expect, it } from 'vitest'
import { level, mustBin, mustGlance } from '../test/records'
import {
  arc,
  crumbs,
  dampLeft,
  holes,
  leaves,
  MOST_LEAVES,
  morsels,
  outline,
  reach,
  soil,
  soilTop,
  tub,
  VIEW,
} from './drawing'

const usual = mustBin({ id: 'usual' })

describe('every tub that the rules allow', () => {
  const tubs = [
    usual,
    mustBin({ id: 'longest', length_mm: 2000, width_mm: 40, height_mm: 30, substrate_depth_mm: 5 }),
    mustBin({ id: 'tallest', length_mm: 40, width_mm: 40, height_mm: 1500, substrate_depth_mm: 800 }),
    mustBin({ id: 'deeper than high', height_mm: 60, substrate_depth_mm: 800 }),
    mustBin({ id: 'round', shape: 'round', damp_end: 'back', lid_gap_mm: 10 }),
    mustBin({
      id: 'many holes',
      openings: [
        { where: 'lid', shape: 'round', diameter_mm: 500, count: 2000 },
        { where: 'side', shape: 'rectangle', length_mm: 2000, width_mm: 2000, count: 2000 },
      ],
    }),
  ]
  it.each(tubs.map((bin) => [bin.id, bin] as const))('%s stays inside its picture', (_, bin) => {
    const t = tub(bin)
    expect(t.left).toBeGreaterThanOrEqual(6)
    expect(t.right).toBeLessThanOrEqual(VIEW.width - 6)
    expect(t.lidTop).toBeGreaterThanOrEqual(0)
    const top = soilTop(bin, t)
    expect(top).toBeGreaterThan(t.top)
    expect(top).toBeLessThan(VIEW.floor)
    for (const hole of holes(bin, t)) {
      expect(hole.x).toBeGreaterThanOrEqual(t.left)
      expect(hole.x + hole.width).toBeLessThanOrEqual(t.right)
      expect(hole.width).toBeGreaterThan(0)
    }
    for (const path of [outline(t), soil(bin, t), crumbs(bin, level(0), t, 'large')])
      expect(path).not.toMatch(/NaN|Infinity/)
  })
})

it('proportions are the tub, as far as there is room for what is in it', () => {
  const high = (length: number) =>
    VIEW.floor - tub(mustBin({ id: 'a', length_mm: length, height_mm: 120 })).top
  expect(high(400) / high(800)).toBeCloseTo(63.6 / 44, 2) // the flat one is held to its least height
  expect(high(300) / high(400)).toBeCloseTo(4 / 3, 1)
})

it('a section from front to back runs along the width', () => {
  const across = tub(mustBin({ id: 'a', damp_end: 'front', length_mm: 400, width_mm: 200, height_mm: 100 }))
  expect(across.scale).toBeCloseTo(1.06, 2)
  expect(dampLeft(mustBin({ id: 'a', damp_end: 'front' }))).toBe(true)
  expect(dampLeft(mustBin({ id: 'a', damp_end: 'back' }))).toBe(false)
})

it.each([
  [{ mean: 1, low: 0.9, high: 1.1 }, 0.5, [0.45, 0.5, 0.55]],
  [{ mean: 0, low: 0, high: 0 }, 0.5, [0, 0, 0.02]],
  [{ mean: 1.3, low: 1.2, high: 1.5 }, 1, [1, 1, 1.02]],
  [{ mean: 0.5, low: 0.8, high: 0.2 }, 1, [0.2, 0.5, 0.8]],
])('the damp reaches as far as the forecast: %j', (damp, share, expected) => {
  const { low, mean, high } = reach(mustBin({ id: 'a', damp_share: share }), damp)
  ;[low, mean, high].forEach((x, i) => expect(x).toBeCloseTo(expected[i]!, 6))
})

it('leaves lie as deep as the gauge, what may be is only outlined', () => {
  const t = tub(usual)
  const here = (mean: number, wide = 0) => leaves(usual, level(mean, wide), t, 'medium')
  expect(here(0).filter((leaf) => leaf.here)).toHaveLength(0)
  expect(here(0.5).filter((leaf) => leaf.here)).toHaveLength(MOST_LEAVES / 2)
  expect(here(1.3).filter((leaf) => leaf.here)).toHaveLength(MOST_LEAVES)
  expect(here(0.5, 0.25).filter((leaf) => leaf.maybe)).toHaveLength(MOST_LEAVES / 4)
  expect(here(0.3).map(({ x, y }) => [x, y])).toEqual(here(0.9).map(({ x, y }) => [x, y])) // no leaf jumps
})

it('frass shows as more and more dots', () => {
  const dots = (fresh: number) => crumbs(usual, level(fresh), tub(usual), 'medium').split('h.01').length - 1
  expect(dots(1)).toBe(0)
  expect(dots(0.5)).toBe(22)
  expect(dots(0)).toBe(44)
})

it('food lies on the dry half, the oldest first, and its fuse never runs over a full turn', () => {
  const food = ['c', 'a', 'b', 'd'].map((of, i) => ({
    of,
    food: 'melon',
    since: `2026-03-0${i + 1}T10:00:00Z`,
    pieces: 1,
    gone: 0.9,
    mouldy: 0.9,
  }))
  const shown = morsels(usual, mustGlance({ bin: 'a', food }), tub(usual))
  expect(shown.map((one) => one.lying.of)).toEqual(['c', 'a', 'b'])
  expect(shown[0]!.x).toBeGreaterThan(VIEW.width / 2)
  expect(shown[0]!.fuzz).toBe(1) // a tenth is left to be mouldy
})

it('an arc starts at the top and runs clockwise', () => {
  expect(arc(0, 0, 10, 0, 0.25)).toBe('M0 -10A10 10 0 0 1 10 0')
  expect(arc(0, 0, 10, 0, 0.75)).toBe('M0 -10A10 10 0 1 1 -10 0')
  expect(arc(0, 0, 10, 0.5, 0.5)).toBe('')
})
