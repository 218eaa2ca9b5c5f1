import { Dexie, type Collection } from 'dexie'
import { db, type Load, type Meta, type OutboxRow } from '../data/db'
import { keyOf, setAside } from '../data/outbox'
import { takeOver } from '../data/places'
import { apply, isNewsOfClock, type Answer, type Asked, type Named, type Request } from './apply'
import { Away, pack, Refusal, request, type Call, type Packed } from './server'
import { line as words } from '../words/en.line'

/**
 * One drain: everything in the outbox is offered to the server in pages, and
 * everything new is taken from it, until there is no more of either.
 *
 * A record leaves the outbox only on the server's own verdict about it.
 * Offering twice is harmless, since the server knows a record by its id; so
 * every failure has the same cure: try again. A refused record is set aside
 * with its reason and never holds up the rest.
 */
export type Outcome = 'done' | 'signed-out' | 'update-needed'

const PROTOCOL = 1
const PAGE = 1000 // records; the protocol's bound
const FIRST = 250 // of the first page: it tells early what the line is like, and whether the server has it all
const TELLING = 100 // records of a page of which the server had all: it is likely to have what waits behind them
const NAMES = 10_000 // entries asked after by their ids in one request; the protocol's bound
const PAGE_BYTES = 2_000_000 // well below the server's 8 MiB
const ALONE_AFTER = 3 // refusals of requests with a record until one counts as its own
const MEASURE_EVERY_MS = 60 * 60 * 1000

export interface Drain {
  signal?: AbortSignal
  /** Called whenever something got done, so that a watchdog can tell slow from stuck. */
  onProgress?: () => void
  timeoutMs?: number
}

/** Records of the next page at most: few at first, and again after a thin line. */
let most = FIRST

/**
 * Drains until done. Throws Away when the server cannot be reached: try again later.
 *
 * While an answer is written here the page after it is on its way already, so that phone, line and server are all at
 * work. It leaves only where the answer has shown that it may (pageAhead), and has been read and packed by then: in
 * the transaction that took the answer before in, or, behind a first page, while that is under way.
 *
 * Where the server had all of a page already, as after a phone was put back from a copy, it is asked by name alone
 * after what waits behind it.
 */
export async function drain({ signal, onProgress, timeoutMs }: Drain = {}): Promise<Outcome> {
  let page = await db.write(firstPage, db.table('outbox'))
  let behind: Behind | undefined
  let ahead: Ahead | null = null
  for (;;) {
    const { token } = page
    const rows = offeredIn(page)
    if (!token) return 'signed-out'
    const ask = (next: Page): Ahead => {
      const answered = send(next, { method: 'POST', token, signal, timeoutMs })
      answered.catch(() => undefined) // whoever takes it hears of it
      return { page: next, answered }
    }
    try {
      const { answered } = isFor(page, ahead) ? ahead! : ask(page)
      if (!behind && rows.length === most) behind = await readBehind(page)
      const { answer, at } = await answered
      const next = await pageAhead(page, behind, answer, at)
      ahead = next && ask(next)
      most = larger(most)
      const taken = await takeIn(page, answer, at, behind, next)
      onProgress?.()
      assertProgress(page.request, rows, answer)
      ;({ page, behind } = taken)
      if (!taken.more && page.mayOffer && page.rows.length === 0) return 'done'
    } catch (error) {
      if (error instanceof Away && error.slow && !page.request.asked) most = smaller(rows.length)
      if (!(error instanceof Refusal)) throw error
      const outcome = await settleRefusal(error, rows, token)
      if (outcome === 'smaller') most = smaller(rows.length)
      else if (outcome !== 'go on') return outcome
      onProgress?.()
      page = await db.write(nextPage)
      behind = undefined
    }
  }
}

interface Answered {
  answer: Answer
  at: number // this device's clock half-way between request and answer
}

async function send(page: Page, call: Omit<Call, 'json'>): Promise<Answered> {
  const json = [page.records, pack(JSON.stringify(page.request).slice(1))]
  const sentAt = Date.now()
  const { answer } = await request<Answer>('/api/underlog/exchange', { ...call, json })
  assertAnswer(answer)
  return { answer, at: (sentAt + Date.now()) / 2 }
}

