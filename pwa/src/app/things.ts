/** The larder as its screens show it: each thing with its name, what is left of it, and what is amiss. */
import { doubtsOf, doubtsOfMix } from './leaves'
import type { LarderSort } from '../data/larder'
import type { Batch, Doubt, Food, Held, Larder, Mix, Stock, Supply } from '../types'
import { capital } from '../words/grammar'

export interface Thing {
  sort: LarderSort
  id: string
  name: string
  unit: string
  finished: boolean
  held: Held | undefined
  doubts: Doubt[]
  useBy: string
}

export interface Kept {
  batches: Batch[]
  mixes: Mix[]
  stock: Stock[]
  supplies: Supply[]
}

/** Everything that is kept, in the order of its section: in use first, used up last. */
export function thingsOf(kept: Kept, larder: Larder | undefined, foods: Food[]): Record<LarderSort, Thing[]> {
  const held = (sort: LarderSort, id: string) => larder?.[sort].find((one) => one.id === id)
  const base = (sort: LarderSort, one: { id: string; finished?: string }) => ({
    sort,
    id: one.id,
    finished: Boolean(one.finished),
    held: held(sort, one.id),
    doubts: [] as Doubt[],
    useBy: '',
  })
  const name = (food: string) => foods.find((one) => one.slug === food)?.name ?? capital(food)
  return {
    batches: inTurn(
      kept.batches.map((one) => ({
        ...base('batches', one),
        name: one.name,
        unit: one.unit ?? 'handfuls',
        doubts: doubtsOf(one),
      })),
    ),
    mixes: inTurn(
      kept.mixes.map((one) => ({
        ...base('mixes', one),
        name: one.name,
        unit: 'litres',
        doubts: doubtsOfMix(one, kept.batches),
      })),
    ),
    stock: kept.stock
      .map((one) => ({
        ...base('stock', one),
        name: name(one.food),
        unit: one.unit ?? 'pieces',
        useBy: one.use_by ?? '',
      }))
      .sort(
        (a, b) =>
          Number(a.finished) - Number(b.finished) ||
          (a.useBy || '9').localeCompare(b.useBy || '9') ||
          a.name.localeCompare(b.name),
      ),
    supplies: kept.supplies
      .map((one) => ({ ...base('supplies', one), name: one.name, unit: one.unit ?? 'pieces' }))
      .sort((a, b) => Number(a.finished) - Number(b.finished) || a.name.localeCompare(b.name)),
  }
}

function inTurn(things: Thing[]): Thing[] {
  const turn = (one: Thing) => (one.finished ? Infinity : (one.held?.turn ?? 1e6))
  return things.sort((a, b) => (turn(a) === turn(b) ? a.name.localeCompare(b.name) : turn(a) - turn(b)))
}

/** What runs out, the soonest first. */
export function runningOut(things: Thing[], most: number): Thing[] {
  return things
    .filter((one) => one.held?.runs_out && !one.finished)
    .sort((a, b) => a.held!.runs_out!.about.localeCompare(b.held!.runs_out!.about))
    .slice(0, most)
}
