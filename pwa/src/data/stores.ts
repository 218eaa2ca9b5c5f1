import { derived, type Readable } from 'svelte/store'
import { Dexie, type Collection } from 'dexie'
import { lineState, sendingState, updateReady } from '../sync/state'
import type {
  Bin,
  Entry,
  Food,
  Kind,
  LoggedEntry,
  OutboxState,
  Person,
  Refused,
  Room,
  Session,
  SheetSort,
  Survey,
  Trip,
  What,
} from '../types'
import { survey as computed } from '../engine/engine'
import { db, entryOf, type EntryRow } from './db'
import { limits } from './limits'
import { live } from './live'
import { byText, inWalkingOrder } from './order'
import { flat } from './stamp'

/**
 * What the screens read. Each store is live: it follows the local database,
 * whoever writes to it (this page, another tab, the service worker). Its value
 * is undefined until the first read has come back, which is never the network.
 */
export { away, engineState, outlook, renewals, tripCalendar, tripReport } from '../engine/engine'

/** How far the first load of this device has come; null once everything that a forecast needs is here. */
export const firstLoad: Readable<{ got: number; total: number } | null | undefined> = live(async () => {
  const { firstLoad, load } = await db.getAll('firstLoad', 'load')
  if (!firstLoad) return null
  return load?.stage === 'recent' ? { got: load.got, total: load.total } : { got: 1, total: 1 }
})

/** The forecasts; none while this device has only a part of the records. */
export const survey: Readable<Survey | undefined> = derived([computed, firstLoad], ([$computed, $first]) =>
  $first === null ? $computed : undefined,
)

/** Entries from before the first load that are only on the server; null where there are none. */
export const olderEntries: Readable<{ got: number; total: number; fetching: boolean } | null | undefined> =
  live(async () => {
    const load = await db.get('load')
    if (load?.stage !== 'older') return null
    return { got: load.got, total: load.total, fetching: load.wanted !== '' }
  })

/** What to add to this device's clock, in milliseconds; 0 within two minutes of the server's. */
export const clockCorrection: Readable<number | undefined> = live(
  async () => (await db.get('correction')) ?? 0,
)

const roomFound = live(async () => {
  const row = await db.sheets.where('sheet').equals('rooms').first()
  return { room: row && { ...limits.room, ...flat<Room>(row) } }
})

const sessionFound = live(async () => {
  const { device, token, person } = await db.getAll('device', 'token', 'person')
  return { signedIn: token !== undefined, person: person ?? null, device: device ?? '' }
})

/** Undefined also where this device holds no room yet; what the room lacks is as usual. */
export const room: Readable<Room | undefined> = derived(roomFound, ($found) => $found?.room)

/**
 * A person without signedIn: this device is theirs, but the session has ended;
 * what is here stays usable. Known no sooner than the room, so that nobody
 * takes a room that is still being read for one that is not there.
 */
export const session: Readable<Session | undefined> = derived(
  [sessionFound, roomFound],
  ([$session, $room]) => ($room ? $session : undefined),
)

async function flats<T extends { id: string; deleted?: boolean }>(sort: SheetSort): Promise<T[]> {
  const rows = await db.sheets.where('sheet').equals(sort).toArray()
  return rows.map((row) => flat<T>(row)).filter((record) => !record.deleted)
}

/** Bins in use, in walking order. */
export const bins: Readable<Bin[] | undefined> = live(async () => {
  const found = await flats<Bin>('bins')
  return found.map((bin) => ({ ...bin, openings: bin.openings ?? [] })).sort(inWalkingOrder)
})

const byName = (a: { name: string }, b: { name: string }) => byText.compare(a.name, b.name)

/** By name. Until the first exchange these are the ones that ship with the tool, which are read only then. */
export const kinds: Readable<Kind[] | undefined> = live(async () => {
  const found = await flats<Kind>('kinds')
  return (found.length > 0 ? found : [...(await import('./seeds')).kinds]).sort(byName)
})

export const foods: Readable<Food[] | undefined> = live(async () => {
  const found = await flats<Food>('foods')
  return (found.length > 0 ? found : [...(await import('./seeds')).foods]).sort(byName)
})

export const people: Readable<Person[] | undefined> = live(async () => (await db.get('people')) ?? [])

/** Marks what is struck and what has not been sent. */
async function asLogged(rows: EntryRow[]): Promise<LoggedEntry[]> {
  const ids = rows.map((row) => row.id)
  const [strikes, waits, refused] = await Promise.all([
    db.entries.where('struck').anyOf(ids).toArray(),
    db.outgoing.toCollection().primaryKeys(),
    db.refused.where('id').anyOf(ids).toArray(),
  ])
  const struck = new Set(strikes.map((strike) => strike.struck))
  const state = new Map<string, LoggedEntry['state']>([
    ...waits.map(([, name]) => [name, 'waiting'] as const),
    ...refused.map(({ id }) => [id, 'refused'] as const),
  ])
  return rows.map((row) => ({
    ...entryOf(row),
    void: struck.has(row.id),
    state: state.get(row.id) ?? 'sent',
  }))
}

