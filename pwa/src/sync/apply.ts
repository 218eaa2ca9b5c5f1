import { Dexie, type DBCoreTransaction } from 'dexie'
import { db, entryOf, entryRow, sheetOf, type Load, type OutboxRow } from '../data/db'
import { postFirst, setAside, unsentRecords, waiting } from '../data/outbox'
import { laterStamp, merge } from '../data/stamp'
import type { Entry, Person, Problem, Sheet } from '../types'

export interface Request {
  protocol: number
  device: string
  epoch: string
  cursor: number
  mark: string
  at: string
  load?: { stage: Load['stage']; before: string }
  sheets: Sheet[]
  entries: Entry[]
  /** Ids of entries that the server is believed to have. */
  asked?: string[]
}

export interface Verdict {
  id: string
  verdict: 'stored' | 'duplicate' | 'refused'
  problems?: Problem[] | null
  sentence?: string
}

export interface Answer {
  protocol: number
  epoch: string
  cursor: number
  mark?: string
  durable: number
  at: string
  load?: { stage: Load['stage']; next: string; left: number; older: number; done: boolean }
  sheets: Sheet[]
  entries: Entry[]
  verdicts: Verdict[]
  people?: Person[] | null
  more: boolean
}

/** A row of the outbox about which the server was asked: with its record, or by its name alone. */
export type Asked = OutboxRow | Named
export type Named = Pick<OutboxRow, 'position' | 'name' | 'id'>

const TOLERATED_MS = 2 * 60 * 1000

/**
 * Takes an answer in, in one transaction: verdicts, what is new, the cursor,
 * and what a server that came back from an older copy is to be offered again.
 * exchangedAt is this device's clock half-way between request and answer.
 * Answers whether there is more to fetch.
 */
export async function apply(
  request: Omit<Request, 'sheets' | 'entries'>,
  rows: Asked[],
  answer: Answer,
  exchangedAt: number,
): Promise<boolean> {
  return db.write(async () => {
    const meta = await db.settings()
    const moved =
      (meta.epoch ?? '') !== request.epoch ||
      (meta.cursor ?? 0) !== request.cursor ||
      (request.load !== undefined && meta.load?.next !== request.load.before)
    const wasRewound =
      request.epoch !== '' && (answer.epoch !== request.epoch || answer.cursor < request.cursor)
    const generation = (meta.generation ?? 1) + (wasRewound && !moved ? 1 : 0)
    const correction = correctionFrom(answer.at, exchangedAt)
    const isNews = isNewsOfClock(meta.correction ?? 0, answer.at, exchangedAt)
    let stamp = meta.stamp ?? ''
    // What does not wait for one another is asked of the database at once: each wait costs as much as a small write.
    const settled = settle(rows, answer.verdicts, generation)
    if (answer.entries.length + answer.sheets.length > 0) {
      await settled
      // Entries that no forecast looks at are no news: nobody is roused for them.
      const isOld = request.load?.stage === 'older' && answer.sheets.length === 0
      const arrived = isOld ? ((await db.get('arrival')) ?? 0) : await db.nextArrival()
      await takeEntries(answer.entries, arrived, generation, request.load === undefined)
      stamp = await takeSheets(answer.sheets, arrived, generation, stamp)
    }
    if (isNews) {
      await settled
      const rightAt = meta.correction === 0 ? (meta.measuredAt ?? 0) : 0
      await correctUnsent(correction, rightAt, exchangedAt, meta.offered ?? 0)
    }
    const { people, updateNeeded, firstLoad, reoffer } = meta
    const { epoch, cursor, mark = '' } = answer
    await Promise.all([
      settled,
      db.setNew(meta, {
        stamp,
        correction,
        measuredAt: exchangedAt,
        lastSentAt: new Date(Date.now() + correction).toISOString(),
        people: answer.people ?? people,
        ...(moved || wasRewound ? {} : { epoch, cursor, mark, generation }),
      }),
    ])
    if (updateNeeded !== undefined) await db.meta.delete('updateNeeded')

    if (moved) return true // another drain was here meanwhile: where to go on is its to say
    if (wasRewound) {
      // The server came back from an older copy: read all it has, then offer it the rest.
      await db.set({ epoch, cursor: 0, mark: '', generation, reoffer: true })
      await db.meta.delete('load')
      return true
    }
    if (request.load) {
      await loaded(meta.load, answer)
      return true
    }
    if (answer.more) return true
    if (firstLoad) await db.meta.delete('firstLoad')
    if (reoffer) await offerAgain(generation, correction)
    return false
  })
}