/** What was read behind a page while that is under way. */
interface Behind {
  page: Page
  /** Behind a first page, of which nobody knows yet whether the server had it: the names of all that waits there. */
  names?: Promise<Named[]>
}

/** A page that was sent while the answer to the one before it was still being written. */
interface Ahead {
  page: Page
  answered: Promise<Answered>
}

/**
 * What may leave before an answer is written: the next page of a load, or the page of the outbox that was read behind
 * this one. Of the outbox nothing leaves ahead unless all of this page has a verdict, since later records may name
 * earlier ones; nor where the answer is of another feed, which is read first, or shows that the clock is wrong, by
 * which the times of what was not yet sent are put right. What may well be there is asked after first.
 */
async function pageAhead(
  page: Page,
  behind: Behind | undefined,
  answer: Answer,
  at: number,
): Promise<Page | null> {
  const { request, rows } = page
  const { epoch, cursor, mark = '', load } = answer
  if (load) {
    if (!page.goesOn || load.done || load.next === request.load?.before) return null
    const place = { stage: load.stage, before: load.next }
    return {
      ...page,
      rows: [],
      records: NO_RECORDS,
      request: { ...request, epoch, cursor, mark, load: place, asked: undefined },
    }
  }
  if (!behind || request.load || epoch !== request.epoch || cursor < request.cursor) return null
  const settled = new Set(answer.verdicts.map((verdict) => verdict.id))
  if (!rows.every((row) => settled.has(row.id)) || isNewsOfClock(page.correction, answer.at, at)) return null
  const rest = hadAll(page, answer) && { ...behind.page, rows: (await behind.names) ?? behind.page.rows }
  const next = rest ? byName(rest) : behind.page
  return next ? { ...next, request: { ...next.request, epoch, cursor, mark } } : null
}

/** Whether what was asked for ahead is this page. One of a load that by now also offers something asks for itself. */
function isFor(page: Page, ahead: Ahead | null): boolean {
  if (!ahead || page === ahead.page) return ahead !== null
  if (page.rows.length + ahead.page.rows.length > 0) return false
  const place = ({ epoch, cursor, mark, load }: Head) => JSON.stringify([epoch, cursor, mark, load])
  return place(page.request) === place(ahead.page.request)
}

/** Takes an answer in and reads what is to be sent in the same transaction: a page costs the phone one wait for its disk. */
function takeIn(
  page: Page,
  answer: Answer,
  exchangedAt: number,
  behind: Behind | undefined,
  ahead: Page | null,
): Promise<{ more: boolean; page: Page; behind?: Behind }> {
  return db.write(async () => {
    const next = ahead && ahead.rows.length > 0 ? ahead : null
    if (behind && (!next || next.request.asked)) await notSent(behind.page)
    const more = await apply(page.request, page.rows, answer, exchangedAt)
    if (next) return { more, page: next, behind: await pageBehind(next) }
    const names = hadAll(page, answer) && !page.request.asked ? await pageOfNames(-Infinity) : undefined
    return { more, page: names ?? (await nextPage()) }
  })
}

/** Whether the server had all of a page, and enough of them to tell of what waits behind. */
function hadAll({ rows }: Page, { verdicts }: Answer): boolean {
  const had = new Set(verdicts.filter(({ verdict }) => verdict === 'duplicate').map(({ id }) => id))
  return rows.length >= TELLING && rows.every(({ id }) => had.has(id))
}

/** A page that was read ahead does not leave now: what it holds is as unseen as before. */
async function notSent({ rows, offered }: Page): Promise<void> {
  if ((await db.get('offered')) === rows.at(-1)?.position) await db.set({ offered })
}