function ofBin(bin: string): Collection<EntryRow, string> {
  return db.entries.where('[bin+t]').between([bin, Dexie.minKey], [bin, Dexie.maxKey])
}

/** The newest entries of a bin, newest first; strikes are not listed, what they struck is void. */
export function entriesOf(bin: string, limit = 100): Readable<LoggedEntry[] | undefined> {
  return live(async () => asLogged(await ofBin(bin).reverse().limit(limit).toArray()))
}

/** One entry by its id (a feeding, for its leftovers); null if this device has none such. */
export function entry(id: string): Readable<Entry | null | undefined> {
  return live(async () => {
    const row = await db.entries.get(id)
    return row ? entryOf(row) : null
  })
}

/** The same with what became of it. */
export function loggedEntry(id: string): Readable<LoggedEntry | null | undefined> {
  return live(
    async () => (await asLogged((await db.entries.bulkGet([id])).filter((row) => !!row)))[0] ?? null,
  )
}

export interface NotebookFilter {
  bin?: string
  what?: What[]
  by?: string
  text?: string
}

const PAGE = 50

export interface Pages {
  entries: LoggedEntry[]
  more: boolean // there is another page
}

/** The newest of everything logged, so many pages of 50, newest first. */
export function notebook(filter: NotebookFilter, pages = 1): Readable<Pages | undefined> {
  const most = pages * PAGE
  return live(async () => {
    const rows = await matching(filter)
      .limit(most + 1)
      .toArray()
    return { entries: await asLogged(rows.slice(0, most)), more: rows.length > most }
  })
}

/** The index does the first cut and the order; only what it cannot tell is looked at row by row. */
function matching({ bin, what, by, text }: NotebookFilter): Collection<EntryRow, string> {
  let found: Collection<EntryRow, string>
  const tests: ((row: EntryRow) => boolean)[] = []
  if (bin) {
    found = ofBin(bin)
    if (what?.length) tests.push((row) => what.includes(row.what))
  } else if (what?.length === 1) {
    found = db.entries.where('[what+t]').between([what[0], Dexie.minKey], [what[0], Dexie.maxKey])
  } else {
    found = db.entries.where('t').between(Dexie.minKey, Dexie.maxKey)
    if (what?.length) tests.push((row) => what.includes(row.what))
  }
  if (by) tests.push((row) => row.by === by)
  const words = text?.trim().toLowerCase()
  if (words) {
    tests.push((row) =>
      `${row.note ?? ''} ${row.food ?? ''} ${row.mix ?? ''} ${row.seen ?? ''} ${row.place ?? ''}`
        .toLowerCase()
        .includes(words),
    )
  }
  found = found.reverse()
  return tests.length > 0 ? found.filter((row) => tests.every((test) => test(row))) : found
}

const outbox = live(async () => {
  const [count, first, setAside, meta] = await Promise.all([
    db.outgoing.count(),
    db.outgoing.toCollection().first(),
    db.refused.toArray(),
    db.getAll('token', 'lastSentAt', 'updateNeeded', 'correction'),
  ])
  const refused: Refused[] = setAside.map(({ position, sort, record, problems, sentence, since }) => ({
    position,
    sort,
    record,
    problems,
    sentence,
    since,
  }))
  return { count, oldest: first?.since ?? null, refused, meta }
})

export const outboxState: Readable<OutboxState | undefined> = derived(
  [outbox, lineState, sendingState, updateReady],
  ([$outbox, $line, $sending, $updateReady]) =>
    $outbox && {
      // Right after signing in, what is known of the line is still from before.
      online: $line === 'signed-out' && $outbox.meta.token ? 'online' : $line,
      sending: $sending,
      waiting: $outbox.count,
      oldestUnsentAt: $outbox.oldest,
      lastSentAt: $outbox.meta.lastSentAt ?? null,
      refused: $outbox.refused,
      updateReady: $updateReady,
      updateNeeded: $outbox.meta.updateNeeded ?? null,
      clockBehindMinutes: Math.round(($outbox.meta.correction ?? 0) / 60_000),
    },
)

/** Trips, the soonest first. */
export const trips: Readable<Trip[] | undefined> = live(async () => {
  const found = await flats<Trip>('trips')
  return found
    .map((trip) => ({ ...limits.trip, ...trip }))
    .sort((a, b) => a.leaves.localeCompare(b.leaves) || a.id.localeCompare(b.id))
})
