import { get, type Readable } from 'svelte/store'
import { beforeEach, describe, expect, it, vi } from 'vitest'
import { mustAddBin, mustHaveFreshDevice } from '../test/room'
import { db } from './db'
import { limits } from './limits'
import { log, strike } from './log'
import {
  dropPhoto,
  countUnsentPhotos,
  forgetStruck,
  keepPhoto,
  makeRoom,
  onTheWay,
  photosByEntry,
  photosOf,
  takePhoto,
  unsentPhotos,
} from './photos'
import { nameOf, type Picture } from './picture'

beforeEach(mustHaveFreshDevice)

async function mustPicture(seed = 1, length = 1000): Promise<Picture> {
  const full = new Uint8Array(length).fill(seed)
  return { name: await nameOf(full), full, small: full.slice(0, 10), width: 4, height: 3, takenAt: null }
}

async function value<T>(
  store: Readable<T | undefined>,
  isIt: (value: T) => boolean = () => true,
): Promise<T> {
  return vi.waitFor(() => {
    const found = get(store)
    if (found === undefined || !isIt(found)) throw new Error(`not yet: ${JSON.stringify(found)}`)
    return found
  })
}

/** Stores are read while somebody listens. */
function held<T>(store: Readable<T>): Readable<T> {
  store.subscribe(() => undefined)
  return store
}

const full = () => Object.assign(new Error('no room'), { name: 'QuotaExceededError' })

describe('keeping a photo', () => {
  it('is one with its entry: the picture, the entry, the place in the outbox', async () => {
    const bin = await mustAddBin()
    const picture = await mustPicture()
    const done = await keepPhoto(picture, { bin, at: '2024-05-28T19:05:00Z' })
    if (!done.ok) throw new Error('refused')
    expect(done.record).toMatchObject({ what: 'photo', photo: picture.name, bin, at: '2024-05-28T19:05:00Z' })
    expect(await db.photos.get(picture.name)).toMatchObject({ state: 'waiting', bytes: 1000, offset: 0 })
    const kept = await db.pictures.get([picture.name, 'full'])
    expect(new Uint8Array(kept!.data)).toEqual(picture.full)
    expect((await db.outgoing.toArray()).map((row) => row.id)).toContain(done.record.id)
  })

  it('keeps nothing at all where the device is full, and says so', async () => {
    const fail = vi.spyOn(db.pictures, 'bulkPut').mockRejectedValue(full())
    await expect(keepPhoto(await mustPicture(), {})).rejects.toThrow(/no room left/)
    expect(fail).toHaveBeenCalledTimes(2)
    fail.mockRestore()
    for (const table of [db.entries, db.outgoing, db.photos, db.pictures]) expect(await table.count()).toBe(0)
  })

  it('lets what can be fetched again go first', async () => {
    const other = await mustPicture(9)
    await db.pictures.put({
      name: other.name,
      size: 'full',
      data: other.full.buffer,
      bytes: 1000,
      kept: 0,
      usedAt: 1,
    })
    const fail = vi.spyOn(db.pictures, 'bulkPut').mockRejectedValueOnce(full())
    expect((await keepPhoto(await mustPicture(), {})).ok).toBe(true)
    fail.mockRestore()
    expect(await db.pictures.get([other.name, 'full'])).toBeUndefined()
    expect(await db.entries.count()).toBe(1)
  })

  it('keeps nothing of a photo whose entry is not right', async () => {
    const done = await keepPhoto(await mustPicture(), { note: 'x'.repeat(3000) })
    expect(done.ok).toBe(false)
    expect(await db.photos.count()).toBe(0)
  })

  it('has one picture for two entries', async () => {
    const picture = await mustPicture()
    await keepPhoto(picture, {})
    await db.photos.update(picture.name, { state: 'sent', known: 1 })
    await keepPhoto(picture, {})
    expect(await db.entries.count()).toBe(2)
    expect(await db.photos.toArray()).toMatchObject([{ state: 'waiting', known: 1 }])
  })
})