/** What a refusal of the whole request means. */
async function settleRefusal(
  refusal: Refusal,
  rows: OutboxRow[],
  token: string,
): Promise<Outcome | 'smaller' | 'go on'> {
  switch (refusal.status) {
    case 401:
    case 403:
      // What is here stays here until somebody signs in again.
      return db.write(async () => {
        if ((await db.get('token')) !== token) return 'go on' // somebody has signed in again meanwhile
        await db.meta.delete('token')
        return 'signed-out'
      })
    case 426:
      await db.set({ updateNeeded: refusal.message })
      return 'update-needed'
    case 400:
    case 413:
    case 422:
      // One record spoils the page. Halve until it stands alone, then set it aside.
      for (const row of rows) row.attempts += 1
      await db.outgoing.bulkUpdate(
        rows.map((row) => ({ key: keyOf(row), changes: { attempts: row.attempts } })),
      )
      if (rows.length > 1) return 'smaller'
      // Alone once may be bad luck on the line, which cut the request short.
      if (rows.length === 0 || rows[0]!.attempts < ALONE_AFTER) throw new Away(refusal.message)
      await db.write(async () => setAside(rows[0]!, [], refusal.message))
      return 'go on'
    default:
      throw new Away(refusal.message) // a 404 is a server that is not ours, or not yet
  }
}

function smaller(rows: number): number {
  return Math.max(1, Math.floor(rows / 4))
}

function larger(rows: number): number {
  return Math.min(PAGE, rows * 4)
}

export function countWaiting(): Promise<number> {
  return db.outgoing.count()
}

/** What a request says besides its records. */
type Head = Omit<Request, 'sheets' | 'entries'>

interface Page {
  request: Head
  rows: Asked[]
  /** The records of the rows, the first part of a request's JSON. They are packed while the page before is under way. */
  records: Packed
  token: string | undefined
  /** The clock's correction by which the rows were read. */
  correction: number
  /** The last place of the outbox that was sent before these rows. */
  offered: number
  /** Records might be offered with it if some waited. */
  mayOffer: boolean
  /** After this page of a load follows another. */
  goesOn: boolean
}

const NO_RECORDS = '{"sheets":[],"entries":[],'

/** The next page to offer, oldest first. Within a transaction, which can be this alone: an async function is followed through its waits. */
async function nextPage(): Promise<Page> {
  return readPage(most, -Infinity)
}

/** The first page of a drain, for which what a former version left behind waits as well. Within a transaction. */
async function firstPage(): Promise<Page> {
  await takeOver(db)
  return nextPage()
}

/** The page after one that is on its way already; none where nothing waits there. Within a transaction. */
async function pageBehind({ rows, request }: Page): Promise<Behind | undefined> {
  const last = rows.at(-1)
  if (!last || request.load) return undefined
  const page = await (request.asked ? pageOfNames(last.position) : readPage(larger(most), last.position))
  return page && page.rows.length > 0 ? { page } : undefined
}

/** What waits behind a first page. Not in one transaction: the page after it may leave before the names are read. */
async function readBehind(first: Page): Promise<Behind | undefined> {
  const reading = pageBehind(first)
  const names = namesAfter(first.rows.at(-1)!.position)
  names.catch(() => undefined) // whoever wants them hears of it
  const behind = await reading
  return behind && { ...behind, names }
}

/** Pages leave in the order of their positions: the last says of all that somebody else may have them now. */
async function readPage(size: number, after: number): Promise<Page> {
  const [empty, waiting] = await Promise.all([emptyPage(), waitingAfter(after, size).toArray()])
  if (!empty.mayOffer) return empty
  const page = { ...empty, ...take(waiting) }
  const offered = page.rows.at(-1)?.position ?? 0
  if (offered > empty.offered) await db.set({ offered })
  return page
}

/** A page of names of what waits behind a place; none where nothing does. */
async function pageOfNames(after: number): Promise<Page | undefined> {
  const [empty, rows] = await Promise.all([emptyPage(), namesAfter(after)])
  return empty.mayOffer ? byName({ ...empty, rows }) : undefined
}

async function namesAfter(position: number): Promise<Named[]> {
  const keys = await waitingAfter(position, NAMES).primaryKeys()
  return keys.map(([at, name]) => ({ position: at, name, id: name }))
}

/** A page that asks after its rows by name, up to the first that has none; none where that is the first. */
function byName(page: Page): Page | undefined {
  const nameless = page.rows.findIndex(({ name }) => name === '')
  const rows = nameless < 0 ? page.rows : page.rows.slice(0, nameless)
  if (rows.length === 0) return undefined
  return {
    ...page,
    rows,
    records: NO_RECORDS,
    request: { ...page.request, asked: rows.map(({ name }) => name) },
  }
}

