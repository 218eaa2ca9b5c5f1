import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { db } from '../data/db'
import { edit, log, strike } from '../data/log'
import { post, tryAgain, waiting } from '../data/outbox'
import { newId } from '../data/ids'
import { mustAddBin, mustHaveFreshDevice } from '../test/room'
import { FakeServer, textOf } from '../test/server'
import type { Entry } from '../types'
import { jumpIn, runs, type Answer } from './apply'
import { drain, wantOlder } from './exchange'
import { Away } from './server'

let server: FakeServer

beforeEach(async () => {
  await mustHaveFreshDevice()
  server = new FakeServer()
  server.install()
})
afterEach(() => vi.unstubAllGlobals())

async function mustLog(count: number): Promise<string[]> {
  const drafts = Array.from({ length: count }, (_, i) => ({ what: 'look', bin: `b${i}` }) as const)
  const done = await log(...drafts)
  if (!done.ok) throw new Error(JSON.stringify(done.problems))
  return done.record.map((entry) => entry.id)
}

/** As the courier does: again and again until it is through. */
async function mustDrain(most = 20): Promise<void> {
  for (let i = 0; i < most; i++) {
    try {
      await drain({ timeoutMs: 50 })
      return
    } catch (error) {
      if (!(error instanceof Away)) throw error
    }
  }
  throw new Error('still not drained')
}

const unsent = () => db.outgoing.count()

function other(): Entry {
  return { id: newId(), what: 'look', bin: 'b1', at: '2026-05-01T08:00:00Z', by: 'x', device: 'y' }
}

