/**
 * A sitter's phone and the server: what there is to do comes, what was noted
 * goes, photos after their words. Nothing here touches the app's own records
 * or its session, and nothing on the screen waits for it.
 */
import { liveQuery } from 'dexie'
import { writable, type Readable } from 'svelte/store'
import { limits } from '../data/limits'
import { nameOf } from '../data/picture'
import { type NotedRow, type PassBook, type PassPictureRow } from '../data/sitter'
import { photos as words } from '../words/en.photos'
import { line } from '../words/en.line'
import {
  exchangeByPass,
  PASS_OVER,
  PASS_PHOTOS_ROUTE,
  PASS_REVOKED,
  PASS_UNKNOWN,
  passHeaders,
  viewPass,
} from './passes'
import { pauseAfter } from './pause'
import { Away, Refusal } from './server'
import { oneAtATime } from './together'
import { askAbout } from './upload'

const MOST_AT_ONCE = 100 // entries of one request; a visit has fewer
const CLOCK_OFF_MS = 2 * 60_000 // a clock that is less off is left alone
const LOOK_EVERY_MS = 60_000 // while the page is open: what was revoked or moved shows
const PICTURE_MS = 60_000
const CHANGED_ON_THE_WAY = 3
const COULD_BE = /^[\w-]{16,}$/ // a secret, by its letters

export type PassLine = 'trying' | 'online' | 'away'

/** What became of one try. */
export type Tried = 'good' | 'unknown' | 'revoked' | 'over'

/**
 * One try: offers what waits, then asks what there is to do, if that is asked
 * for; working it out costs the server more than taking a note in. Throws Away
 * where it is to be tried again.
 */
export async function carry(book: PassBook, ask = true): Promise<Tried> {
  const row = (await book.db.passes.get(book.secret)) ?? (await book.open())
  try {
    if (!COULD_BE.test(book.secret)) throw new Refusal('', PASS_UNKNOWN) // a link that was cut or bent on the way
    await offer(book, row.device)
    if (!ask) {
      await sendPictures(book)
      return 'good'
    }
    const askedAt = Date.now()
    const view = await viewPass(book.secret)
    const off = Date.parse(view.at) - (askedAt + Date.now()) / 2
    await book.keepView(view, Math.abs(off) > CLOCK_OFF_MS ? Math.round(off) : 0)
    if (await reoffer(book, row.view?.epoch, view.epoch)) await offer(book, row.device)
    await sendPictures(book)
    await fetchPictures(book, [...new Set(view.bins.map((bin) => bin.photo).filter((name) => name !== ''))])
    return 'good'
  } catch (error) {
    if (!(error instanceof Refusal)) throw error
    const ended = endedBy(error.status)
    if (!ended) throw new Away(error.message)
    // A pass that is over still takes what happened on the trip.
    if (ended === 'over') await sendPictures(book).catch(() => undefined)
    await book.end(ended)
    return ended
  }
}

function endedBy(status: number): 'unknown' | 'revoked' | 'over' | null {
  if (status === PASS_UNKNOWN) return 'unknown'
  if (status === PASS_REVOKED) return 'revoked'
  return status === PASS_OVER ? 'over' : null
}

/** Sends what waits, in the order in which it was noted. */
async function offer(book: PassBook, device: string): Promise<void> {
  const { db, secret } = book
  for (;;) {
    // What is on its way can no longer be forgotten here: from now on it is struck.
    const rows = await db.transaction('rw', db.noted, async () => {
      const found = await waitingOf(book)
      for (const { position } of found) await db.noted.update(position, { offered: 1 })
      return found
    })
    if (rows.length === 0) return
    const epoch = (await db.passes.get(secret))?.view?.epoch ?? ''
    const entries = rows.map((row) => row.entry)
    const answer = await exchangeByPass(secret, { device, epoch, entries })
    const verdicts = new Map(answer.verdicts.map((verdict) => [verdict.id, verdict]))
    await db.transaction('rw', db.noted, async () => {
      for (const { position, id } of rows) {
        const verdict = verdicts.get(id)
        if (!verdict) continue
        const refused = verdict.verdict === 'refused'
        await db.noted.update(position, {
          state: refused ? 'refused' : 'sent',
          sentence: refused ? (verdict.sentence ?? '') : '',
        })
      }
    })
    if (!rows.some((row) => verdicts.has(row.id))) throw new Away(line.noVerdict)
  }
}

async function waitingOf({ db, secret }: PassBook): Promise<NotedRow[]> {
  const rows = await db.noted.where('[pass+state]').equals([secret, 'waiting']).sortBy('position')
  return rows.slice(0, MOST_AT_ONCE)
}

/** A server that came back from an older copy may have lost what it said that it has. */
async function reoffer({ db, secret }: PassBook, before: string | undefined, now: string): Promise<boolean> {
  if (!before || before === now) return false
  await db.noted.where('[pass+state]').equals([secret, 'sent']).modify({ state: 'waiting' })
  await db.pictures.where('[pass+state]').equals([secret, 'sent']).modify({ state: 'waiting' })
  return true
}

