import type { Batch, Doubt, Mix } from '../types'
import { sameSlug } from '../data/larder'

/**
 * Why leaves should be thought about before they go into a bin, the worst
 * first: husbandry.Batch.Doubts, for forms that answer while somebody types.
 * testdata/doubts.json holds both to the same answers.
 */
export const USUAL_HEAT_C = 93 // 200 °F, common practice, no source
export const USUAL_HEAT_MINUTES = 30
const SLACK_C = 3

export function doubtsOf(batch: Partial<Batch>): Doubt[] {
  const blank = (text?: string) => (text ?? '').trim() === ''
  const doubts: Doubt[] = []
  if (batch.sprayed === 'yes') doubts.push('sprayed')
  else if (batch.sprayed !== 'no') doubts.push('spray unknown')
  if (blank(batch.tree)) doubts.push('tree unknown')
  if (blank(batch.place)) doubts.push('place unknown')
  const celsius = batch.heated_c ?? 0
  if (celsius === 0) doubts.push('not heated')
  else if (celsius < USUAL_HEAT_C - SLACK_C || (batch.heated_minutes ?? 0) < USUAL_HEAT_MINUTES)
    doubts.push('heated too little')
  return doubts
}

/** The doubts of the leaves in a mix, each once. */
export function doubtsOfMix(mix: Pick<Mix, 'parts'>, batches: Batch[]): Doubt[] {
  const all = mix.parts.flatMap((part) => {
    const batch = part.batch && batches.find((one) => sameSlug(one.slug, part.batch!))
    return batch ? doubtsOf(batch) : []
  })
  return [...new Set(all)]
}
