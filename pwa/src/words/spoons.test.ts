import { expect, it } from 'vitest'
import { dose, measure, spoons } from './spoons'

it.each([
  [2, '1\u00a0teaspoon'],
  [5, '1\u00a0teaspoon'],
  [10, '2\u00a0teaspoons'],
  [12.5, '1\u00a0tablespoon'],
  [15, '1\u00a0tablespoon'],
  [20, '1½\u00a0tablespoons'],
  [29.6, '2\u00a0tablespoons'],
  [90, '6\u00a0tablespoons'],
])('%d mL', (ml, said) => expect(spoons(ml)).toBe(said))

it('says the millilitres beside the spoons', () => expect(dose(29.6)).toBe('2\u00a0tablespoons (30\u00a0mL)'))

it.each([
  [45, '3\u00a0tablespoons (45\u00a0mL)', '3\u00a0tablespoons'],
  [52, '50\u00a0mL (3½\u00a0tablespoons)', '50\u00a0mL'],
  [81.3, '80\u00a0mL (5½\u00a0tablespoons)', '80\u00a0mL'],
])('%f mL: above three spoons the millilitres lead', (ml, whole, leads) => {
  expect(dose(ml)).toBe(whole)
  expect(measure(ml)).toBe(leads)
})

it('is never further from the dose than a third, nor than 4 mL above a tablespoon', () => {
  for (let ml = 4; ml <= 300; ml++) {
    const [number = '', measure = ''] = spoons(ml).split('\u00a0')
    const count = Number(number.replace('½', '.5'))
    const said = count * (measure.startsWith('table') ? 15 : 5)
    expect(Math.abs(said - ml)).toBeLessThanOrEqual(Math.max(4, ml / 3))
  }
})