/** Notes how far a load has come. A server that knows of no loads has answered from its feed instead. */
async function loaded(load: Load | undefined, answer: Answer): Promise<void> {
  if (!load || !answer.load) return db.meta.delete('load')
  const { done, next, left, older } = answer.load
  const got = load.got + answer.entries.length
  const wanted = load.wanted === 'all' ? 'all' : ''
  if (!done) return db.set({ load: { ...load, next, got, total: got + left, wanted } })
  if (load.stage === 'older' || older === 0) return db.meta.delete('load')
  return db.set({ load: { stage: 'older', next, got: 0, total: older, wanted: '' } })
}

/**
 * Takes what has a verdict out of the outbox. That the server knows it is written on sheets and on photos, for which
 * it is asked at once; of other entries it is asked only when a new generation has read all that the server has, and
 * that reading says it. Writing it on each would rewrite it in every index.
 */
async function settle(rows: Asked[], verdicts: Verdict[], generation: number): Promise<void> {
  const byId = new Map(verdicts.map((verdict) => [verdict.id, verdict]))
  const settled: Asked[] = []
  for (const row of rows) {
    const verdict = byId.get(row.id)
    if (!verdict) continue // not mentioned: it stays and is offered again
    if (verdict.verdict !== 'refused') settled.push(row)
    else if ('record' in row) await setAside(row, verdict.problems ?? [], verdict.sentence ?? '')
  }
  for (const [first, last] of runs(settled.map((row) => row.position))) {
    await removeRun(first, last)
  }
  const known = { known: generation }
  for (const row of settled) {
    if (!('record' in row)) continue
    if (row.sort === 'sheet') await db.sheets.update([(row.record as Sheet).sheet, row.id], known)
    else if ((row.record as Entry).what === 'photo') await db.entries.update(row.id, known)
  }
  const named = new Set(settled.filter((row) => !('record' in row)).map((row) => row.id))
  if (named.size === 0) return
  const photos = await db.entries.where('photo').above('').primaryKeys()
  for (const id of photos.filter((id) => named.has(id))) await db.entries.update(id, known)
}

const RANGE = 2 // DBCoreRangeType.Range, which is a type only

/** Takes a run of places out of the outbox. Collection.delete would count the rows first, for nobody. */
async function removeRun(first: number, last: number): Promise<void> {
  const trans = Dexie.currentTransaction.idbtrans as unknown as DBCoreTransaction
  const range = { type: RANGE, lower: [first, Dexie.minKey], upper: [last, Dexie.maxKey] }
  await db.outgoing.core.mutate({ type: 'deleteRange', trans, range })
}

/** Rising whole numbers as runs from first to last without a gap: a run is taken away at one stroke. */
export function runs(numbers: number[]): [first: number, last: number][] {
  const found: [number, number][] = []
  for (const number of numbers) {
    const run = found.at(-1)
    if (run && run[1] === number - 1) run[1] = number
    else found.push([number, number])
  }
  return found
}

/** mayBeHere: an entry that is here already keeps its arrival. Looking for each costs as much as writing it, and a load brings what is not. */
async function takeEntries(
  entries: Entry[],
  arrived: number,
  generation: number,
  mayBeHere: boolean,
): Promise<void> {
  const have = mayBeHere ? await db.entries.bulkGet(entries.map((entry) => entry.id)) : []
  await db.entries.bulkPut(
    entries.map((entry, i) => entryRow(entry, { arrived: have[i]?.arrived ?? arrived, known: generation })),
  )
}

