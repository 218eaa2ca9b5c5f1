/** The form's own copy of a thing of the larder, before it is kept. */
import type { Kept } from './things'
import type { LarderSort } from '../data/larder'
import type { Batch, Mix, Part, Stock, Supply } from '../types'
import { larder as words } from '../words/en.larder'

/** Fields as typed; what is empty is left out of the record. */
export type Draft = Record<string, unknown>

/** What a new thing starts from. like: a mix that is made again. */
export function blank(sort: LarderSort, kept: Kept, today: string, like?: Mix): Draft {
  switch (sort) {
    case 'batches':
      return {
        name: nextName(kept.batches),
        gathered: today,
        sprayed: 'unknown',
        unit: 'handfuls',
      } satisfies Partial<Batch>
    case 'mixes':
      return {
        name: like?.name ?? words.mixName,
        mixed: today,
        ...(like?.litres ? { litres: like.litres } : {}),
        parts: (like?.parts ?? [{ ingredient: '', share: 1 }]).map((part) => ({ ...part })),
      } satisfies Partial<Mix>
    case 'stock':
      return { food: '', got: today, amount: 4, unit: 'pieces' } satisfies Partial<Stock>
    case 'supplies':
      return {
        name: words.supplyNames.springtails,
        class: 'springtails',
        amount: 1,
        unit: words.supplyUnits.springtails,
        got: today,
      } satisfies Partial<Supply>
  }
}

/** Leaves 12, after the highest number that a batch has. */
export function nextName(batches: { name: string }[]): string {
  const numbers = batches.map((one) => Number(/\d+/.exec(one.name)?.[0] ?? 0))
  return words.batchName(Math.max(0, ...numbers.filter((n) => n < 1e6)) + 1)
}

/** The fields as they are kept: nothing empty but what was emptied, which is null; parts without blank lines. */
export function normalised(sort: LarderSort, draft: Draft, before: object = {}): Record<string, unknown> {
  const { id: _id, deleted: _deleted, ...fields } = draft
  for (const [name, value] of Object.entries(fields)) {
    if (typeof value === 'string') fields[name] = value.trim()
    if (fields[name] !== '' && fields[name] !== undefined && fields[name] !== null) continue
    if (name in before) fields[name] = null
    else delete fields[name]
  }
  if (sort === 'mixes')
    fields['parts'] = ((fields['parts'] as Part[] | undefined) ?? [])
      .filter((part) => part.ingredient.trim() !== '')
      .map(({ ingredient, share, batch }) => ({
        ingredient: ingredient.trim(),
        share,
        ...(batch ? { batch } : {}),
      }))
  return fields
}