describe('striking', () => {
  it('an unsent photo leaves nothing of it on the device; one of two entries leaves it', async () => {
    const picture = await mustPicture()
    const [first, second] = [await keepPhoto(picture, {}), await keepPhoto(picture, {})]
    if (!first.ok || !second.ok) throw new Error('refused')
    await strike(first.record.id)
    await forgetStruck()
    expect(await db.pictures.count()).toBe(2)
    await dropPhoto(picture.name)
    expect(await db.pictures.count()).toBe(0)
    expect(await db.photos.count()).toBe(0)
    expect(await db.entries.filter((row) => row.what === 'strike').count()).toBe(2)
  })
})

describe('what the screens read', () => {
  it('a bin has its photos by the day they were taken, without struck ones', async () => {
    const bin = await mustAddBin()
    const ids: string[] = []
    for (const [seed, at] of [
      [1, '2025-01-01T00:00:00Z'],
      [2, '2026-01-01T00:00:00Z'],
      [3, '2024-01-01T00:00:00Z'],
    ] as const) {
      const done = await keepPhoto(await mustPicture(seed), { bin, at })
      if (done.ok) ids.push(done.record.id)
    }
    await keepPhoto(await mustPicture(4), {}) // the room's, not the bin's
    const store = held(photosOf(bin))
    const found = await value(store, (list) => list.length === 3)
    expect(found.map((one) => one.at.slice(0, 4))).toEqual(['2026', '2025', '2024'])
    await strike(ids[1]!)
    await value(store, (list) => list.length === 2)
  })

  it('photos go with entries, and are counted on their way', async () => {
    const looked = await log({ what: 'look', bin: 'b1' })
    if (!looked.ok) throw new Error('refused')
    const of = looked.record[0]!.id
    await keepPhoto(await mustPicture(), { of, bin: 'b1' })
    const with_ = await value(held(photosByEntry), (map) => map.size > 0)
    expect(with_.get(of)).toHaveLength(1)
    expect((await value(held(onTheWay), (way) => way.waiting.length > 0)).refused).toEqual([])
  })
})

describe('room on the device', () => {
  it('is kept by letting the longest unused go, and never what nobody else has', async () => {
    const row = (name: string, usedAt: number, kept: 0 | 1) => ({
      ...{ name, size: 'full' as const, data: new ArrayBuffer(0), bytes: 40, kept, usedAt },
    })
    await db.pictures.bulkPut([row('old', 1, 0), row('mine', 0, 1), row('mid', 2, 0), row('new', 3, 0)])
    await makeRoom(100)
    expect((await db.pictures.toArray()).map((one) => one.name).sort()).toEqual(['mid', 'mine', 'new'])
    await makeRoom(0)
    expect((await db.pictures.toArray()).map((one) => one.name)).toEqual(['mine'])
    expect(limits.photos.cache_bytes).toBeGreaterThan(limits.photos.most_bytes)
  })
})

it('photos that nobody else has are counted, saved as text and read back', async () => {
  const picture = await mustPicture(65, 9000)
  await keepPhoto(picture, {})
  expect(await countUnsentPhotos()).toBe(1)
  const [saved] = await unsentPhotos()
  expect(saved).toEqual({ name: picture.name, jpeg: btoa('A'.repeat(9000)) })
  await db.photos.update(picture.name, { state: 'sent' })
  expect(await countUnsentPhotos()).toBe(0)
  await Promise.all([db.photos.clear(), db.pictures.clear()])
  expect(await takePhoto({ ...saved!, name: 'ab'.repeat(32) })).toBe(false)
  expect(await takePhoto({ ...saved!, jpeg: '%' })).toBe(false)
  expect(await db.photos.count()).toBe(0)
  expect(await takePhoto(saved!)).toBe(true)
  expect(await unsentPhotos()).toEqual([saved])
})