describe('sending', () => {
  it('offers a few, then pages of at most 1000, oldest first, and empties the outbox', async () => {
    const ids = await mustLog(1503)
    await mustDrain()
    expect(server.requests.map((request) => request.entries.length)).toEqual([250, 1000, 253])
    expect(server.entries().map((entry) => entry.id)).toEqual(ids)
    expect(await unsent()).toBe(0)
    expect(await db.get('lastSentAt')).toBeTruthy()
  })

  it('sends a bin before what was logged for it, and none of the columns kept beside a record', async () => {
    const bin = await mustAddBin()
    await log({ what: 'look', bin })
    await mustDrain()
    const [request] = server.requests
    expect(request!.sheets[0]!.id).toBe(bin)
    expect(Object.keys(request!.entries[0]!).sort()).toEqual(['at', 'bin', 'by', 'device', 'id', 'what'])
  })

  it('sends two edits of a sheet in two pages, since a verdict names the sheet', async () => {
    const bin = await mustAddBin()
    await edit('bins', bin, { name: 'Calico' })
    await edit('bins', bin, { shelf: 2 })
    await mustDrain()
    expect(server.requests.map((request) => request.sheets.length)).toEqual([1, 1, 1])
    expect(server.sheet(bin)!.fields['name']!.v).toBe('Calico')
  })

  it.each([
    'request lost',
    'answer lost',
    'hang',
    'portal page',
    'answer cut off',
    408,
    429,
    500,
    503,
    404,
  ] as const)('arrives once after: %s', async (fault) => {
    const ids = await mustLog(3)
    server.faults = [fault, fault]
    await expect(drain({ timeoutMs: 50 })).rejects.toBeInstanceOf(Away)
    expect(await unsent()).toBe(3)
    await mustDrain()
    expect(server.entries().map((entry) => entry.id)).toEqual(ids)
    expect(await unsent()).toBe(0)
  })

  it('leaves in the outbox what got no verdict', async () => {
    await mustLog(2)
    const [first] = (await db.outgoing.toArray()).map((row) => row.id)
    vi.stubGlobal('fetch', () =>
      Response.json({
        epoch: 'e1',
        cursor: 1,
        at: new Date().toISOString(),
        sheets: [],
        entries: [],
        verdicts: [{ id: first, verdict: 'stored' }],
        more: false,
      }),
    )
    await expect(drain()).rejects.toBeInstanceOf(Away)
    expect(await unsent()).toBe(1)
  })

  it.each([0, 1, 250, 499])(
    'a refused record at place %i is set aside and the rest goes on',
    async (place) => {
      const ids = await mustLog(500)
      server.refuses = (record) => (record.id === ids[place] ? 'bin is b1: give the id of a bin.' : null)
      await mustDrain()
      expect(server.entries()).toHaveLength(499)
      expect(await unsent()).toBe(0)
      const aside = await db.refused.toArray()
      expect(aside).toHaveLength(1)
      expect(aside[0]).toMatchObject({ id: ids[place], sentence: 'bin is b1: give the id of a bin.' })
      expect(await db.entries.get(ids[place]!)).toBeTruthy()
    },
  )

  it('finds the one record that spoils the whole page', async () => {
    const ids = await mustLog(40)
    const honest = globalThis.fetch
    vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
      if ((await textOf(init)).includes(ids[17]!))
        return Response.json({ message: 'cannot be read' }, { status: 400 })
      return honest(path, init)
    })
    await mustDrain()
    expect(server.entries()).toHaveLength(39)
    expect(await unsent()).toBe(0)
    expect(await db.refused.toArray()).toMatchObject([{ id: ids[17], sentence: 'cannot be read' }])
  })

  it('sends a page while the answer to the one before is written, and says beforehand that it is sent', async () => {
    await mustLog(2203)
    const last = (await db.outgoing.toCollection().last())!.position
    const write = db.write.bind(db)
    let offered: number | undefined
    vi.spyOn(db, 'write').mockImplementation(async (work, ...also) => {
      if (server.requests.length === 2 && offered === undefined) {
        offered = await db.get('offered')
        await vi.waitFor(() => expect(server.requests).toHaveLength(3))
      }
      return write(work, ...also)
    })
    await drain({ timeoutMs: 5000 })
    vi.restoreAllMocks()
    expect(offered).toBe(last)
    // How long the first is hangs on what the line was like before.
    const [first, second, third] = server.requests
    expect([second!.cursor, third!.cursor]).toEqual([first!.entries.length, 2203 - third!.entries.length])
    expect(server.entries()).toHaveLength(2203)
    expect(await unsent()).toBe(0)
  })

  it('sends nothing ahead of a record that has no verdict yet', async () => {
    const ids = await mustLog(2203)
    const honest = globalThis.fetch
    let isWithheld = false
    vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
      const answer = (await (await honest(path, init)).json()) as Answer
      if (!isWithheld && answer.verdicts.some(({ id }) => id === ids[1200])) {
        isWithheld = true
        answer.verdicts = answer.verdicts.filter(({ id }) => id !== ids[1200])
      }
      return Response.json(answer)
    })
    await drain({ timeoutMs: 5000 })
    const [first, second, third] = server.requests
    const sent = first!.entries.length + second!.entries.length
    expect(third!.entries.map(({ id }) => id)).toEqual([ids[1200], ...ids.slice(sent)])
    expect(await unsent()).toBe(0)
  })

  it('sends nothing ahead to a server that came back from an older copy', async () => {
    await mustLog(2203)
    const honest = globalThis.fetch
    let asked = 0
    vi.stubGlobal('fetch', (path: string, init: RequestInit) => {
      if (++asked === 2) server.restore(100, 'e2')
      return honest(path, init)
    })
    await mustDrain()
    // After the answer of another feed it is read to its end before anything is offered.
    expect(server.requests[2]).toMatchObject({ epoch: 'e2', cursor: 0, entries: [] })
    expect(server.entries()).toHaveLength(2203)
    expect(new Set(server.entries().map(({ id }) => id)).size).toBe(2203)
    expect(await unsent()).toBe(0)
  })

  describe('of what the server has already', () => {
    /** Logs what the server has but for some, as a phone that was put back from a copy has it. */
    async function mustLogAgain(count: number, lost: number[] = []): Promise<string[]> {
      const ids = await mustLog(count)
      const rows = await db.outgoing.toArray()
      await mustDrain()
      for (const i of lost) server.log[i] = { entry: other(), device: 'other' }
      await mustLog(1)
      await mustDrain() // the line is as good as it gets: the next page is a whole one
      await db.write(async () => post(rows))
      server.requests = []
      return ids
    }
    const sizes = () => server.requests.map(({ entries, asked }) => [entries.length, asked?.length ?? 0])

    it('asks by name alone after a page', async () => {
      await mustLogAgain(1203)
      const before = server.log.length
      await mustDrain()
      expect(sizes()).toEqual([
        [1000, 0],
        [0, 203],
      ])
      expect(server.log).toHaveLength(before)
      expect(await unsent()).toBe(0)
    })

    it('asks for one page of names after the other', async () => {
      const entries = Array.from({ length: 11_203 }, other)
      entries.forEach((entry) => server.add(entry))
      await db.set({ epoch: 'e1', cursor: entries.length })
      await db.write(async () => post(entries.map((entry) => waiting('entry', entry, 0))))
      await mustDrain()
      const [first] = server.requests
      expect(sizes().slice(1)).toEqual([
        [0, 10_000],
        [0, 1203 - first!.entries.length],
      ])
      expect(await unsent()).toBe(0)
    })

    it('sends what is not known by name', async () => {
      const ids = await mustLogAgain(2203, [1700, 2202])
      await mustDrain()
      expect(sizes().slice(0, 3)).toEqual([
        [1000, 0],
        [0, 1203],
        [2, 0],
      ])
      expect(server.entries().map(({ id }) => id)).toEqual(expect.arrayContaining(ids))
      expect(await unsent()).toBe(0)
    })

    it('asks for nothing behind the edit of a sheet', async () => {
      await mustLogAgain(1100)
      const bin = await mustAddBin()
      await mustLog(1)
      await mustDrain()
      expect(sizes().slice(0, 2)).toEqual([
        [1000, 0],
        [0, 100],
      ])
      expect(server.sheet(bin)).toBeDefined()
      expect(await unsent()).toBe(0)
    })

    it('notes of a photo that its words are there, whichever way that is found out', async () => {
      await mustLogAgain(1000)
      const photo = { what: 'photo', bin: 'b1' } as const
      const done = await log({ ...photo, photo: 'a'.repeat(64) }, { ...photo, photo: 'b'.repeat(64) })
      if (!done.ok) throw new Error(JSON.stringify(done.problems))
      const [there, lost] = done.record
      server.add(there!)
      await mustLog(198)
      for (const { record } of (await db.outgoing.toArray()).slice(-198)) server.add(record as Entry)
      await db.set({ cursor: server.log.length }) // the feed does not bring them
      const write = db.write.bind(db)
      const known = async (entry?: Entry) => (await db.entries.get(entry!.id))!.known
      let afterNames: number[] | undefined
      vi.spyOn(db, 'write').mockImplementation(async (work, ...also) => {
        const result = await write(work, ...also)
        if (server.requests.length === 2) afterNames = [await known(there), await known(lost)]
        return result
      })
      await mustDrain()
      vi.restoreAllMocks()
      expect(sizes().slice(0, 2)).toEqual([
        [1000, 0],
        [0, 200],
      ])
      expect(afterNames).toEqual([1, 0])
      expect([await known(there), await known(lost)]).toEqual([1, 1])
      expect(await unsent()).toBe(0)
    })

    it('blames no record for a question that is refused', async () => {
      await mustLogAgain(1203)
      const honest = globalThis.fetch
      vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
        const answer = await honest(path, init)
        return server.requests.at(-1)?.asked
          ? Response.json({ message: 'too many names', status: 413 }, { status: 413 })
          : answer
      })
      await expect(drain({ timeoutMs: 5000 })).rejects.toThrow(Away)
      expect(await db.outgoing.filter((row) => row.attempts > 0).count()).toBe(0)
      await mustDrain()
      expect(await unsent()).toBe(0)
    })
  })

  it('keeps everything when the session has ended', async () => {
    await mustLog(3)
    server.faults = [401]
    expect(await drain()).toBe('signed-out')
    expect(await db.get('token')).toBeUndefined()
    expect(await db.get('person')).toBeTruthy()
    expect(await unsent()).toBe(3)
    await db.set({ token: 'again' })
    await mustDrain()
    expect(server.entries()).toHaveLength(3)
  })

  it('keeps everything when the app is too old, and says so', async () => {
    await mustLog(2)
    server.faults = [426]
    expect(await drain()).toBe('update-needed')
    expect(await db.get('updateNeeded')).toBe('status 426')
    expect(await unsent()).toBe(2)
  })
})

