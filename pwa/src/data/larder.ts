/**
 * What the larder's screens read: what is kept, and what of it went into which
 * bin. Both ways go by an index, however many entries there are.
 */
import { Dexie } from 'dexie'
import type { Readable } from 'svelte/store'
import type { Batch, Entry, Mix, SheetSort, Stock, Supply } from '../types'
import { db, entryOf, type EntryRow } from './db'
import { live } from './live'
import { flat } from './stamp'

export { larder } from '../engine/engine'

export type LarderSort = 'batches' | 'mixes' | 'stock' | 'supplies'
export const LARDER_SORTS: readonly LarderSort[] = ['batches', 'mixes', 'stock', 'supplies']

async function flats<T extends { id: string; deleted?: boolean }>(sort: SheetSort): Promise<T[]> {
  const rows = await db.sheets.where('sheet').equals(sort).toArray()
  return rows.map((row) => flat<T>(row)).filter((record) => !record.deleted)
}

const mixesKept = async () => (await flats<Mix>('mixes')).map((mix) => ({ ...mix, parts: mix.parts ?? [] }))

export const batches: Readable<Batch[] | undefined> = live(() => flats<Batch>('batches'))
export const mixes: Readable<Mix[] | undefined> = live(mixesKept)
export const stock: Readable<Stock[] | undefined> = live(() => flats<Stock>('stock'))
export const supplies: Readable<Supply[] | undefined> = live(() => flats<Supply>('supplies'))

/** How slugs are compared: nobody minds capitals or a space too many (husbandry.SameSlug). */
export const sameSlug = (a: string, b: string) => a.trim().toLowerCase() === b.trim().toLowerCase()

/** An entry that put something of the larder into a bin. */
export interface WentIn {
  entry: Entry
  /** The mix that a batch went in with. */
  through?: Mix
}

/** What of these rows still holds, the newest first. */
async function standing(rows: EntryRow[]): Promise<Entry[]> {
  const strikes = await db.entries
    .where('struck')
    .anyOf(rows.map((row) => row.id))
    .toArray()
  const struck = new Set(strikes.map((strike) => strike.struck))
  return rows
    .filter((row) => !struck.has(row.id))
    .sort((a, b) => (b.t ?? 0) - (a.t ?? 0))
    .map(entryOf)
}

/** Slugs as they may have been written: the index knows capitals, but no spaces around. */
const named = (index: 'batch' | 'mix', slugs: string[]) =>
  slugs.length === 0
    ? Promise.resolve<EntryRow[]>([])
    : db.entries
        .where(index)
        .anyOfIgnoreCase(slugs.map((slug) => slug.trim()))
        .toArray()

/** Which bins got a batch of leaves, by itself or in a mix; the newest first. */
export async function whereBatchWent(slug: string): Promise<WentIn[]> {
  const through = (await mixesKept()).filter((mix) =>
    mix.parts.some((part) => part.batch !== undefined && sameSlug(part.batch, slug)),
  )
  const [alone, mixed] = await Promise.all([
    named('batch', [slug]),
    named(
      'mix',
      through.map((mix) => mix.slug),
    ),
  ])
  const found = await standing([...alone, ...mixed])
  return found.map((entry) => {
    const mix = entry.what === 'renew' && through.find((one) => sameSlug(one.slug, entry.mix ?? ''))
    return mix ? { entry, through: mix } : { entry }
  })
}

/** Which bins got a mix. */
export async function whereMixWent(slug: string): Promise<WentIn[]> {
  return (await standing(await named('mix', [slug]))).map((entry) => ({ entry }))
}

/** What was taken from, or said of, one thing. */
export async function whatWasSaidOf(item: string): Promise<WentIn[]> {
  const rows = await db.entries.where('item').equals(item).toArray()
  return (await standing(rows)).map((entry) => ({ entry }))
}

/** What went into a bin from the larder, the newest first: leaves, mixes, and what was taken for it. */
export async function whatWentInto(bin: string, from = -Infinity, to = Infinity): Promise<Entry[]> {
  const rows = await db.entries
    .where('[bin+t]')
    .between(
      [bin, from === -Infinity ? Dexie.minKey : from],
      [bin, to === Infinity ? Dexie.maxKey : to],
      true,
      true,
    )
    .filter((row) => ['add leaves', 'renew', 'larder'].includes(row.what))
    .toArray()
  return standing(rows)
}

export const followWhere = (sort: LarderSort, item: Batch | Mix | Stock | Supply) =>
  live(() =>
    sort === 'batches'
      ? whereBatchWent((item as Batch).slug)
      : sort === 'mixes'
        ? whereMixWent((item as Mix).slug)
        : whatWasSaidOf(item.id),
  )

/** What is seen in a bin that goes wrong. */
const AMISS: readonly (string | undefined)[] = ['dead', 'mites', 'mould', 'springtails gone']

/** When a bin was last seen to go wrong; '' where it never was. */
export const followTrouble = (bin: string) =>
  live(async () => {
    const rows = await db.entries
      .where('[bin+t]')
      .between([bin, Dexie.minKey], [bin, Dexie.maxKey])
      .filter((row) => AMISS.includes(row.seen))
      .toArray()
    return (await standing(rows))[0]?.at ?? ''
  })

export const followInto = (bin: string) => live(() => whatWentInto(bin))

const LATEST = 300 // entries looked at for what was used last

/** Slugs of what was used last, the latest first: it lies nearest to the hand. */
async function lately(what: 'add leaves' | 'renew', name: 'batch' | 'mix'): Promise<string[]> {
  const rows = await db.entries
    .where('[what+t]')
    .between([what, Dexie.minKey], [what, Dexie.maxKey])
    .reverse()
    .limit(LATEST)
    .toArray()
  const slugs = (await standing(rows)).flatMap((entry) => entry[name] ?? [])
  return slugs.filter((slug, i) => slugs.findIndex((other) => sameSlug(other, slug)) === i)
}

/** In the order of last use; what was never used comes after, the oldest first. */
export function byLastUse<T extends { slug: string; finished?: string }>(
  list: T[],
  latest: string[],
  came: (one: T) => string,
): T[] {
  const rank = (one: T) => {
    const i = latest.findIndex((slug) => sameSlug(slug, one.slug))
    return i < 0 ? latest.length : i
  }
  return list
    .filter((one) => !one.finished)
    .sort((a, b) => rank(a) - rank(b) || came(a).localeCompare(came(b)) || a.slug.localeCompare(b.slug))
}

/** Batches to take leaves from, the one used last first. */
export const batchesAtHand: Readable<Batch[] | undefined> = live(async () =>
  byLastUse(await flats<Batch>('batches'), await lately('add leaves', 'batch'), (one) => one.gathered ?? ''),
)

/** Mixes to renew with, the one used last first. */
export const mixesAtHand: Readable<Mix[] | undefined> = live(async () =>
  byLastUse(await mixesKept(), await lately('renew', 'mix'), (one) => one.mixed ?? ''),
)

/** A slug that nothing else of its sort has, made of a name. */
export function freeSlug(name: string, taken: { slug: string }[]): string {
  const base = name.trim().toLowerCase().slice(0, 70)
  for (let n = 1; ; n++) {
    const slug = n === 1 ? base : `${base} (${n})`
    if (!taken.some((one) => sameSlug(one.slug, slug))) return slug
  }
}
