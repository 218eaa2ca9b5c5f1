/**
 * Water as somebody measures it in a strange kitchen: spoons first, the
 * millilitres beside them. A tablespoon is taken as 15 mL and a teaspoon as
 * 5 mL, as kitchens outside the trade do (common practice, no source); the
 * difference to a US tablespoon, 14.8 mL, is smaller than a shaky hand.
 */
import { pass as words } from './en.pass'
import { cupMl, halves, MANY_HALVES } from './units'

export const TABLESPOON_ML = 15
export const TEASPOON_ML = 5

/** Below this a dose is told in teaspoons. */
const SMALL_ML = 12.5

/** The spoons of a dose, without the millilitres. */
export function spoons(ml: number): string {
  if (ml < SMALL_ML) {
    const count = Math.max(1, Math.round(ml / TEASPOON_ML))
    return words.teaspoons(count, String(count))
  }
  const count = Math.round((ml / TABLESPOON_ML) * 2)
  return words.tablespoons(count / 2, halves(count))
}

/** A dose in full: 2 tablespoons (30 mL); from more than three spoons on 80 mL (5½ tablespoons). */
export function dose(ml: number): string {
  if (isMany(ml)) return words.doseMl(cupMl(ml), spoons(ml))
  return words.dose(spoons(ml), Math.round(ml))
}

/** The measure that leads: the spoons, or the millilitres of many spoons. */
export function measure(ml: number): string {
  return isMany(ml) ? words.ml(cupMl(ml)) : spoons(ml)
}

const isMany = (ml: number) => Math.round((ml / TABLESPOON_ML) * 2) > MANY_HALVES
