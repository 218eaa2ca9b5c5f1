import type { Session } from '../types'

/** A sentence for the person: the server cannot be reached, the password is wrong, a name is too long. */
export class Refusal extends Error {}

/** What the server says to nobody: empty (set it up) or ready (sign in); away if it cannot be reached. */
export async function welcome(): Promise<'empty' | 'ready' | 'away'> {
  throw new Error('welcome')
}

/** Each of these throws a Refusal with a sentence, and otherwise leaves this device signed in. */
export async function setUp(_wish: {
  room: string
  name: string
  password: string
  time_zone: string
  units: 'us' | 'metric'
}): Promise<Session> {
  throw new Error('setUp')
}

export async function lookAroundExample(_wish: {
  time_zone: string
  units: 'us' | 'metric'
}): Promise<Session> {
  throw new Error('lookAroundExample')
}

export async function signIn(_name: string, _password: string): Promise<Session> {
  throw new Error('signIn')
}

/**
 * Signs out and empties this device. With unsent records it does nothing and
 * answers how many there are, unless sure.
 */
export async function signOut(_sure = false): Promise<{ done: boolean; unsent: number }> {
  throw new Error('signOut')
}

/** Removes the example household, here and on the server. */
export async function removeExample(): Promise<void> {
  throw new Error('removeExample')
}

/** The unsent records as a file to keep (JSON lines). */
export async function saveUnsent(): Promise<Blob> {
  throw new Error('saveUnsent')
}

/** The book of the room as a file, from the server (owner). */
export async function downloadBook(): Promise<Blob> {
  throw new Error('downloadBook')
}
