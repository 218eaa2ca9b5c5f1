import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { db } from '../data/db'
import { limits } from '../data/limits'
import { strike } from '../data/log'
import { keepPhoto, sendAgain } from '../data/photos'
import { nameOf, type Picture } from '../data/picture'
import { mustHaveFreshDevice } from '../test/room'
import { FakePhotoServer } from '../test/photoserver'
import { sendPhotos } from './photos'
import { picture as look } from './pictures'
import { Away } from './server'

const CHUNK = 64 // the real one would test the test's database
let server: FakePhotoServer

beforeEach(async () => {
  await mustHaveFreshDevice()
  limits.photos.chunk_bytes = CHUNK
  server = new FakePhotoServer()
  server.install()
})
afterEach(() => vi.unstubAllGlobals())

/** A photo of so many bytes whose words the server has already. */
async function mustPhoto(length = 3 * CHUNK + 5, seed = 7): Promise<Picture & { entry: string }> {
  const full = Uint8Array.from({ length }, (_, i) => (i * seed) % 251)
  const picture = {
    name: await nameOf(full),
    full,
    small: full.slice(0, 9),
    width: 4,
    height: 3,
    takenAt: null,
  }
  const done = await keepPhoto(picture, {})
  if (!done.ok) throw new Error('refused')
  await db.entries.update(done.record.id, { known: 1 })
  server.named.add(picture.name)
  return { ...picture, entry: done.record.id }
}

const row = (name: string) => db.photos.get(name)

/** Sends as the watch does: again after every Away. */
async function untilSent(name: string): Promise<void> {
  for (let tries = 0; tries < 200; tries++) {
    await sendPhotos().catch((error: unknown) => {
      if (!(error instanceof Away)) throw error
    })
    if ((await row(name))?.state === 'sent') return
  }
  throw new Error(`not sent: ${JSON.stringify(await row(name))}`)
}

describe('sending a photo', () => {
  it('goes in pieces, and leaves the picture here as one that can be fetched again', async () => {
    const { name, full } = await mustPhoto()
    await sendPhotos()
    expect(server.whole.get(name)).toEqual(full)
    expect(server.asked).toEqual([
      'HEAD',
      'PATCH 0',
      `PATCH ${CHUNK}`,
      `PATCH ${2 * CHUNK}`,
      `PATCH ${3 * CHUNK}`,
    ])
    expect(await row(name)).toMatchObject({ state: 'sent', offset: full.length, known: 1 })
    expect((await db.pictures.where('name').equals(name).toArray()).map((one) => one.kept)).toEqual([0, 0])
    await sendPhotos()
    expect(server.asked).toHaveLength(5)
  })

  it('waits for its words', async () => {
    const { name, entry } = await mustPhoto()
    await db.entries.update(entry, { known: 0 })
    await sendPhotos()
    expect(server.asked).toEqual([])
    await db.entries.update(entry, { known: 1 })
    server.named.delete(name) // the server has lost them meanwhile
    await sendPhotos()
    expect(await row(name)).toMatchObject({ state: 'waiting' })
  })

  it('survives a line that is cut at every request and every answer', async () => {
    const { name, full } = await mustPhoto()
    for (const fault of ['request lost', 'answer lost', 503] as const) {
      for (let at = 0; at < 5; at++) {
        server.whole.clear()
        server.arriving.clear()
        await db.photos.update(name, { state: 'waiting', offset: 0 })
        server.faults = [...Array(at).fill('none'), fault]
        await untilSent(name)
        expect(server.whole.get(name)).toEqual(full)
      }
    }
  })

  it('goes on where the server is, further or less far', async () => {
    const { name, full } = await mustPhoto()
    server.arriving.set(name, full.slice(0, CHUNK + 3))
    await sendPhotos()
    expect(server.asked.slice(0, 2)).toEqual(['HEAD', `PATCH ${CHUNK + 3}`])
    expect(server.whole.get(name)).toEqual(full)
  })

  it('sends nothing of a photo that is there, also for another entry', async () => {
    const { name, full } = await mustPhoto()
    server.whole.set(name, full)
    await sendPhotos()
    expect(server.asked).toEqual(['HEAD'])
    expect(await row(name)).toMatchObject({ state: 'sent' })
  })

  it('is not sent once it is struck, and goes from this device', async () => {
    const { name, entry } = await mustPhoto()
    await strike(entry)
    await sendPhotos()
    expect(server.asked).toEqual([])
    expect(await row(name)).toBeUndefined()
    expect(await db.pictures.count()).toBe(0)
  })
})

