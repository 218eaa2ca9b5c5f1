import { db, type Load, type OutboxRow } from '../data/db'
import type { Entry, Sheet } from '../types'
import { apply, offerAgain, type Answer, type Request } from './apply'
import { Away, Refusal, request, type Call } from './server'

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
const PAGE = 500 // records; the protocol's bound
const PAGE_BYTES = 2_000_000 // well below the server's 8 MiB
const ALONE_AFTER = 3 // refusals of requests with a record until one counts as its own
const MEASURE_EVERY_MS = 60 * 60 * 1000

export interface Drain {
  signal?: AbortSignal
  /** Called whenever something got done, so that a watchdog can tell slow from stuck. */
  onProgress?: () => void
  timeoutMs?: number
}

/** Records a page at most; a thin line makes it smaller for the attempts that follow. */
let most = PAGE

/** Drains until done. Throws Away when the server cannot be reached: try again later. */
export async function drain({ signal, onProgress, timeoutMs }: Drain = {}): Promise<Outcome> {
  let page = await nextPage()
  let ahead: Ahead | null = null
  for (;;) {
    const { token, rows } = page
    if (!token) return 'signed-out'
    const ask = (body: Request) => send(body, { method: 'POST', token, signal, timeoutMs })
    try {
      const { answer, at } = await (isFor(page, ahead) ? ahead!.answered : ask(page.request))
      ahead = lookAhead(page, answer, ask)
      if (most < PAGE) most = Math.min(PAGE, most * 4)
      const { more, next } = await takeIn(page, answer, at)
      onProgress?.()
      assertProgress(page.request, rows, answer)
      if (!more && next.rows.length === 0 && (await countWaiting()) === 0) return 'done'
      page = next
    } catch (error) {
      if (error instanceof Away && error.slow) most = smaller(rows.length)
      if (!(error instanceof Refusal)) throw error
      const outcome = await settleRefusal(error, rows, token)
      if (outcome === 'smaller') most = smaller(rows.length)
      else if (outcome !== 'go on') return outcome
      onProgress?.()
      page = await nextPage()
    }
  }
}

interface Answered {
  answer: Answer
  at: number // this device's clock half-way between request and answer
}

async function send(body: Request, call: Omit<Call, 'body'>): Promise<Answered> {
  const sentAt = Date.now()
  const { answer } = await request<Answer>('/api/underlog/exchange', { ...call, body })
  assertAnswer(answer)
  return { answer, at: (sentAt + Date.now()) / 2 }
}

/** The next page of a load, asked for while the last one is still being written. */
interface Ahead {
  request: Request
  answered: Promise<Answered>
}

function lookAhead(page: Page, answer: Answer, ask: (body: Request) => Promise<Answered>): Ahead | null {
  if (!page.goesOn || !answer.load || answer.load.done || answer.load.next === page.request.load?.before)
    return null
  const { epoch, cursor, mark = '', load } = answer
  const body = {
    ...page.request,
    epoch,
    cursor,
    mark,
    load: { stage: load.stage, before: load.next },
    sheets: [],
    entries: [],
  }
  const answered = ask(body)
  answered.catch(() => undefined) // whoever takes it hears of it
  return { request: body, answered }
}

/** Whether what was asked for ahead is what a page asks for. One that also offers something asks for itself. */
function isFor({ request, rows }: Page, ahead: Ahead | null): boolean {
  if (!ahead || rows.length > 0) return false
  const place = ({ epoch, cursor, mark, load }: Request) => JSON.stringify([epoch, cursor, mark, load])
  return place(request) === place(ahead.request)
}

/** Takes an answer in and readies the next page in the same transaction: a page costs the phone one wait for its disk. */
function takeIn(page: Page, answer: Answer, exchangedAt: number): Promise<{ more: boolean; next: Page }> {
  return db.write(async () => {
    const more = await apply(page.request, page.rows, answer, exchangedAt)
    if (!more) await offerAgain()
    return { more, next: await nextPage() }
  })
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
      await db.outbox.bulkUpdate(
        rows.map(({ position, attempts }) => ({ key: position, changes: { attempts } })),
      )
      if (rows.length > 1) return 'smaller'
      // Alone once may be bad luck on the line, which cut the request short.
      if (rows.length === 0 || rows[0]!.attempts < ALONE_AFTER) throw new Away(refusal.message)
      await db.outbox.update(rows[0]!.position, {
        state: 'refused',
        problems: [],
        sentence: refusal.message,
      })
      return 'go on'
    default:
      throw new Away(refusal.message) // a 404 is a server that is not ours, or not yet
  }
}