async function takeSheets(
  sheets: Sheet[],
  arrived: number,
  generation: number,
  seen: string,
): Promise<string> {
  let stamp = seen
  for (const theirs of sheets) {
    for (const field of Object.values(theirs.fields)) stamp = laterStamp(stamp, field.s)
    const mine = await db.sheets.get([theirs.sheet, theirs.id])
    const merged = merge(mine && sheetOf(mine), theirs)
    // The server knows the sheet as it is here unless one of our fields is later than its.
    const same = Object.entries(merged.fields).every(([name, field]) => theirs.fields[name]?.s === field.s)
    await db.sheets.put({ ...merged, arrived, known: same ? generation : (mine?.known ?? generation) })
  }
  return stamp
}

function correctionFrom(serverTime: string, exchangedAt: number): number {
  const ahead = Date.parse(serverTime) - exchangedAt
  return Number.isFinite(ahead) && Math.abs(ahead) > TOLERATED_MS ? Math.round(ahead) : 0
}

/** Whether an answer shows another clock than was known of. */
export function isNewsOfClock(known: number, serverTime: string, exchangedAt: number): boolean {
  return Math.abs(correctionFrom(serverTime, exchangedAt) - known) > TOLERATED_MS
}

/**
 * The clock was wrong when these were made, and nobody else has seen them yet:
 * their times are put right before they leave. What was made under an earlier
 * correction is right already, and so is what was made before the clock jumped.
 */
async function correctUnsent(
  correction: number,
  rightAt: number,
  nowAt: number,
  offered: number,
): Promise<void> {
  const rows = await db.outgoing.toArray()
  const unseen = rows.filter(
    (row) => row.sort === 'entry' && row.position > offered && row.attempts === 0 && row.correction === 0,
  )
  for (const row of unseen.slice(jumpIn(unseen.map(madeAt), correction, rightAt, nowAt))) {
    const entry = row.record as Entry
    const at = new Date(Date.parse(entry.at) + correction).toISOString()
    const record = { ...entry, at }
    await db.outgoing.put({ ...row, record, correction })
    await db.entries.update(entry.id, { at, ...(entry.what === 'strike' ? {} : { t: Date.parse(at) }) })
  }
}

function madeAt(row: OutboxRow): number {
  return Date.parse(row.since) - row.correction
}

/**
 * How many records were made before the clock jumped. times are the clock's
 * readings one after the other, all Unix milliseconds; it was right at rightAt
 * (0: not known ever to have been) and is wrong at nowAt. A clock that was put
 * ahead shows a gap as long as the error, one that was put back runs backwards.
 */
export function jumpIn(times: number[], correction: number, rightAt: number, nowAt: number): number {
  if (rightAt === 0) return 0
  const readings = [rightAt, ...times, nowAt]
  const least = Math.abs(correction) - TOLERATED_MS
  for (let i = 1; i < readings.length; i++) {
    const step = readings[i]! - readings[i - 1]!
    if (correction < 0 ? step >= least : step < 0) return i - 1
  }
  return 0
}

/**
 * After a rewound server has told all it has: puts into the outbox what it did
 * not mention, before what waits there, which may name what was lost.
 */
async function offerAgain(generation: number, correction: number): Promise<void> {
  const queued = new Set((await unsentRecords()).map((row) => row.id))
  // A sheet is offered whole, even where an edit of it waits: the rest of it may be lost.
  const sheets = (await db.sheets.toArray()).filter((row) => row.known < generation)
  const entries = (await db.entries.toArray()).filter((row) => row.known < generation && !queued.has(row.id))
  entries.sort((a, b) => turnOf(a) - turnOf(b) || Date.parse(a.at) - Date.parse(b.at))
  await postFirst([
    ...sheets.map((row) => waiting('sheet', sheetOf(row), correction)),
    ...entries.map((row) => waiting('entry', entryOf(row), correction)),
  ])
  await db.set({ reoffer: false })
}

/** What an entry names goes before it. */
function turnOf(entry: { what: string }): number {
  return entry.what === 'strike' ? 2 : entry.what === 'leftovers' ? 1 : 0
}
