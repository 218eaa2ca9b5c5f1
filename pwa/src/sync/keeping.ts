import { liveQuery } from 'dexie'
import { readable, type Readable } from 'svelte/store'
import { db } from '../data/db'
import { countUnsent } from '../data/outbox'

/**
 * What the browser may do to this device's records: run out of room, or clear
 * them. The first is told before it hurts. The second is noticed by a note
 * that is kept apart from the database.
 */
const NOTE = 'underlog-holds'
const LOOK_EVERY_MS = 5 * 60_000
const LITTLE_BYTES = 30_000_000
const FULL_SHARE = 0.9

/** Bytes that are left for this app, where that is little; null where there is enough or nobody can tell. */
export const littleRoom: Readable<number | null> = readable<number | null>(null, (set) => {
  const look = async () => {
    const { usage = 0, quota = 0 } = (await navigator.storage?.estimate?.().catch(() => null)) ?? {}
    set(isLittle(usage, quota) ? Math.max(0, quota - usage) : null)
  }
  void look()
  const timer = setInterval(() => void look(), LOOK_EVERY_MS)
  return () => clearInterval(timer)
})

export function isLittle(usage: number, quota: number): boolean {
  if (quota === 0) return false
  return quota - usage < LITTLE_BYTES || usage > FULL_SHARE * quota
}

/** What this device held when it was last looked at. */
export interface Held {
  person: string // name
  unsent: number
}

/** Keeps the note true as long as the page is open. */
export function noteWhatIsHeld(): void {
  liveQuery(async () => {
    const person = await db.get('person')
    return person ? { person: person.name, unsent: await countUnsent() } : null
  }).subscribe({
    next: (held) => {
      if (!held) return
      try {
        localStorage.setItem(NOTE, JSON.stringify(held))
      } catch {
        // Storage is closed to us or full: then nobody will notice a clearing.
      }
    },
    error: () => undefined,
  })
}

export function forgetWhatIsHeld(): void {
  try {
    localStorage.removeItem(NOTE)
  } catch {
    // As above.
  }
}

/** What was here and is not any more, because the browser cleared it; null where nothing is missing. */
export async function cleared(): Promise<Held | null> {
  if (await db.get('person')) return null
  try {
    const held = JSON.parse(localStorage.getItem(NOTE) ?? 'null') as Held | null
    return held && typeof held.person === 'string' && typeof held.unsent === 'number' ? held : null
  } catch {
    return null
  }
}
