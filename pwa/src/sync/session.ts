import type { Readable } from 'svelte/store'
import { db } from '../data/db'
import { flat } from '../data/stamp'
import { deviceId } from '../data/log'
import { countUnsent } from '../data/outbox'
import { countUnsentPhotos } from '../data/photos'
import type { Person, Room, Session } from '../types'
import { room, session } from '../data/stores'
import { forgetSurvey } from '../engine/kept'
import { disallowAlerts } from './alerts'
import { go } from './courier'
import { countWaiting } from './exchange'
import { forgetWhatIsHeld } from './keeping'
import { Away, call, Refusal } from './server'
import { endSession } from './sessions'
import { line as words } from '../words/en.line'

export { Away, Refusal } from './server'

/** What the server says to nobody: empty (set it up) or ready (sign in); away if it cannot be reached. */
export async function welcome(): Promise<'empty' | 'ready' | 'away'> {
  try {
    return (await call<{ state: 'empty' | 'ready' }>('/api/underlog/welcome', { token: null })).state
  } catch {
    return 'away'
  }
}

interface SignedIn {
  token: string
  record: Person
}

/**
 * Sets up a room on an empty server. Records that this device holds of a real
 * room stay, and are given to the new server: it may be that room's old server
 * that lost its disk.
 */
export async function setUp(wish: {
  room: string
  name: string
  password: string
  time_zone: string
  units: 'us' | 'metric'
}): Promise<Session> {
  const answer = await call<SignedIn>('/api/underlog/setup', { method: 'POST', body: wish, token: null })
  if (await holdsExample()) await emptyDevice()
  return take(answer)
}

export async function lookAroundExample(wish: {
  time_zone: string
  units: 'us' | 'metric'
}): Promise<Session> {
  if ((await db.entries.count()) > 0 && !(await holdsExample())) {
    throw new Refusal(
      'This device still holds the records of a room. Set the room up again to give them back to this server, or sign out first, which empties this device.',
    )
  }
  const call_ = { method: 'POST', body: wish, token: null, timeoutMs: 60_000 } as const
  const answer = await call<SignedIn>('/api/underlog/example', call_)
  await emptyDevice()
  return take(answer)
}

export async function signIn(name: string, password: string): Promise<Session> {
  const path = '/api/collections/people/auth-with-password'
  let answer: SignedIn
  try {
    answer = await call<SignedIn>(path, { method: 'POST', body: { identity: name, password }, token: null })
  } catch (error) {
    if (error instanceof Refusal && error.status === 400) {
      throw new Refusal(words.nobody, 400)
    }
    throw error
  }
  await makeRoomFor(answer.record)
  return take(answer)
}

/** Signs in with a code that another screen shows. */
export async function signInByCode(code: string): Promise<Session> {
  const answer = await call<SignedIn>('/api/underlog/pairing/claim', {
    method: 'POST',
    body: { code },
    token: null,
  })
  try {
    await makeRoomFor(answer.record)
  } catch (error) {
    // The code is spent, and nobody uses the session that it began.
    const { token } = answer
    await call('/api/underlog/sessions/here', { method: 'DELETE', token }).catch(() => undefined)
    throw error
  }
  return take(answer)
}

/** What a device holds of another household must neither leak into this one nor be lost. */
async function makeRoomFor(person: Person): Promise<void> {
  const { person: before, people = [] } = await db.getAll('person', 'people')
  if (!before || before.id === person.id || people.some((one) => one.id === person.id)) return
  const unsent = (await holdsExample()) ? 0 : (await countWaiting()) + (await countUnsentPhotos())
  if (unsent > 0) {
    throw new Refusal(
      `This device still holds ${unsent} unsent ${unsent === 1 ? 'record' : 'records'} of ${before.name}. Save them to a file and sign out first.`,
    )
  }
  await emptyDevice()
}

async function take({ token, record }: SignedIn): Promise<Session> {
  const device = await deviceId()
  const { id, name, role } = record
  const person: Person = { id, name, role }
  await db.set({ token, person, refreshedAt: Date.now() })
  void go()
  // The screens learn of it from the stores: they are to show the room, not the door, when this returns.
  await until(session, (now) => now?.signedIn === true)
  await until(room, (now) => now !== undefined)
  return { signedIn: true, person, device }
}

