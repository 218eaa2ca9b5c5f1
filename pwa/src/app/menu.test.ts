import { expect, it } from 'vitest'
import { foods } from '../data/seeds'
import { variety } from './menu'

it('one of each class comes before a second of any, the suggestion before all', () => {
  const ordered = variety(foods, 'potato')
  expect(ordered[0]?.slug).toBe('potato')
  const classes = ordered.slice(1, 6).map((food) => food.class)
  expect(new Set(classes).size).toBe(5)
  expect(ordered).toHaveLength(foods.length)
})

it('deleted foods are not offered', () => {
  expect(variety([{ ...foods[0]!, deleted: true }])).toEqual([])
})
