import { db, entryOf, entryRow, sheetOf, type OutboxRow } from '../data/db'
import { waiting } from '../data/log'
import { laterStamp, merge } from '../data/stamp'
import type { Entry, Person, Problem, Sheet } from '../types'

export interface Request {
  protocol: number
  device: string
  epoch: string
  cursor: number
  at: string
  sheets: Sheet[]
  entries: Entry[]
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
  durable: number
  at: string
  sheets: Sheet[]
  entries: Entry[]
  verdicts: Verdict[]
  people?: Person[] | null
  more: boolean
}

const TOLERATED_MS = 2 * 60 * 1000

/**
 * Takes an answer in, in one transaction: verdicts, what is new, the cursor.
 * exchangedAt is this device's clock half-way between request and answer.
 * Answers whether there is more to fetch.
 */
export async function apply(
  request: Request,
  rows: OutboxRow[],
  answer: Answer,
  exchangedAt: number,
): Promise<boolean> {
  return db.write(async () => {
    const meta = await db.getAll('epoch', 'cursor', 'generation', 'stamp', 'correction')
    const moved = (meta.epoch ?? '') !== request.epoch || (meta.cursor ?? 0) !== request.cursor
    const wasRewound =
      request.epoch !== '' && (answer.epoch !== request.epoch || answer.cursor < request.cursor)
    const generation = (meta.generation ?? 1) + (wasRewound && !moved ? 1 : 0)
    const arrived = await db.nextArrival()

    await settle(rows, answer.verdicts, generation)
    await takeEntries(answer.entries, arrived, generation)
    const stamp = await takeSheets(answer.sheets, arrived, generation, meta.stamp ?? '')
    const correction = correctionFrom(answer.at, exchangedAt)
    if (Math.abs(correction - (meta.correction ?? 0)) > TOLERATED_MS) await correctUnsent(correction)
    await db.set({
      stamp,
      correction,
      measuredAt: exchangedAt,
      lastSentAt: new Date(Date.now() + correction).toISOString(),
      ...(answer.people ? { people: answer.people } : {}),
    })
    await db.meta.delete('updateNeeded')

    if (moved) return true // another drain was here meanwhile: where to go on is its to say
    if (wasRewound) {
      // The server came back from an older copy: read all it has, then offer it the rest.
      await db.set({ epoch: answer.epoch, cursor: 0, generation, reoffer: true })
      return true
    }
    await db.set({ epoch: answer.epoch, cursor: answer.cursor, generation })
    return answer.more === true
  })
}

async function settle(rows: OutboxRow[], verdicts: Verdict[], generation: number): Promise<void> {
  const byId = new Map(verdicts.map((verdict) => [verdict.id, verdict]))
  for (const row of rows) {
    const verdict = byId.get(row.id)
    if (!verdict) continue // not mentioned: it stays and is offered again
    if (verdict.verdict === 'refused') {
      const { problems, sentence } = verdict
      await db.outbox.update(row.position, {
        state: 'refused',
        problems: problems ?? [],
        sentence: sentence ?? '',
      })
      continue
    }
    await db.outbox.delete(row.position)
    if (row.sort === 'entry') await db.entries.update(row.id, { known: generation })
    else await db.sheets.update([(row.record as Sheet).sheet, row.id], { known: generation })
  }
}

async function takeEntries(entries: Entry[], arrived: number, generation: number): Promise<void> {
  const have = await db.entries.bulkGet(entries.map((entry) => entry.id))
  await db.entries.bulkPut(
    entries.map((entry, i) => {
      const mine = have[i]
      if (!mine) return entryRow(entry, { arrived, known: generation })
      return entryRow(entry, { arrived: mine.arrived, known: generation })
    }),
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

/**
 * The clock was wrong when these were made, and nobody else has seen them yet:
 * their times are put right before they leave. What was made under an earlier
 * correction is right already.
 */
async function correctUnsent(correction: number): Promise<void> {
  const rows = await db.outbox.where('state').equals('waiting').toArray()
  for (const row of rows) {
    if (row.sort !== 'entry' || row.attempts > 0 || row.correction !== 0) continue
    const entry = row.record as Entry
    const at = new Date(Date.parse(entry.at) + correction).toISOString()
    const record = { ...entry, at }
    await db.outbox.update(row.position, { record, correction })
    await db.entries.update(entry.id, { at, ...(entry.what === 'strike' ? {} : { t: Date.parse(at) }) })
  }
}

/**
 * After a rewound server has told all it has: puts into the outbox what it did
 * not mention. Answers how many records that were.
 */
export async function offerAgain(): Promise<number> {
  return db.write(async () => {
    const { reoffer, generation = 1, correction = 0 } = await db.getAll('reoffer', 'generation', 'correction')
    if (!reoffer) return 0
    const queued = new Set((await db.outbox.toArray()).map((row) => row.id))
    const missing = (row: { id: string; known: number }) => row.known < generation && !queued.has(row.id)
    const sheets = (await db.sheets.toArray()).filter(missing)
    const entries = (await db.entries.toArray()).filter(missing)
    entries.sort((a, b) => Date.parse(a.at) - Date.parse(b.at))
    await db.outbox.bulkAdd([
      ...sheets.map((row) => waiting('sheet', sheetOf(row), correction)),
      ...entries.map((row) => waiting('entry', entryOf(row), correction)),
    ])
    await db.set({ reoffer: false })
    return sheets.length + entries.length
  })
}
