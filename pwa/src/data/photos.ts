/** Photos on this device: kept together with their entries, counted, dropped. What is sent is in sync/photos.ts. */
import { derived, type Readable } from 'svelte/store'
import { Dexie } from 'dexie'
import type { Entry, LoggedEntry } from '../types'
import { exchange } from '../words/en.exchange'
import { photos as words } from '../words/en.photos'
import { db, entryOf, type EntryRow, type PhotoRow, type PictureRow } from './db'
import { limits } from './limits'
import { live } from './live'
import { logAlong, strike, type Logged } from './log'
import { nameOf, Unfit, type Picture } from './picture'

/** An entry that names a photo. */
export type PhotoEntry = LoggedEntry & { photo: string }

/**
 * Writes a photo, its entry and the entry's place in the outbox in one
 * transaction. Throws Unfit where this device has no room.
 */
export async function keepPhoto(
  picture: Picture,
  entry: Pick<Entry, 'bin' | 'of' | 'note'> & { at?: string },
): Promise<Logged<Entry>> {
  const write = () =>
    logAlong([{ what: 'photo', photo: picture.name, ...entry }], {
      tables: [db.photos, db.pictures],
      write: () => put(picture),
    })
  let done = await write()
  if (isDeviceFull(done)) {
    await makeRoom(0) // what can be fetched again goes first
    done = await write()
  }
  if (isDeviceFull(done)) throw new Unfit(words.noRoom)
  return done.ok ? { ok: true, record: done.record[0]! } : done
}

async function put({ name, full, small }: Pick<Picture, 'name' | 'full' | 'small'>): Promise<void> {
  const before = await db.photos.get(name)
  await db.photos.put({
    name,
    state: 'waiting', // also where it was sent: asking the server costs one question
    bytes: full.length,
    offset: before?.offset ?? 0,
    sentence: '',
    known: before?.known ?? 0,
  })
  const row = (size: PictureRow['size'], data: Uint8Array<ArrayBuffer>): PictureRow => {
    return { name, size, data: data.slice().buffer, bytes: data.length, kept: 1, usedAt: Date.now() }
  }
  await db.pictures.bulkPut([row('full', full), row('small', small)])
}

function isDeviceFull(done: Logged<unknown>): boolean {
  return !done.ok && done.problems.some((problem) => problem.field === exchange.storage)
}

/** Takes pictures that can be fetched again from this device, the longest unused first, until they fit into so many bytes. */
export async function makeRoom(mostBytes = limits.photos.cache_bytes): Promise<void> {
  await db.transaction('rw', db.pictures, async () => {
    const cached = db.pictures.where('[kept+usedAt+bytes]').between([0, Dexie.minKey], [0, Dexie.maxKey])
    // Keys alone: the bytes themselves stay where they are.
    const [uses, names] = await Promise.all([cached.keys(), cached.primaryKeys()])
    let held = 0
    const sizes = (uses as unknown as [number, number, number][]).map(([, , bytes]) => bytes)
    for (const bytes of sizes) held += bytes
    const gone: [string, string][] = []
    for (const [i, name] of names.entries()) {
      if (held <= mostBytes) break
      held -= sizes[i]!
      gone.push(name)
    }
    await db.pictures.bulkDelete(gone)
  })
}

/** Forgets photos that are waiting though every entry that named them is struck or gone. */
export async function forgetStruck(): Promise<void> {
  await db.transaction('rw', [db.photos, db.pictures, db.entries], async () => {
    const rows = await db.photos.where('state').anyOf('waiting', 'refused').toArray()
    for (const { name } of rows) {
      if ((await unstruck(name)).length > 0) continue
      await db.photos.delete(name)
      await db.pictures.bulkDelete([
        [name, 'full'],
        [name, 'small'],
      ])
    }
  })
}

/** The entries that name a photo and are not struck. */
export async function unstruck(name: string): Promise<EntryRow[]> {
  const entries = await db.entries.where('photo').equals(name).toArray()
  const strikes = await struckAmong(entries)
  return entries.filter((entry) => !strikes.has(entry.id))
}

