/** Pictures to look at: from this device, or fetched when somebody wants to see them. */
import { db, type PictureRow } from '../data/db'
import { isFull } from '../data/log'
import { makeRoom } from '../data/photos'
import { nameOf } from '../data/picture'
import { PHOTOS_ROUTE } from './photos'

export type Size = PictureRow['size']

/** away: no signal, or not signed in; gone: the server has no such picture (yet). */
export type Found = { picture: Blob } | { why: 'away' | 'gone' }

const AT_ONCE = 4 // fetched side by side, so that a long list does not choke the line
const TIMEOUT_MS = 60_000
const USED_AGAIN_MS = 60 * 60_000 // the note of the last use is renewed no more often

/** The picture of a photo. A fetched one is kept on this device as long as there is room. */
export async function picture(name: string, size: Size): Promise<Found> {
  const here = await db.pictures.get([name, size])
  if (here) {
    void used(here)
    return { picture: jpeg(here.data) }
  }
  return inTurn(() => fetchPicture(name, size))
}

function jpeg(data: ArrayBuffer): Blob {
  return new Blob([data], { type: 'image/jpeg' })
}

async function used(row: PictureRow): Promise<void> {
  if (Date.now() - row.usedAt < USED_AGAIN_MS) return
  await db.pictures.update([row.name, row.size], { usedAt: Date.now() }).catch(() => undefined)
}

async function fetchPicture(name: string, size: Size): Promise<Found> {
  const token = await db.get('token')
  if (!token) return { why: 'away' }
  let data: ArrayBuffer
  try {
    const response = await fetch(`${PHOTOS_ROUTE}/${name}${size === 'small' ? '?size=small' : ''}`, {
      headers: { Authorization: token },
      signal: AbortSignal.timeout(TIMEOUT_MS),
      cache: 'no-store',
    })
    if (response.status === 404) return { why: 'gone' }
    if (!response.ok || response.headers.get('Content-Type') !== 'image/jpeg') return { why: 'away' }
    data = await response.arrayBuffer()
  } catch {
    return { why: 'away' }
  }
  // The name says what the whole one is; a small one is the server's work.
  if (size === 'full' && (await nameOf(new Uint8Array(data))) !== name) return { why: 'away' }
  await cache({ name, size, data, bytes: data.byteLength, kept: 0, usedAt: Date.now() })
  return { picture: jpeg(data) }
}

async function cache(row: PictureRow): Promise<void> {
  try {
    await db.pictures.put(row)
    await makeRoom()
  } catch (error) {
    // It is shown all the same, and fetched again another time.
    if (isFull(error)) await makeRoom(0).catch(() => undefined)
    else console.error('A picture could not be kept.', error)
  }
}

let running = 0
const line: (() => void)[] = []

async function inTurn<T>(work: () => Promise<T>): Promise<T> {
  if (running >= AT_ONCE) await new Promise<void>((resolve) => line.push(resolve))
  running += 1
  try {
    return await work()
  } finally {
    running -= 1
    line.shift()?.()
  }
}

/** How much room the photos of the household take on the server; null without signal. */
export async function usage(): Promise<{ count: number; bytes: number; quota: number } | null> {
  const token = await db.get('token')
  if (!token) return null
  try {
    const response = await fetch(PHOTOS_ROUTE, {
      headers: { Authorization: token },
      signal: AbortSignal.timeout(TIMEOUT_MS / 4),
      cache: 'no-store',
    })
    return response.ok ? ((await response.json()) as { count: number; bytes: number; quota: number }) : null
  } catch {
    return null
  }
}