function smaller(rows: number): number {
  return Math.max(1, Math.floor(rows / 4))
}

export function countWaiting(): Promise<number> {
  return db.outbox.where('state').equals('waiting').count()
}

interface Page {
  request: Request
  rows: OutboxRow[]
  token: string | undefined
  /** After this page of a load follows another. */
  goesOn: boolean
}

/**
 * The next page to offer, oldest first. Where the clock has not been compared
 * for an hour the first page is empty: its answer corrects the times of what
 * is about to be sent.
 */
async function nextPage(): Promise<Page> {
  return db.write(async () => {
    const load = await beginLoad()
    const meta = await db.getAll(
      'token',
      'device',
      'epoch',
      'cursor',
      'mark',
      'correction',
      'measuredAt',
      'reoffer',
      'offered',
    )
    const measured = Math.abs(Date.now() - (meta.measuredAt ?? 0)) < MEASURE_EVERY_MS
    // A server that came back from an older copy is read first: what waits may name what it lost.
    const rows = measured && !meta.reoffer ? await take(most) : []
    // They leave in the order of their positions: the last says of all that somebody else may have them now.
    const last = rows.at(-1)?.position ?? 0
    if (last > (meta.offered ?? 0)) await db.set({ offered: last })
    const request: Request = {
      protocol: PROTOCOL,
      device: meta.device ?? '',
      epoch: meta.epoch ?? '',
      cursor: meta.cursor ?? 0,
      mark: meta.mark ?? '',
      at: new Date(Date.now() + (meta.correction ?? 0)).toISOString(),
      ...(load ? { load: { stage: load.stage, before: load.next } } : {}),
      sheets: rows.flatMap((row) => (row.sort === 'sheet' ? [row.record as Sheet] : [])),
      entries: rows.flatMap((row) => (row.sort === 'entry' ? [row.record as Entry] : [])),
    }
    return { request, rows, token: meta.token, goesOn: load?.stage === 'recent' || load?.wanted === 'all' }
  })
}

/** The load that goes on with the next page: of a device that has never exchanged, or of older entries that somebody wants. */
async function beginLoad(): Promise<Load | undefined> {
  const { epoch, cursor, load } = await db.getAll('epoch', 'cursor', 'load')
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

async function take(most: number): Promise<OutboxRow[]> {
  const rows: OutboxRow[] = []
  const ids = new Set<string>()
  let bytes = 0
  for (const row of await firstWaiting(most)) {
    bytes += JSON.stringify(row.record).length
    // A verdict names a sheet by its id: two edits of one sheet go in two pages.
    if (ids.has(row.id) || (bytes > PAGE_BYTES && rows.length > 0)) break
    ids.add(row.id)
    rows.push(row)
  }
  return rows
}

/** By their places, since nearly all rows wait: by their states each would have to be looked up. */
async function firstWaiting(most: number): Promise<OutboxRow[]> {
  const rows: OutboxRow[] = []
  for (let after = -Infinity; rows.length < most;) {
    const next = await db.outbox.where('position').above(after).limit(most).toArray()
    rows.push(...next.filter((row) => row.state === 'waiting'))
    if (next.length < most) break
    after = next.at(-1)!.position
  }
  return rows.slice(0, most)
}

function assertAnswer(answer: Answer): void {
  const sound =
    answer !== null &&
    typeof answer === 'object' &&
    typeof answer.epoch === 'string' &&
    typeof answer.cursor === 'number' &&
    [answer.sheets, answer.entries, answer.verdicts].every((list) => list === null || Array.isArray(list))
  if (!sound) throw new Away('Something else than the server answered.')
  answer.sheets ??= []
  answer.entries ??= []
  answer.verdicts ??= []
}

/** An answer that settles nothing would be asked for again at once, for ever. */
function assertProgress(request: Request, rows: OutboxRow[], answer: Answer): void {
  const settled = answer.verdicts.some((verdict) => rows.some((row) => row.id === verdict.id))
  const loads = request.load !== undefined && answer.load?.next !== request.load.before
  const moves = answer.epoch !== request.epoch || answer.cursor > request.cursor || loads
  if (settled || moves) return
  if (rows.length > 0) throw new Away('The server gave no verdict.')
  if (answer.more && !answer.load?.done) throw new Away('The server repeats itself.')
}
