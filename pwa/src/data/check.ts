import type { Field, Problem } from '../types'

/** What is wrong with a value, or null. The same sentences as the server's (husbandry.Field). */
export function checkField(_field: Field, _value: unknown, _now: number): Problem | null {
  throw new Error('checkField')
}

/** The sentence of a problem, as husbandry.Problem.Error makes it. */
export function sentence(problem: Problem): string {
  if (problem.value === '') return `${problem.field} is missing: ${problem.accepted}.`
  return `${problem.field} is ${problem.value}: ${problem.accepted}.`
}
