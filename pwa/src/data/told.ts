/** What an alert told, and whether it still stands by this device's own records. Pure but for the database. */
import { db, type EntryRow } from './db'
import { readQuery } from './query'

/** One alert as its notification carries it (backend/alerts, compose.go). */
export interface Told {
  sort: string
  /** When it was made, Unix milliseconds. */
  at: number
  /** Feedings whose leftovers want a look, and how often each had been looked at. */
  of: string[]
  looks: number[]
  /** The bin of the feeding, where there is one alone. */
  in?: string
  /** Bins whose damp side is at risk, and when each was last felt or watered, Unix milliseconds. */
  damp: string[]
  last: number[]
  /** Entries by which a sitter said that something is wrong. */
  wrong: string[]
  /** How many more it told of than it names. */
  more: number
}

/** Reads a notification's data: what is odd in it counts as absent. */
export function readTold(data: unknown): Told {
  const given = (data ?? {}) as Record<string, unknown>
  const {
    of,
    damp,
    wrong = [],
    in: bin,
  } = readQuery(typeof given['navigate'] === 'string' ? given['navigate'] : '')
  return {
    sort: typeof given['sort'] === 'string' ? given['sort'] : '',
    at: seconds(given['at']),
    of,
    looks: Array.isArray(given['looks']) ? given['looks'].map(Number) : [],
    ...(bin ? { in: bin } : {}),
    damp,
    wrong,
    last: Array.isArray(given['last']) ? given['last'].map(seconds) : [],
    more: Number(given['more']) || 0,
  }
}

const seconds = (value: unknown) => (Number(value) || 0) * 1000

/** Whether everything that an alert told of was done since, as far as this device knows. */
export async function isSettled(told: Told): Promise<boolean> {
  if (told.sort === 'digest') return (await loggedSince(told.at)) > 0
  if (told.more > 0 || told.of.length + told.damp.length + told.wrong.length === 0) return false
  for (const id of told.wrong) if (!(await isStruck(id))) return false // only who said it takes it back
  for (const [i, of] of told.of.entries()) {
    if ((await isStruck(of)) || (await looksAt(of)) > (told.looks[i] ?? 0)) continue
    return false
  }
  for (const [i, bin] of told.damp.entries()) {
    if ((await lastDamp(bin)) <= (told.last[i] ?? told.at) + 1000) return false
  }
  return true
}

/** Whether somebody looked at a feeding, or struck it, as far as this device knows. */
export async function isSeenTo(feeding: string): Promise<boolean> {
  return (await isStruck(feeding)) || (await looksAt(feeding)) > 0
}

async function isStruck(id: string): Promise<boolean> {
  return (await db.entries.where('struck').equals(id).count()) > 0
}

/** How often a feeding was looked at; a look is an entry of its bin, or of any where the feeding is not known here. */
async function looksAt(of: string): Promise<number> {
  const looks = await db.entries
    .where('[what+t]')
    .between(['leftovers', -Infinity], ['leftovers', Infinity])
    .filter((row) => row.of === of)
    .toArray()
  return (await unstruck(looks)).length
}

async function lastDamp(bin: string): Promise<number> {
  const rows = await db.entries
    .where('[bin+t]')
    .between([bin, -Infinity], [bin, Infinity])
    .filter((row) => row.what === 'feel' || row.what === 'water' || row.what === 'renew')
    .toArray()
  return Math.max(0, ...(await unstruck(rows)).map((row) => row.t ?? 0))
}

async function loggedSince(at: number): Promise<number> {
  return db.entries
    .where('t')
    .above(at)
    .filter((row) => row.what !== 'climate')
    .count()
}

async function unstruck(rows: EntryRow[]): Promise<EntryRow[]> {
  const strikes = await db.entries
    .where('struck')
    .anyOf(rows.map((row) => row.id))
    .toArray()
  const struck = new Set(strikes.map((row) => row.struck))
  return rows.filter((row) => !struck.has(row.id))
}

/** Takes back the shown alerts whose matter is settled. */
export async function withdrawSettled(registration: ServiceWorkerRegistration): Promise<void> {
  for (const shown of await registration.getNotifications()) {
    if (await isSettled(readTold(shown.data))) shown.close()
  }
}