describe('what goes wrong', () => {
  it('changed on the way: sent again from the start', async () => {
    const { name, full } = await mustPhoto()
    server.faults = ['none' as never, 'changed on the way']
    await sendPhotos()
    expect(server.whole.get(name)).toEqual(full)
  })

  it('changed on this device: set aside with a sentence, the others go on', async () => {
    const { name } = await mustPhoto()
    const other = await mustPhoto(500, 3)
    await db.pictures
      .where('name')
      .equals(name)
      .modify({ data: new ArrayBuffer(3 * CHUNK + 5) })
    await sendPhotos()
    expect(await row(name)).toMatchObject({
      state: 'refused',
      sentence: expect.stringMatching(/damaged/) as string,
    })
    expect(await row(other.name)).toMatchObject({ state: 'sent' })
    await db.pictures.delete([name, 'full'])
    await sendAgain(name)
    await sendPhotos()
    expect(await row(name)).toMatchObject({ state: 'refused' })
  })

  it('the server is full: it waits with the sentence, and is sent when there is room', async () => {
    const { name } = await mustPhoto()
    server.full = true
    await expect(sendPhotos()).rejects.toThrow()
    expect(await row(name)).toMatchObject({
      state: 'waiting',
      sentence: "The room's photos fill the room that there is.",
    })
    server.full = false
    await sendPhotos()
    expect(await row(name)).toMatchObject({ state: 'sent', sentence: '' })
  })

  it('a refusal is set aside with its sentence', async () => {
    const { name } = await mustPhoto()
    server.faults = ['none' as never, 413]
    await sendPhotos()
    expect(await row(name)).toMatchObject({ state: 'refused', sentence: 'status 413' })
  })

  it('signed out: everything stays', async () => {
    const { name } = await mustPhoto()
    server.faults = [401]
    await expect(sendPhotos()).rejects.toThrow()
    expect(await row(name)).toMatchObject({ state: 'waiting' })
  })

  it('a server that came back from an older copy gets it again', async () => {
    const { name, full } = await mustPhoto()
    await sendPhotos()
    server.whole.clear()
    await sendPhotos()
    expect(server.whole.size).toBe(0)
    await db.set({ generation: 2 })
    await sendPhotos()
    expect(server.whole.get(name)).toEqual(full)
  })
})

describe('looking at a photo', () => {
  it('fetches it once, and keeps it', async () => {
    const full = new Uint8Array(100).fill(4)
    const name = await nameOf(full)
    server.named.add(name)
    expect(await look(name, 'full')).toEqual({ why: 'gone' })
    server.whole.set(name, full)
    for (let times = 0; times < 2; times++) {
      const found = await look(name, 'full')
      if (!('picture' in found)) throw new Error(found.why)
      expect(new Uint8Array(await found.picture.arrayBuffer())).toEqual(full)
    }
    expect(server.asked).toEqual(['GET', 'GET'])
    expect(await db.pictures.get([name, 'full'])).toMatchObject({ kept: 0 })
  })

  it('takes no other bytes for it', async () => {
    const name = 'ab'.repeat(32)
    server.named.add(name)
    server.whole.set(name, new Uint8Array([1, 2, 3]))
    expect(await look(name, 'full')).toEqual({ why: 'away' })
    expect(await db.pictures.count()).toBe(0)
  })

  it('without signal says so', async () => {
    server.faults = ['request lost']
    expect(await look('ab'.repeat(32), 'small')).toEqual({ why: 'away' })
  })
})