async function sendPictures({ db, secret }: PassBook): Promise<void> {
  const rows = await db.pictures.where('[pass+state]').equals([secret, 'waiting']).toArray()
  for (const row of rows) await sendPicture(row, (change) => db.pictures.update([secret, row.name], change))
}

async function sendPicture(
  { pass, name, data: buffer }: PassPictureRow,
  keep: (change: Pick<PassPictureRow, 'state' | 'sentence'>) => PromiseLike<unknown>,
): Promise<void> {
  const data = new Uint8Array(buffer)
  const authorization = passHeaders(pass)['Authorization']!
  const ask = (method: 'HEAD' | 'PATCH', part?: Parameters<typeof askAbout>[4]) =>
    askAbout(PASS_PHOTOS_ROUTE, authorization, method, name, part)
  let standing = await ask('HEAD')
  if (standing.status === 404) return // its words are not there yet, or were taken back
  let changed = 0
  while (!standing.whole) {
    const from = Math.min(standing.offset, data.length)
    const piece = data.slice(from, from + limits.photos.chunk_bytes)
    standing = await ask('PATCH', { from, length: data.length, piece })
    const { status } = standing
    if (status === 404) return
    if (status === 409 && standing.offset !== from) continue
    if (status === 422) {
      changed += 1
      if ((await nameOf(data)) !== name)
        return void (await keep({ state: 'refused', sentence: words.damaged }))
      if (changed < CHANGED_ON_THE_WAY) continue
    }
    if (status === 507 || status === 409) throw new Away(standing.sentence)
    if (status >= 400) return void (await keep({ state: 'refused', sentence: standing.sentence }))
    if (!standing.whole && standing.offset <= from) throw new Away(line.standsStill)
  }
  await keep({ state: 'sent', sentence: '' })
}

/** The photos of the bins, so that they are there without signal. One that does not come is none. */
async function fetchPictures({ db, secret }: PassBook, names: string[]): Promise<void> {
  for (const name of names) {
    if (await db.pictures.get([secret, name])) continue
    try {
      const response = await fetch(`${PASS_PHOTOS_ROUTE}/${name}`, {
        headers: passHeaders(secret),
        signal: AbortSignal.timeout(PICTURE_MS),
        cache: 'no-store',
      })
      if (!response.ok || response.headers.get('Content-Type') !== 'image/jpeg') continue
      const data = await response.arrayBuffer()
      if ((await nameOf(new Uint8Array(data))) !== name) continue
      await db.pictures.put({ pass: secret, name, data, state: 'fetched', sentence: '' })
    } catch {
      return // no signal, or this phone is full: the drawing stands in
    }
  }
}

/** Carries for every reason that a page can see. Answers how it stands, a way to try at once, and an end. */
export function carryOn(book: PassBook): {
  line: Readable<PassLine>
  now: () => Promise<void>
  stop: () => void
} {
  const line = writable<PassLine>('trying')
  let failures = 0
  let ended = false
  let askedAt = 0 // when what there is to do last came, by this phone's clock
  let timer: ReturnType<typeof setTimeout> | undefined

  const go = oneAtATime(async () => {
    clearTimeout(timer)
    if (ended) return
    try {
      const ask = Math.abs(Date.now() - askedAt) >= LOOK_EVERY_MS
      const tried = await carry(book, ask)
      if (ask) askedAt = Date.now()
      failures = 0
      line.set('online')
      // A link that opens nothing is not asked about every minute: that would be guessing.
      if (tried === 'good' || tried === 'over') later(LOOK_EVERY_MS)
    } catch (error) {
      failures += 1
      line.set('away')
      const { retryAfterMs } = error instanceof Away ? error : { retryAfterMs: 0 }
      later(Math.max(retryAfterMs, pauseAfter(failures, true, Math.random())))
      if (!(error instanceof Away)) console.error('The visit could not be sent and is tried again.', error)
    }
  })
  const later = (ms: number) => {
    clearTimeout(timer)
    if (!ended) timer = setTimeout(() => void go(), ms)
  }
  const afresh = () => {
    failures = 0
    askedAt = 0
    return go()
  }
  const whenSeen = () => document.visibilityState === 'visible' && void afresh()
  let before = 0
  const waiting = liveQuery(async () => (await waitingOf(book)).length).subscribe({
    next: (count) => {
      if (count > before) void go()
      before = count
    },
    error: (error) => console.error('What was noted cannot be watched.', error),
  })
  const events = ['online', 'pageshow'] as const
  for (const event of events) window.addEventListener(event, afresh)
  document.addEventListener('visibilitychange', whenSeen)
  void go()
  return {
    line,
    now: afresh,
    stop() {
      ended = true
      clearTimeout(timer)
      waiting.unsubscribe()
      for (const event of events) window.removeEventListener(event, afresh)
      document.removeEventListener('visibilitychange', whenSeen)
    },
  }
}
