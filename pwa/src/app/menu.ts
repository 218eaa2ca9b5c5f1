import type { Food } from '../types'

/**
 * Foods in the order in which the thumb finds them: what the menu suggests,
 * then one of each class in turn, so that variety lies nearest.
 */
export function variety(foods: Food[], suggested?: string): Food[] {
  const turns = new Map<string, number>()
  const ranked = foods
    .filter((food) => !food.deleted)
    .map((food) => {
      const turn = turns.get(food.class) ?? 0
      turns.set(food.class, turn + 1)
      return { food, rank: food.slug === suggested ? -1 : turn }
    })
  return ranked.sort((a, b) => a.rank - b.rank).map((one) => one.food)
}
