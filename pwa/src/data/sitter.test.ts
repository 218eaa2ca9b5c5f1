import 'fake-indexeddb/auto'
import { beforeEach, describe, expect, it } from 'vitest'
import { beginWalk, goOn } from '../app/visit'
import { passView } from '../test/pass'
import { PassBook, SitterDatabase } from './sitter'

const secret = 'a'.repeat(26)
let book: PassBook

beforeEach(async () => {
  const db = new SitterDatabase()
  await db.delete({ disableAutoOpen: false })
  book = new PassBook(db, secret)
  await book.open()
  await book.keepView(passView(), 0)
})

const walkOf = async () => (await book.db.walks.get([secret, '2026-03-05']))!
const noted = () => book.db.noted.orderBy('position').toArray()

async function mustFeel(): Promise<void> {
  const walk = goOn(beginWalk(secret, passView().visits[0]!, new Date()), 'found', new Date())
  const done = await book.note(
    [{ what: 'feel', bin: 'b1', feel: 'dry' }],
    goOn(walk, 'dry', new Date(), 'dry'),
  )
  expect(done.problems).toEqual([])
}

describe('what is noted', () => {
  it('is kept together with how far the walk has come', async () => {
    await mustFeel()
    const [row] = await noted()
    expect(row).toMatchObject({
      pass: secret,
      state: 'waiting',
      entry: { what: 'feel', bin: 'b1', feel: 'dry' },
    })
    const walk = await walkOf()
    expect(walk.at.step).toBe('0 then')
    expect(walk.taken[1]?.entries).toEqual([row!.id])
  })

  it('is refused whole where a field is wrong, and the walk stays where it was', async () => {
    await mustFeel()
    const before = await walkOf()
    const next = goOn(before, 'gave', new Date())
    const done = await book.note([{ what: 'water', bin: 'b1', water_ml: 9000 }], next)
    expect(done.problems[0]).toMatchObject({ field: 'water_ml' })
    expect(await walkOf()).toEqual(before)
    expect(await noted()).toHaveLength(1)
  })

  it('is forgotten when taken back before a server can have it', async () => {
    await mustFeel()
    await book.takeBack(await walkOf())
    expect(await noted()).toEqual([])
    expect((await walkOf()).at).toEqual({ stop: 0, step: '0' })
  })

  it.each(['waiting', 'sent'] as const)(
    'is struck when taken back after it was offered (%s)',
    async (state) => {
      await mustFeel()
      const [row] = await noted()
      await book.db.noted.update(row!.position, { offered: 1, state })
      await book.takeBack(await walkOf())
      const rows = await noted()
      expect(rows).toHaveLength(2)
      expect(rows[1]).toMatchObject({
        state: 'waiting',
        entry: { what: 'strike', struck: row!.id, bin: 'b1' },
      })
    },
  )
})

describe('a pass that ends', () => {
  beforeEach(async () => {
    await mustFeel()
    await book.db.pictures.put({
      pass: secret,
      name: 'p',
      data: new ArrayBuffer(1),
      state: 'fetched',
      sentence: '',
    })
  })

  it('leaves nothing of what it showed when it is revoked, but what could not be sent', async () => {
    await book.end('revoked')
    expect(await book.db.passes.get(secret)).toMatchObject({ state: 'revoked', view: null })
    expect(await book.db.walks.count()).toBe(0)
    expect(await book.db.pictures.count()).toBe(0)
    expect(await noted()).toHaveLength(1)
  })

  it('still holds what is to be sent when its days are over', async () => {
    await book.end('over')
    expect(await book.db.passes.get(secret)).toMatchObject({ state: 'over' })
    expect((await noted())[0]).toMatchObject({ state: 'waiting' })
  })
})

it('keeps two passes on one phone apart', async () => {
  await mustFeel()
  const other = new PassBook(book.db, 'b'.repeat(26))
  await other.open()
  await other.end('revoked')
  expect(await book.db.walks.count()).toBe(1)
  expect(await book.db.passes.get(secret)).toMatchObject({ state: 'good' })
})