const LONGEST_WAIT_MS = 8000

function until<T>(store: Readable<T>, isSo: (value: T) => boolean): Promise<void> {
  return new Promise((resolve) => {
    const done = () => {
      clearTimeout(timer)
      resolve()
      queueMicrotask(() => stop())
    }
    const timer = setTimeout(done, LONGEST_WAIT_MS)
    const stop = store.subscribe((value) => isSo(value) && done())
  })
}

async function holdsExample(): Promise<boolean> {
  const room = await db.sheets.where('sheet').equals('rooms').first()
  return room ? flat<Room>(room).example === true : false
}

/**
 * Signs out and empties this device. With unsent records (waiting or set
 * aside) it does nothing and answers how many there are, unless sure.
 */
export async function signOut(sure = false): Promise<{ done: boolean; unsent: number }> {
  const unsent = (await countUnsent()) + (await countUnsentPhotos())
  if (unsent > 0 && !sure) return { done: false, unsent }
  await disallowAlerts().catch(() => undefined) // without signal the server drops the dead subscription by itself
  await endSession('here').catch(() => undefined) // as above: the owner can end it from another device
  await emptyDevice()
  return { done: true, unsent }
}

/** Nothing of one room is left for the next. */
async function emptyDevice(): Promise<void> {
  await db.empty()
  await forgetSurvey()
  forgetWhatIsHeld()
}

/** Removes the example household, on the server and here. */
export async function removeExample(): Promise<void> {
  await call('/api/underlog/example', { method: 'DELETE', timeoutMs: 60_000 })
  await disallowAlerts().catch(() => undefined)
  await emptyDevice()
}

/** The book of the room as a file, from the server (owner). */
export async function downloadBook(): Promise<Blob> {
  const token = (await db.get('token')) ?? ''
  let response: Response
  try {
    response = await fetch('/api/underlog/book', {
      headers: { Authorization: token },
      signal: AbortSignal.timeout(60_000),
    })
  } catch {
    throw new Away(words.bookAway)
  }
  if (!response.ok) throw new Refusal(words.bookRefused(response.status), response.status)
  return response.blob()
}

export interface ImportSummary {
  bins: number
  entries: number
  already: number
  problems: unknown[]
}

/** Reads a book into the room (owner); dry only says what it would do. */
export async function importBook(book: Blob, dry: boolean): Promise<ImportSummary> {
  const token = (await db.get('token')) ?? ''
  let response: Response
  try {
    response = await fetch(`/api/underlog/book?dry=${dry}`, {
      method: 'POST',
      body: book,
      headers: { Authorization: token, 'Content-Type': 'application/jsonl' },
      signal: AbortSignal.timeout(120_000),
    })
  } catch {
    throw new Away(words.bookReaderAway)
  }
  const answer = (await response.json().catch(() => null)) as (ImportSummary & { message?: string }) | null
  if (!response.ok || !answer) {
    throw new Refusal(answer?.message || words.bookNotTaken(response.status), response.status)
  }
  return answer
}

/** Adds a helper to the household (owner). Throws a Refusal with a sentence. */
export async function addHelper(name: string, password: string): Promise<void> {
  await call('/api/underlog/people', { method: 'POST', body: { name, password } })
}

const PROLONG_EVERY_MS = 24 * 60 * 60 * 1000

/** Prolongs the session once a day, so that a phone in use is never signed out. */
export async function prolong(): Promise<void> {
  const { token, refreshedAt = 0 } = await db.getAll('token', 'refreshedAt')
  if (!token || Math.abs(Date.now() - refreshedAt) < PROLONG_EVERY_MS) return
  try {
    const answer = await call<SignedIn>('/api/collections/people/auth-refresh', { method: 'POST', token })
    if ((await db.get('token')) === token) await db.set({ token: answer.token, refreshedAt: Date.now() })
  } catch {
    // The exchange will say whether the session still holds.
  }
}
