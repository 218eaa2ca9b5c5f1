import 'fake-indexeddb/auto'
import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import { PassBook, SitterDatabase } from '../data/sitter'
import { passView } from '../test/pass'
import type { Entry } from '../types'
import { Away } from './server'
import { carry } from './sitter'

const secret = 'a'.repeat(26)
let book: PassBook
let server: {
  view: number | ReturnType<typeof passView>
  exchange: number
  has: Map<string, Entry>
  refuse: string[]
  drops: number // answers that get lost after the work is done
  asked: string[]
}

beforeEach(async () => {
  const db = new SitterDatabase()
  await db.delete({ disableAutoOpen: false })
  book = new PassBook(db, secret)
  await book.open()
  server = { view: passView(), exchange: 200, has: new Map(), refuse: [], drops: 0, asked: [] }
  vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
    server.asked.push(path)
    expect(new Headers(init.headers).get('Authorization')).toBe(`Pass ${secret}`)
    const json = (status: number, body: unknown) => new Response(JSON.stringify(body), { status })
    if (path.endsWith('/view'))
      return typeof server.view === 'number'
        ? json(server.view, { sentence: 'No.' })
        : json(200, { ...server.view, at: new Date().toISOString() })
    if (server.exchange !== 200) return json(server.exchange, { sentence: 'No.' })
    const { entries } = JSON.parse(init.body as string) as { entries: Entry[] }
    const verdicts = entries.map((entry) => {
      if (server.refuse.includes(entry.id)) return { id: entry.id, verdict: 'refused', sentence: 'Not that.' }
      const verdict = server.has.has(entry.id) ? 'duplicate' : 'stored'
      server.has.set(entry.id, entry)
      return { id: entry.id, verdict }
    })
    if (server.drops-- > 0) throw new TypeError('the line broke')
    return json(200, { protocol: 1, epoch: 'e1', at: new Date().toISOString(), verdicts, entries: [] })
  })
})
afterEach(() => vi.unstubAllGlobals())

async function mustNote(ml: number): Promise<string> {
  const { entries } = await book.note([{ what: 'water', bin: 'b1', water_ml: ml }], null)
  return entries[0]!.id
}
const states = async () => (await book.db.noted.orderBy('position').toArray()).map((row) => row.state)

it('brings what there is to do and takes what was noted, in order', async () => {
  const ids = [await mustNote(10), await mustNote(20)]
  expect(await carry(book)).toBe('good')
  expect([...server.has.keys()]).toEqual(ids)
  expect(await states()).toEqual(['sent', 'sent'])
  expect((await book.db.passes.get(secret))?.view?.sitter).toBe('Mo')
})

it('offers again what may have got lost, and the server has it once', async () => {
  await mustNote(10)
  server.drops = 1
  await expect(carry(book)).rejects.toThrow(Away)
  expect(await states()).toEqual(['waiting'])
  expect(await carry(book)).toBe('good')
  expect(server.has.size).toBe(1)
  expect(await states()).toEqual(['sent'])
})

it('sends a note without asking what there is to do', async () => {
  await carry(book)
  server.asked.length = 0
  await mustNote(10)
  await carry(book, false)
  expect(server.asked.map((path) => path.split('/').pop())).toEqual(['exchange'])
  expect(await states()).toEqual(['sent'])
})

it('sets aside what is refused, and the rest goes through', async () => {
  const refused = await mustNote(10)
  server.refuse.push(refused)
  await mustNote(20)
  await carry(book)
  expect(await states()).toEqual(['refused', 'sent'])
  expect((await book.db.noted.where('id').equals(refused).first())?.sentence).toBe('Not that.')
})

it('offers everything again to a server that lost it', async () => {
  await mustNote(10)
  await carry(book)
  server.has.clear()
  server.view = passView({ epoch: 'e2' })
  await carry(book)
  expect(server.has.size).toBe(1)
  expect(await states()).toEqual(['sent'])
})

it.each([
  [401, 'unknown'],
  [403, 'revoked'],
] as const)('forgets what it was shown at %d', async (status, state) => {
  await carry(book)
  server.view = server.exchange = status
  await mustNote(10)
  expect(await carry(book)).toBe(state)
  expect(await book.db.passes.get(secret)).toMatchObject({ state, view: null })
  expect(await states()).toEqual(['waiting']) // to be read out
})

it('still sends what happened on the trip when its days are over', async () => {
  await carry(book)
  await mustNote(10)
  server.view = 410
  expect(await carry(book)).toBe('over')
  expect(await states()).toEqual(['sent'])
})

it.each(['', 'cut', 'with a blank that no header takes', 'ä'.repeat(26)])(
  'asks no server about a link that was bent: %s',
  async (broken) => {
    const bent = new PassBook(book.db, broken)
    await bent.open()
    expect(await carry(bent)).toBe('unknown')
    expect(server.asked).toEqual([])
  },
)

it('goes by the clock of the server where this phone is off', async () => {
  const real = Date.now
  try {
    vi.spyOn(Date, 'now').mockImplementation(() => real() - 3_600_000)
    await carry(book)
    const { correction } = (await book.db.passes.get(secret))!
    expect(Math.abs(correction - 3_600_000)).toBeLessThan(5000)
    await mustNote(10)
    const [row] = await book.db.noted.toArray()
    expect(Math.abs(Date.parse(row!.entry.at) - real())).toBeLessThan(5000)
  } finally {
    vi.restoreAllMocks()
  }
})