describe('receiving', () => {
  it('fetches page after page and remembers where it was', async () => {
    for (let i = 0; i < 25; i++) server.add(other())
    server.mostInAnswer = 10
    await mustDrain()
    expect(await db.entries.count()).toBe(25)
    expect(await db.get('cursor')).toBe(25)
    server.requests = []
    server.add(other())
    await mustDrain()
    expect(server.requests.map((request) => request.cursor)).toEqual([25])
    expect(await db.entries.count()).toBe(26)
  })

  it('merges sheets field by field and never falls behind their stamps', async () => {
    const bin = await mustAddBin()
    await mustDrain()
    const ahead = 'ffffffffff00-0000-other'
    server.add({ sheet: 'bins', id: bin, fields: { name: { v: 'Elsewhere', s: ahead } } })
    await mustDrain()
    const kept = await db.sheets.get(['bins', bin])
    expect(kept!.fields['name']!.v).toBe('Elsewhere')
    expect(kept!.fields['rack']!.v).toBe('West')
    await edit('bins', bin, { name: 'Here' })
    expect((await db.sheets.get(['bins', bin]))!.fields['name']!.v).toBe('Here')
  })

  it('knows its own entry again when the answer about it was lost', async () => {
    await mustLog(1)
    server.faults = ['answer lost']
    await mustDrain()
    expect(server.entries()).toHaveLength(1)
    expect(await db.entries.count()).toBe(1)
    expect(await db.outgoing.count()).toBe(0)
  })
})

