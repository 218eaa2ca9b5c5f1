/**
 * Photos on their way to the server: after the words, in pieces, going on
 * where the server is. Whatever happens on the way, the photo stays on this
 * device until the server says that it has all of it.
 */
import { liveQuery } from 'dexie'
import { db, type PhotoRow } from '../data/db'
import { limits } from '../data/limits'
import { forgetStruck, makeRoom, unstruck } from '../data/photos'
import { nameOf } from '../data/picture'
import { photos as words } from '../words/en.photos'
import { line } from '../words/en.line'
import { pauseAfter } from './pause'
import { Away } from './server'
import { lineState } from './state'
import { oneAtATime } from './together'
import { askAbout, SignedOut, type Standing } from './upload'

export const PHOTOS_ROUTE = '/api/underlog/photos'

const CHANGED_ON_THE_WAY = 3 // times in a row until it is the copy here that is suspected
const FULL_PAUSE_MS = 10 * 60_000 // a full server is asked again so often
const LOCK = 'underlog-photos'

/** The server has no room: nothing gets in before somebody makes some. */
class Full extends Error {}

/** Sends every photo whose words have been sent. Throws Away where it is to be tried again. */
export async function sendPhotos(): Promise<void> {
  await forgetStruck()
  await offerAgain()
  for (const row of await ready()) {
    const entries = await unstruck(row.name)
    if (entries.some((entry) => entry.known > 0)) await send(row)
  }
}

/** Photos that wait while the server knows their words. */
async function ready(): Promise<PhotoRow[]> {
  const rows = await db.photos.where('state').equals('waiting').toArray()
  const found: PhotoRow[] = []
  for (const row of rows) {
    const named = await db.entries.where('photo').equals(row.name).toArray()
    if (named.some((entry) => entry.known > 0)) found.push(row)
  }
  return found
}

/** A server that came back from an older copy may have lost photos: they are asked about again. */
async function offerAgain(): Promise<void> {
  await db.transaction('rw', db.photos, db.pictures, db.meta, async () => {
    const generation = (await db.get('generation')) ?? 1
    const rows = await db.photos.where('state').equals('sent').toArray()
    for (const row of rows.filter((one) => one.known < generation)) {
      const here = await db.pictures.where({ name: row.name, size: 'full' }).count()
      if (here > 0) await db.photos.update(row.name, { state: 'waiting', offset: 0 })
    }
  })
}

async function send(row: PhotoRow): Promise<void> {
  const { name } = row
  const picture = await db.pictures.get([name, 'full'])
  if (!picture) return refuse(name, words.damaged)
  const data = new Uint8Array(picture.data)
  let standing = await ask('HEAD', name)
  if (standing.status === 404) return // its words are not there, or struck: the exchange will tell
  let changed = 0
  while (!standing.whole) {
    const from = Math.min(standing.offset, data.length)
    await db.photos.update(name, { offset: from, sentence: '' })
    const piece = data.slice(from, from + limits.photos.chunk_bytes)
    standing = await ask('PATCH', name, { from, length: data.length, piece })
    switch (standing.status) {
      case 404:
        return
      case 409: // another device or an earlier try was further, or less far
        if (standing.offset === from) throw new Away(line.standsStill)
        continue
      case 422: {
        changed += 1
        if ((await nameOf(data)) !== name) return refuse(name, words.damaged)
        if (changed >= CHANGED_ON_THE_WAY) return refuse(name, standing.sentence)
        continue
      }
      case 507:
        await db.photos.update(name, { sentence: standing.sentence })
        throw new Full()
      default:
        if (standing.status >= 400) return refuse(name, standing.sentence)
        if (!standing.whole && standing.offset <= from) throw new Away(line.standsStill)
    }
  }
  await db.transaction('rw', db.photos, db.pictures, db.meta, async () => {
    const known = (await db.get('generation')) ?? 1
    await db.photos.update(name, { state: 'sent', offset: data.length, sentence: '', known })
    await db.pictures.where('name').equals(name).modify({ kept: 0, usedAt: Date.now() })
  })
  await makeRoom()
}

async function refuse(name: string, sentence: string): Promise<void> {
  await db.photos.update(name, { state: 'refused', sentence })
}

async function ask(
  method: 'HEAD' | 'PATCH',
  name: string,
  part?: { from: number; length: number; piece: Uint8Array<ArrayBuffer> },
): Promise<Standing> {
  const token = await db.get('token')
  if (!token) throw new SignedOut()
  return askAbout(PHOTOS_ROUTE, token, method, name, part)
}

let failures = 0
let timer: ReturnType<typeof setTimeout> | undefined

/** Sends now; resolves when this try is over, however it ended. */
export const goWithPhotos = oneAtATime(attempt)

async function attempt(): Promise<void> {
  clearTimeout(timer)
  try {
    // One tab sends; the others see its progress in the database.
    if (navigator.locks) {
      await navigator.locks.request(LOCK, { ifAvailable: true }, (lock) => (lock ? sendPhotos() : later(1)))
    } else await sendPhotos()
    failures = 0
  } catch (error) {
    if (error instanceof SignedOut) return // signing in is a reason to go again
    if (error instanceof Full) return later(0, FULL_PAUSE_MS)
    failures += 1
    later(failures, error instanceof Away ? error.retryAfterMs : 0)
    if (!(error instanceof Away)) console.error('Photos could not be sent and are tried again.', error)
  }
}

function later(failures: number, atLeastMs = 0): void {
  clearTimeout(timer)
  const pause = Math.max(atLeastMs, failures > 0 ? pauseAfter(failures, true, Math.random()) : 0)
  timer = setTimeout(() => void goWithPhotos(), pause)
}

/** Sends for every reason that a page can see: words that have gone, the line coming back, signing in. */
export function watchPhotos(): void {
  const wanted = liveQuery(async () => {
    const token = await db.get('token')
    const names = (await ready()).map((row) => row.name)
    return { token, names: names.sort().join(), generation: await db.get('generation') }
  })
  let before = ''
  wanted.subscribe({
    next: ({ token, names, generation }) => {
      const now = `${token} ${names} ${generation}`
      if (token && names !== '' && now !== before) void goWithPhotos()
      before = now
    },
    error: (error) => console.error('The photos cannot be watched.', error),
  })
  lineState.subscribe((line) => {
    if (line !== 'online') return
    failures = 0
    void goWithPhotos()
  })
}