async function struckAmong(entries: EntryRow[]): Promise<Set<string | undefined>> {
  const strikes = await db.entries
    .where('struck')
    .anyOf(entries.map((entry) => entry.id))
    .toArray()
  return new Set(strikes.map((strike) => strike.struck))
}

async function asPhotos(rows: EntryRow[]): Promise<PhotoEntry[]> {
  const strikes = await struckAmong(rows)
  return rows
    .filter((row) => !strikes.has(row.id))
    .sort((a, b) => (b.t ?? 0) - (a.t ?? 0))
    .map((row) => ({ ...entryOf(row), photo: row.photo!, void: false, state: 'sent' }))
}

/** The photos of a bin that are not struck, newest first. */
export function photosOf(bin: string): Readable<PhotoEntry[] | undefined> {
  return live(async () =>
    asPhotos(
      await db.entries.where('[bin+photo]').between([bin, Dexie.minKey], [bin, Dexie.maxKey]).toArray(),
    ),
  )
}

/** The photos that go with other entries, by the entry's id. */
export const photosByEntry: Readable<Map<string, PhotoEntry[]>> = derived(
  live(async () =>
    asPhotos(
      await db.entries
        .where('photo')
        .above('')
        .filter((row) => row.of !== undefined)
        .toArray(),
    ),
  ),
  ($photos) => {
    const found = new Map<string, PhotoEntry[]>()
    for (const photo of $photos ?? []) found.set(photo.of!, [...(found.get(photo.of!) ?? []), photo])
    return found
  },
)

export interface OnTheWay {
  waiting: PhotoRow[]
  refused: PhotoRow[]
}

/** Photos that the server does not have yet. */
export const onTheWay: Readable<OnTheWay | undefined> = live(async () => {
  const rows = await db.photos.where('state').anyOf('waiting', 'refused').toArray()
  return {
    waiting: rows.filter((row) => row.state === 'waiting'),
    refused: rows.filter((row) => row.state === 'refused'),
  }
})

/** Sends a refused photo again. */
export async function sendAgain(name: string): Promise<void> {
  await db.photos.update(name, { state: 'waiting', sentence: '', offset: 0 })
}

/** Strikes every entry that names a photo; what this device holds of it goes with the next sending. */
export async function dropPhoto(name: string): Promise<void> {
  for (const entry of await unstruck(name)) await strike(entry.id)
  await forgetStruck()
}

/** How many photos this device alone has. */
export function countUnsentPhotos(): Promise<number> {
  return db.photos.where('state').anyOf('waiting', 'refused').count()
}

/** A photo as text: jpeg is its bytes in base64. */
export interface SavedPhoto {
  name: string
  jpeg: string
}

/** The photos that this device alone has, for a file to keep. */
export async function unsentPhotos(): Promise<SavedPhoto[]> {
  const names = await db.photos.where('state').anyOf('waiting', 'refused').primaryKeys()
  const rows = await db.pictures.bulkGet(names.map((name): [string, string] => [name, 'full']))
  return rows.flatMap((row) => (row ? [{ name: row.name, jpeg: base64(new Uint8Array(row.data)) }] : []))
}

/** Takes a saved photo in, to be sent with the entry that names it; false where its bytes are not what its name says. */
export async function takePhoto({ name, jpeg }: SavedPhoto): Promise<boolean> {
  let full: Uint8Array<ArrayBuffer>
  try {
    full = Uint8Array.from(atob(jpeg), (letter) => letter.charCodeAt(0))
  } catch {
    return false
  }
  if ((await nameOf(full)) !== name) return false
  await db.transaction('rw', db.photos, db.pictures, () => put({ name, full, small: full }))
  return true
}

function base64(bytes: Uint8Array): string {
  let text = ''
  // A call takes only so many arguments.
  for (let at = 0; at < bytes.length; at += 8192)
    text += String.fromCharCode(...bytes.subarray(at, at + 8192))
  return btoa(text)
}