describe('the first load', () => {
  const DAY = 86_400_000
  const aged = (days: number) => ({ ...other(), at: new Date(Date.now() - days * DAY).toISOString() })

  beforeEach(() => {
    for (let days = 1; days <= 25; days++) server.add(aged(days))
    for (let days = 301; days <= 330; days++) server.add(aged(days))
    server.recentFrom = Date.now() - 200 * DAY
    server.mostInAnswer = 10
  })

  it('fetches what forecasts need, newest first, and leaves the rest until it is wanted', async () => {
    server.add({ sheet: 'rooms', id: 'room', fields: { name: { v: 'Cellar', s: 's' } } })
    await mustDrain()
    expect(await db.entries.count()).toBe(25)
    expect(await db.sheets.count()).toBe(1)
    expect(await db.get('firstLoad')).toBeUndefined()
    expect(await db.get('cursor')).toBe(server.log.length)
    expect(await db.get('load')).toMatchObject({ stage: 'older', got: 0, total: 30 })
    await wantOlder('page')
    await mustDrain()
    expect(await db.get('load')).toMatchObject({ stage: 'older', got: 10, total: 30, wanted: '' })
    await wantOlder('all')
    await mustDrain()
    expect(await db.entries.count()).toBe(55)
    expect(await db.get('load')).toBeUndefined()
  })

  it('holds the forecasts back until the last page, however often it is interrupted', async () => {
    server.faults = ['request lost', 'answer lost', 'hang', 'answer cut off', 503]
    const seen: number[] = []
    for (let tries = 0; tries < 20 && (tries === 0 || (await db.get('firstLoad'))); tries++) {
      await drain({ timeoutMs: 50 }).catch(() => undefined)
      if (await db.get('firstLoad')) seen.push(await db.entries.count())
    }
    expect(Math.max(...seen)).toBeLessThan(25)
    expect(await db.entries.count()).toBe(25)
    expect(await db.get('firstLoad')).toBeUndefined()
  })

  it('goes on at the page where it was, and takes what was written meanwhile', async () => {
    let pages = 0
    const honest = globalThis.fetch
    vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
      pages += 1
      if (pages === 2) {
        server.add(aged(0))
        server.add(aged(100))
        throw new TypeError('Failed to fetch')
      }
      return honest(path, init)
    })
    await expect(drain()).rejects.toBeInstanceOf(Away)
    const [first] = server.requests
    await mustDrain()
    expect(server.requests[1]!.load!.before).not.toBe(first!.load!.before)
    expect(await db.entries.count()).toBe(27)
  })

  it('sends what was logged on the new device, too', async () => {
    const ids = await mustLog(2)
    await mustDrain()
    expect(
      server
        .entries()
        .slice(-2)
        .map((entry) => entry.id),
    ).toEqual(ids)
    expect(await unsent()).toBe(0)
  })

  it('ends at the feed where the server came back from an older copy meanwhile', async () => {
    const honest = globalThis.fetch
    let pages = 0
    vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
      if (++pages === 2) server.restore(40, 'e2')
      return honest(path, init)
    })
    await mustDrain()
    expect(await db.get('load')).toBeUndefined()
    expect(await db.get('firstLoad')).toBeUndefined()
    // 40 came from the feed; of the 15 lost ones the first page had brought none.
    expect(new Set(server.entries().map((entry) => entry.id)).size).toBe(await db.entries.count())
  })

  it('reads the feed of a server that knows of no loads', async () => {
    server.recentFrom = null
    await mustDrain()
    expect(await db.entries.count()).toBe(55)
    expect(await db.get('load')).toBeUndefined()
    expect(await db.get('firstLoad')).toBeUndefined()
  })
})

