import type { Table } from 'dexie'
import type { Bin, Entry, EntryDraft, Problem, Sheet, SheetSort, Trip } from '../types'
import { checkEntry, checkSheet } from './check'
import { db, entryOf, entryRow } from './db'
import { newId } from './ids'
import { post, waiting } from './outbox'
import { merge, nextStamp } from './stamp'
import { exchange as words } from '../words/en.exchange'

/** The answer to a wish to record something: done, or what is wrong with it. */
export type Logged<T> = { ok: true; record: T } | { ok: false; problems: Problem[] }

/** A second opinion on records before they are kept: the engine's, once it has loaded. */
type Checker = (records: { sheets: Sheet[]; entries: Entry[] }, now: number) => Promise<Problem[]>
let secondOpinion: Checker | null = null

export function useChecker(checker: Checker): void {
  secondOpinion = checker
}

async function findProblems(
  own: Problem[],
  records: { sheets: Sheet[]; entries: Entry[] },
  now: number,
): Promise<Problem[]> {
  if (own.length > 0 || !secondOpinion) return own
  return secondOpinion(records, now)
}

async function writer(): Promise<{
  device: string
  by: string | undefined
  correction: number
  now: number
}> {
  const { device, person, correction = 0 } = await db.getAll('device', 'person', 'correction')
  return { device: device ?? (await deviceId()), by: person?.id, correction, now: Date.now() + correction }
}

/** This device's id, made on first use. */
export async function deviceId(): Promise<string> {
  return db.write(async () => {
    const known = await db.get('device')
    if (known) return known
    const device = newId()
    await db.set({ device })
    return device
  })
}

/** Writes entries and their places in the outbox in one transaction; resolves when the database says complete. */
export async function log(...drafts: EntryDraft[]): Promise<Logged<Entry[]>> {
  return logAlong(drafts)
}

/** log, with more that is written in the same transaction. */
export async function logAlong(
  drafts: EntryDraft[],
  more: { tables: Table[]; write: () => Promise<void> } = { tables: [], write: async () => undefined },
): Promise<Logged<Entry[]>> {
  const { device, by, correction, now } = await writer()
  const entries = drafts.map((draft) => {
    const named = { id: newId(now), at: new Date(now).toISOString(), by, device }
    return withoutUndefined({ ...named, ...draft, at: draft.at ?? named.at }) as unknown as Entry
  })
  const own = entries.flatMap((entry) => checkEntry(entry, now))
  const problems = await findProblems(own, { sheets: [], entries }, now)
  if (problems.length > 0) return { ok: false, problems }
  const full = await write(
    async () => {
      const arrived = await db.nextArrival()
      await db.entries.bulkPut(entries.map((entry) => entryRow(entry, { arrived, known: 0 })))
      await post(entries.map((entry) => waiting('entry', entry, correction)))
      await more.write()
    },
    ...more.tables,
  )
  return full ?? { ok: true, record: entries }
}

/** Writes all of it or nothing; a device that is full says so instead of failing. */
async function write(
  work: () => Promise<void>,
  ...tables: Table[]
): Promise<{ ok: false; problems: Problem[] } | null> {
  try {
    await db.write(work, ...tables)
    return null
  } catch (error) {
    if (!isFull(error)) throw error
    return { ok: false, problems: [{ field: words.storage, value: 'full', accepted: words.storageFull }] }
  }
}

/** Dexie wraps what the browser says about a full disk, sometimes twice. */
export function isFull(error: unknown): boolean {
  const { name, message, inner } = (error ?? {}) as { name?: string; message?: string; inner?: unknown }
  if (name === 'QuotaExceededError' || /QuotaExceeded/i.test(message ?? '')) return true
  return inner !== undefined && inner !== error && isFull(inner)
}

/** Voids an entry (also how a tap is undone). Striking twice is harmless. */
export async function strike(id: string): Promise<Logged<Entry[]>> {
  const struck = await db.entries.get(id)
  if (!struck || struck.what === 'strike') {
    const accepted = 'give the id of an entry of this room that is not itself a strike'
    return { ok: false, problems: [{ field: 'struck', value: id, accepted }] }
  }
  const earlier = await db.entries.where('struck').equals(id).first()
  if (earlier) return { ok: true, record: [entryOf(earlier)] }
  return log({ what: 'strike', struck: id, ...(struck.bin ? { bin: struck.bin } : {}) })
}