/** The records that a page offers: none where it asks by name. */
function offeredIn({ request, rows }: Page): OutboxRow[] {
  return request.asked ? [] : rows.filter((row) => 'record' in row)
}

/**
 * A page without records. Where the clock has not been compared for an hour it is to leave so: its answer corrects
 * the times of what is about to be sent.
 */
async function emptyPage(): Promise<Page> {
  const meta = await db.settings()
  const load = await beginLoad(meta)
  const measured = Math.abs(Date.now() - (meta.measuredAt ?? 0)) < MEASURE_EVERY_MS
  const { token, correction = 0, offered = 0 } = meta
  const request: Head = {
    protocol: PROTOCOL,
    device: meta.device ?? '',
    epoch: meta.epoch ?? '',
    cursor: meta.cursor ?? 0,
    mark: meta.mark ?? '',
    at: new Date(Date.now() + correction).toISOString(),
    ...(load ? { load: { stage: load.stage, before: load.next } } : {}),
  }
  return {
    request,
    rows: [],
    records: NO_RECORDS,
    token,
    correction,
    offered,
    // A server that came back from an older copy is read first: what waits may name what it lost.
    mayOffer: measured && !meta.reoffer,
    goesOn: load?.stage === 'recent' || load?.wanted === 'all',
  }
}

/** The load that goes on with the next page: of a device that has never exchanged, or of older entries that somebody wants. */
async function beginLoad({ epoch, cursor, load }: Partial<Meta>): Promise<Load | undefined> {
  if (load) return load.stage === 'recent' || load.wanted !== '' ? load : undefined
  if (epoch || cursor) return undefined
  const first: Load = { stage: 'recent', next: '', got: 0, total: 0, wanted: '' }
  await db.set({ load: first, firstLoad: true })
  return first
}

/** Has older entries fetched: the next page of them, or all. Another exchange is to follow. */
export async function wantOlder(wanted: 'page' | 'all' | ''): Promise<void> {
  await db.write(async () => {
    const load = await db.get('load')
    if (load?.stage === 'older') await db.set({ load: { ...load, wanted } })
  })
}

/** Those of the waiting rows that one page holds. */
function take(waiting: OutboxRow[]): Pick<Page, 'rows' | 'records'> {
  const rows: OutboxRow[] = []
  const texts: Record<OutboxRow['sort'], string[]> = { sheet: [], entry: [] }
  const ids = new Set<string>()
  let bytes = 0
  for (const row of waiting) {
    const text = JSON.stringify(row.record)
    bytes += text.length
    // A verdict names a sheet by its id: two edits of one sheet go in two pages.
    if (ids.has(row.id) || (bytes > PAGE_BYTES && rows.length > 0)) break
    ids.add(row.id)
    rows.push(row)
    texts[row.sort].push(text)
  }
  return { rows, records: pack(`{"sheets":[${texts.sheet.join()}],"entries":[${texts.entry.join()}],`) }
}

/** The rows behind a place, the first so many of them. */
function waitingAfter(position: number, most: number): Collection<OutboxRow, [number, string]> {
  return db.outgoing.where(':id').above([position, Dexie.maxKey]).limit(most)
}

function assertAnswer(answer: Answer): void {
  const sound =
    answer !== null &&
    typeof answer === 'object' &&
    typeof answer.epoch === 'string' &&
    typeof answer.cursor === 'number' &&
    [answer.sheets, answer.entries, answer.verdicts].every((list) => list === null || Array.isArray(list))
  if (!sound) throw new Away(words.other)
  answer.sheets ??= []
  answer.entries ??= []
  answer.verdicts ??= []
}

/** An answer that settles nothing would be asked for again at once, for ever. */
function assertProgress(request: Head, rows: Asked[], answer: Answer): void {
  const settled = answer.verdicts.some((verdict) => rows.some((row) => row.id === verdict.id))
  const loads = request.load !== undefined && answer.load?.next !== request.load.before
  const moves = answer.epoch !== request.epoch || answer.cursor > request.cursor || loads
  if (settled || moves) return
  if (rows.length > 0) throw new Away(words.noVerdict)
  if (answer.more && !answer.load?.done) throw new Away(words.repeats)
}