describe('a server that came back from an older copy', () => {
  it('is offered again what it lost, and nothing twice', async () => {
    const bin = await mustAddBin()
    await mustLog(5)
    await mustDrain()
    server.add(other())
    await mustDrain()
    const before = server.log.length
    server.restore(3, 'e2')
    const [late] = await mustLog(1)
    await mustDrain()
    expect(server.entries()).toHaveLength(7)
    expect(new Set(server.entries().map((entry) => entry.id)).size).toBe(7)
    expect(server.entries().some((entry) => entry.id === late)).toBe(true)
    expect(server.log).toHaveLength(before + 1)
    expect(server.sheet(bin)!.fields['rack']!.v).toBe('West')
    expect(await db.get('epoch')).toBe('e2')
    expect(await unsent()).toBe(0)
  })

  it('is noticed by a cursor that runs backwards, too', async () => {
    await mustLog(5)
    await mustDrain()
    server.restore(2, 'e1')
    await mustDrain()
    expect(server.entries()).toHaveLength(5)
  })

  it('goes on where it was when the drain is cut off in between', async () => {
    await mustLog(8)
    await mustDrain()
    server.restore(0, 'e2')
    server.faults = ['answer lost', 'request lost', 'hang', 'answer lost', 'answer cut off']
    await mustDrain()
    expect(server.entries()).toHaveLength(8)
    expect(await unsent()).toBe(0)
  })

  it('does not offer again a strike or an edit that it still has', async () => {
    const bin = await mustAddBin()
    const [id] = await mustLog(1)
    await strike(id!)
    await mustDrain()
    server.requests = []
    server.restore(server.log.length, 'e2')
    await mustDrain()
    const offered = server.requests.flatMap((request) => [...request.sheets, ...request.entries])
    expect(offered).toEqual([])
    expect(server.sheet(bin)).toBeTruthy()
  })
})