/** Edits fields of a sheet; only what is named is changed and stamped. */
export async function edit(
  sort: SheetSort,
  id: string,
  fields: Record<string, unknown>,
): Promise<Logged<string>> {
  return writeSheet(sort, id, withoutUndefined(fields), false)
}

/** Makes a new bin and answers its id; every required field must be there. */
export async function createBin(bin: Omit<Bin, 'id'>): Promise<Logged<string>> {
  return writeSheet('bins', newId(), withoutUndefined({ ...bin }), true)
}

/** Keeps a new trip and answers its id. */
export async function createTrip(trip: Omit<Trip, 'id'>): Promise<Logged<string>> {
  return writeSheet('trips', newId(), withoutUndefined({ ...trip }), true)
}

/** Keeps something new (of the larder, a kind) and answers its id. */
export async function createItem(sort: SheetSort, fields: object): Promise<Logged<string>> {
  return writeSheet(sort, newId(), withoutUndefined({ ...fields }), true)
}

/** Takes a bin out of use; its entries stay. */
export async function removeBin(id: string): Promise<Logged<string>> {
  return edit('bins', id, { deleted: true })
}

async function writeSheet(
  sort: SheetSort,
  id: string,
  fields: Record<string, unknown>,
  whole: boolean,
): Promise<Logged<string>> {
  const { device, correction, now } = await writer()
  const own = checkSheet(sort, fields, now, whole)
  const draft = stamped(sort, id, fields, nextStamp(now, device, ''))
  const problems = await findProblems(own, { sheets: [draft], entries: [] }, now)
  if (problems.length > 0) return { ok: false, problems }
  const full = await write(async () => {
    const arrived = await db.nextArrival()
    const stamp = nextStamp(now, device, (await db.get('stamp')) ?? '')
    const sheet = stamped(sort, id, fields, stamp)
    const before = await db.sheets.get([sort, id])
    await db.sheets.put({ ...merge(before, sheet), arrived, known: before?.known ?? 0 })
    await post([waiting('sheet', sheet, correction)])
    await db.set({ stamp })
  })
  return full ?? { ok: true, record: id }
}

/** Replaces a refused record by a mended one. Fields set to null are removed. */
export async function mend(position: number, fields: Record<string, unknown>): Promise<Logged<string>> {
  const row = await db.refused.get(position)
  if (!row)
    return { ok: false, problems: [{ field: 'record', value: '', accepted: 'it is no longer set aside' }] }
  if (row.sort === 'sheet') {
    const { sheet, id, fields: given } = row.record as Sheet
    const values = Object.fromEntries(Object.entries(given).map(([name, field]) => [name, field.v]))
    const done = await edit(sheet, id, withoutNull({ ...values, ...fields }))
    if (done.ok) await db.refused.delete(position)
    return done
  }
  const { id, by: _by, device: _device, ...draft } = row.record as Entry
  // The server keeps the first bytes it saw under an id: a mended entry has a new one.
  const done = await log(withoutNull({ ...draft, ...fields }) as unknown as EntryDraft)
  if (!done.ok) return done
  await forget(position, id)
  return { ok: true, record: done.record[0]!.id }
}

/** Drops a refused record from this device for good. */
export async function discard(position: number): Promise<void> {
  const row = await db.refused.get(position)
  if (!row) return
  if (row.sort === 'entry') return forget(position, row.id)
  const { sheet, id, fields } = row.record as Sheet
  await db.write(async () => {
    const kept = await db.sheets.get([sheet, id])
    if (kept) {
      const remaining = Object.entries(kept.fields).filter(([name, field]) => fields[name]?.s !== field.s)
      if (remaining.length === 0) await db.sheets.delete([sheet, id])
      else await db.sheets.put({ ...kept, fields: Object.fromEntries(remaining) })
    }
    await db.refused.delete(position)
    // What the fields were before is on the server: fetch everything again.
    await db.set({ cursor: 0, rebuild: ((await db.get('rebuild')) ?? 0) + 1 })
  })
}

async function forget(position: number, id: string): Promise<void> {
  await db.write(async () => {
    await db.entries.delete(id)
    await db.refused.delete(position)
    await db.set({ rebuild: ((await db.get('rebuild')) ?? 0) + 1 })
  })
}

function stamped(sort: SheetSort, id: string, fields: Record<string, unknown>, stamp: string): Sheet {
  const entries = Object.entries(fields).map(([name, value]) => [name, { v: value, s: stamp }])
  return { sheet: sort, id, fields: Object.fromEntries(entries) }
}

function withoutUndefined(fields: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined))
}

function withoutNull(fields: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== null))
}
