import { vi } from 'vitest'
import { merge } from '../data/stamp'
import type { Answer, Request, Verdict } from '../sync/apply'
import type { Entry, Sheet } from '../types'

export type Fault = 'answer lost' | 'request lost' | 'hang' | number | 'portal page' | 'answer cut off'

/** An exchange in memory, after the contract, with faults to order. */
export class FakeServer {
  epoch = 'e1'
  log: { entry?: Entry; sheet?: Sheet; device: string }[] = []
  requests: Request[] = []
  faults: Fault[] = []
  aheadMs = 0
  mostInAnswer = 1000
  /** Where a new device's first load ends; null: the server knows of no loads. */
  recentFrom: number | null = null
  refuses: (record: Entry | Sheet) => string | null = () => null

  install(): void {
    vi.stubGlobal('fetch', (path: string, init: RequestInit) => this.fetch(path, init))
  }

  entries(): Entry[] {
    return this.log.flatMap((row) => (row.entry ? [row.entry] : []))
  }

  sheet(id: string): Sheet | undefined {
    const edits = this.log.flatMap((row) => (row.sheet?.id === id ? [row.sheet] : []))
    return edits.reduce<Sheet | undefined>((sheet, edit) => merge(sheet, edit), undefined)
  }

  /** Another device's records, already stored. */
  add(record: Entry | Sheet): void {
    this.log.push(
      'fields' in record ? { sheet: record, device: 'other' } : { entry: record, device: 'other' },
    )
  }

  /** Comes back from a copy made when it had so many records. */
  restore(records: number, epoch: string): void {
    this.log = this.log.slice(0, records)
    this.epoch = epoch
  }

  private async fetch(path: string, init: RequestInit): Promise<Response> {
    if (path !== '/api/underlog/exchange') return Response.json({ message: 'no such route' }, { status: 404 })
    const fault = this.faults.shift()
    if (fault === 'request lost') throw new TypeError('Failed to fetch')
    if (fault === 'hang') return untilAborted(init.signal!)
    if (fault === 'portal page') return new Response('<html>Welcome to our network</html>')
    if (typeof fault === 'number')
      return Response.json({ message: `status ${fault}`, status: fault }, { status: fault })
    const answer = this.exchange(await bodyOf(init))
    if (fault === 'answer lost') throw new TypeError('Failed to fetch')
    const text = JSON.stringify(answer)
    return new Response(fault === 'answer cut off' ? text.slice(0, text.length / 2) : text)
  }

  private exchange(request: Request): Answer {
    this.requests.push(request)
    const verdicts = [
      ...request.sheets.map((sheet) => this.take(sheet, request.device)),
      ...request.entries.map((entry) => this.take(entry, request.device)),
      ...this.have(request.asked ?? []),
    ]
    if (request.load && this.recentFrom !== null && ['', this.epoch].includes(request.epoch)) {
      return { ...this.answer(verdicts), ...this.load(request) }
    }
    const cursor = request.epoch === this.epoch ? Math.min(request.cursor, this.log.length) : 0
    const page = this.log.slice(cursor, cursor + this.mostInAnswer)
    const sent = new Set([...request.sheets, ...request.entries, ...verdicts].map(({ id }) => id))
    const fresh = page.filter((row) => !sent.has((row.entry ?? row.sheet)!.id))
    return {
      ...this.answer(verdicts),
      cursor: cursor + page.length,
      sheets: fresh.flatMap((row) => (row.sheet ? [row.sheet] : [])),
      entries: fresh.flatMap((row) => (row.entry ? [row.entry] : [])),
      more: cursor + page.length < this.log.length,
    }
  }

  private answer(verdicts: Verdict[]) {
    return {
      protocol: 1,
      epoch: this.epoch,
      durable: this.log.length,
      at: new Date(Date.now() + this.aheadMs).toISOString(),
      verdicts,
      people: [{ id: 'p'.repeat(15), name: 'Ada', role: 'owner' as const }],
    }
  }

  /** The next page of entries, the newest first; a place is "time id", the sheets come with the first page. */
  private load(request: Request) {
    const { stage, before } = request.load!
    const placeOf = (entry: Entry) => `${new Date(entry.at).toISOString()} ${entry.id}`
    const from = new Date(this.recentFrom!).toISOString()
    const all = this.entries().sort((a, b) => (placeOf(a) < placeOf(b) ? 1 : -1))
    const rest = all.filter(
      (entry) => (!before || placeOf(entry) < before) && (stage === 'older' || placeOf(entry) >= from),
    )
    const entries = rest.slice(0, this.mostInAnswer)
    const first = stage === 'recent' && !before
    const edited = new Set(this.log.flatMap((row) => (row.sheet ? [row.sheet.id] : [])))
    const done = rest.length <= entries.length
    const older = all.filter((entry) => placeOf(entry) < from).length
    const next = done && stage === 'recent' ? from : entries.length > 0 ? placeOf(entries.at(-1)!) : before
    return {
      cursor: first ? this.log.length : request.cursor,
      sheets: first ? [...edited].map((id) => this.sheet(id)!) : [],
      entries,
      load: { stage, next, left: rest.length - entries.length, older, done },
      more: true,
    }
  }

  private have(ids: string[]): Verdict[] {
    const here = new Set(this.entries().map(({ id }) => id))
    return ids.filter((id) => here.has(id)).map((id) => ({ id, verdict: 'duplicate' }))
  }

  private take(record: Entry | Sheet, device: string): Verdict {
    const { id } = record
    const sentence = this.refuses(record)
    if (sentence) return { id, verdict: 'refused', problems: [], sentence }
    if ('fields' in record) {
      this.log.push({ sheet: record, device })
      return { id, verdict: 'stored' }
    }
    const known = this.entries().find((entry) => entry.id === id)
    if (!known) {
      this.log.push({ entry: record, device })
      return { id, verdict: 'stored' }
    }
    if (JSON.stringify(known) === JSON.stringify(record)) return { id, verdict: 'duplicate' }
    return { id, verdict: 'refused', sentence: 'id is taken by another entry.' }
  }
}

async function bodyOf(init: RequestInit): Promise<Request> {
  return JSON.parse(await textOf(init)) as Request
}

/** The body of a request, unpacked. */
export async function textOf({ headers, body }: RequestInit): Promise<string> {
  const isPacked = (headers as Record<string, string>)['Content-Encoding'] === 'gzip'
  const sent = new Response(body).body!
  return new Response(isPacked ? sent.pipeThrough(new DecompressionStream('gzip')) : sent).text()
}

function untilAborted(signal: AbortSignal): Promise<never> {
  return new Promise((_, reject) => signal.addEventListener('abort', () => reject(signal.reason as Error)))
}