describe('the clock', () => {
  it('is compared before the first page leaves, and what was logged is put right', async () => {
    await db.set({ measuredAt: 0 })
    server.aheadMs = 3 * 3_600_000
    const [id] = await mustLog(1)
    await mustDrain()
    expect(server.requests[0]!.entries).toEqual([])
    const sent = server.entries()[0]!
    expect(Math.abs(Date.parse(sent.at) - Date.now() - server.aheadMs)).toBeLessThan(10_000)
    expect((await db.entries.get(id!))!.at).toBe(sent.at)
    expect(Math.round((await db.get('correction'))! / 60_000)).toBe(180)
  })

  it('is left alone within two minutes', async () => {
    server.aheadMs = 110_000
    await mustDrain()
    expect(await db.get('correction')).toBe(0)
  })

  it('that goes wrong in the middle of a drain spoils nothing that was read to be sent next', async () => {
    const ids = await mustLog(2203)
    const honest = globalThis.fetch
    let asked = 0
    vi.stubGlobal('fetch', (path: string, init: RequestInit) => {
      if (++asked === 2) server.aheadMs = 3 * 3_600_000
      return honest(path, init)
    })
    await mustDrain()
    const at = new Map(server.entries().map((entry) => [entry.id, Date.parse(entry.at)]))
    expect(Math.abs(at.get(ids[1200]!)! - Date.now())).toBeLessThan(60_000)
    expect(Math.abs(at.get(ids[2100]!)! - Date.now() - server.aheadMs)).toBeLessThan(60_000)
    expect((await db.entries.get(ids[2100]!))!.t).toBe(at.get(ids[2100]!))
  })

  it('does not correct twice what was made under the correction', async () => {
    server.aheadMs = 3 * 3_600_000
    await mustDrain()
    const [id] = await mustLog(1)
    const at = (await db.entries.get(id!))!.at
    server.aheadMs = 0 // the person has set the clock right
    await db.set({ measuredAt: 0 })
    await mustDrain()
    expect(server.entries()[0]!.at).toBe(at)
  })
})

it('takes away runs of places, and nothing between them', async () => {
  expect(runs([])).toEqual([])
  expect(runs([-2, -1, 0, 1, 4, 6, 7])).toEqual([
    [-2, 1],
    [4, 4],
    [6, 7],
  ])
  const ids = await mustLog(10)
  server.refuses = (record) => ([ids[0], ids[4], ids[9]].includes(record.id) ? 'no.' : null)
  await mustDrain()
  server.refuses = () => null
  await mustLog(3) // behind those that were set aside
  await tryAgain((await db.refused.where('id').equals(ids[4]!).first())!.position)
  await mustDrain()
  expect(await unsent()).toBe(0)
  expect((await db.refused.toArray()).map((row) => row.id)).toEqual([ids[0], ids[9]])
  expect(new Set(server.entries().map((entry) => entry.id)).size).toBe(11)
})

it('a clock that jumped spoils only what was made after the jump', () => {
  const HOUR = 3_600_000
  const day = (n: number) => (1e4 + n) * 24 * HOUR
  // Put eight months ahead between the second and the third record.
  expect(jumpIn([day(1), day(2), day(243), day(244)], -240 * 24 * HOUR, day(0), day(245))).toBe(2)
  // Put back to years ago between the first and the second.
  expect(jumpIn([day(1000), day(10), day(11)], 990 * 24 * HOUR, day(999), day(12))).toBe(1)
  // Wrong from the beginning, as far as anybody knows.
  expect(jumpIn([day(1), day(2)], -240 * 24 * HOUR, 0, day(3))).toBe(0)
  // Jumped after the last record: none is spoiled.
  expect(jumpIn([day(1), day(2)], -240 * 24 * HOUR, day(0), day(242))).toBe(2)
})
