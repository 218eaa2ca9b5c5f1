import { describe, expect, it } from 'vitest'
import {
  capacity,
  doseSteps,
  fromCelsius,
  fromMm,
  halves,
  ML_PER_TABLESPOON,
  stepsToMl,
  toCelsius,
  toMm,
  volume,
} from './units'

// A US tablespoon is half a US fluid ounce; a US gallon of 231 cubic inches has
// 128 of those (NIST Handbook 44, appendix C): 14.786 764 781 25 mL.
it('the tablespoon is exact', () => expect(ML_PER_TABLESPOON).toBeCloseTo(14.78676478125, 10))

describe('doses in whole steps', () => {
  it.each([
    [37, 'us', 5, '2½\u00a0tbsp'],
    [7.4, 'us', 1, '½\u00a0tbsp'],
    [1, 'us', 1, '½\u00a0tbsp'],
    [29.6, 'us', 4, '2\u00a0tbsp'],
    [44.4, 'us', 6, '3\u00a0tbsp'],
    [51.8, 'us', 7, '50\u00a0mL (3½\u00a0tbsp)'],
    [81.3, 'us', 11, '80\u00a0mL (5½\u00a0tbsp)'],
    [37, 'metric', 7, '35\u00a0mL'],
    [38, 'metric', 8, '40\u00a0mL'],
    [0, 'metric', 1, '5\u00a0mL'],
  ] as const)('%f mL in %s', (ml, units, steps, written) => {
    expect(doseSteps(ml, units)).toBe(steps)
    expect(volume(stepsToMl(steps, units), units)).toBe(written)
  })

  it('every step comes back as itself', () => {
    for (const units of ['us', 'metric'] as const) {
      for (let steps = 1; steps <= 130; steps++) expect(doseSteps(stepsToMl(steps, units), units)).toBe(steps)
    }
  })
})

it('a dose that cannot be is shown as it was written', () => expect(volume(-3, 'us')).toBe('-3\u00a0mL'))

it.each([
  [1, '½'],
  [2, '1'],
  [5, '2½'],
  [0, '0'],
])('%d halves are %s', (n, written) => expect(halves(n)).toBe(written))

it('inches and back lose less than a hundredth of an inch', () => {
  for (const mm of [40, 200, 340, 2000])
    expect(Math.abs(toMm(fromMm(mm, 'us'), 'us') - mm)).toBeLessThan(0.254)
  expect(fromMm(340, 'metric')).toBe(340)
})

it('Fahrenheit at the fixed points', () => {
  expect(fromCelsius(0, 'us')).toBe(32)
  expect(fromCelsius(100, 'us')).toBe(212)
  expect(toCelsius(-40, 'us')).toBe(-40)
  expect(toCelsius(68, 'us')).toBe(20)
})

it('what a tub holds: a box of 100 by 100 by 100 mm a litre, or 1.06 US quarts of 946.35 mL', () => {
  expect(capacity(100, 100, 100, false, 'metric')).toBe('1\u00a0L')
  expect(capacity(100, 100, 100, false, 'us')).toBe('1.1\u00a0qt')
  expect(capacity(100, 100, 100, true, 'metric')).toBe('0.8\u00a0L')
})
