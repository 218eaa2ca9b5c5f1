import { liveQuery } from 'dexie'
import { db } from '../data/db'
import { startEngine } from '../engine/engine'
import { withdrawSettled } from '../data/told'
import { confirmAlerts, sendSnoozes } from './alerts'
import { go } from './courier'
import { wantOlder } from './exchange'
import { noteWhatIsHeld } from './keeping'
import { listen } from './nudge'
import { watchPhotos } from './photos'
import { prolong } from './session'
import { followNotifications, keepEngine, register } from './update'
import { watch } from './watch'

let started = false

/**
 * Starts everything that runs beside the screens: service worker, exchange and
 * its triggers, engine, alerts. The app calls it once, after the first paint.
 * Nothing here is waited for.
 */
export function start(): void {
  if (started) return
  started = true
  void register().then(confirmAlerts)
  followNotifications()
  watch()
  listen(() => void go())
  watchPhotos()
  void startEngine(keepEngine)
  void prolong()
  keepWhatIsLogged()
  withdrawWhatIsSettled()
  noteWhatIsHeld()
  window.addEventListener('online', () => void sendSnoozes().catch(() => undefined))
}

/** An alert still shown on this device goes when its matter is settled here, or elsewhere and that has arrived. */
function withdrawWhatIsSettled(): void {
  if (!('serviceWorker' in navigator)) return
  liveQuery(() => db.get('arrival')).subscribe({
    next: async () => {
      const registration = await navigator.serviceWorker.getRegistration()
      if (registration) await withdrawSettled(registration).catch(() => undefined)
    },
    error: () => undefined,
  })
}

/** Exchanges now ("Try now" on the outbox line). Resolves when that try is over. */
export function exchangeNow(): Promise<void> {
  return go()
}

/** Fetches older entries of the room: a page of them, all, or no more. */
export async function fetchOlder(wanted: 'page' | 'all' | ''): Promise<void> {
  await wantOlder(wanted)
  if (wanted) await go()
}

/**
 * Asks the browser not to clear this app's storage, once there is something of
 * the person's own in it: before, the question would make no sense to anybody.
 */
function keepWhatIsLogged(): void {
  if (!navigator.storage?.persist) return
  const logged = liveQuery(async () => {
    const { device, person } = await db.getAll('device', 'person')
    if (!person) return 0
    const mine = await db.outgoing
      .filter((row) => row.sort === 'entry' && (row.record as { device?: string }).device === device)
      .first()
    return mine ? 1 : 0
  })
  const subscription = logged.subscribe({
    next: async (count) => {
      if (count === 0) return
      subscription.unsubscribe()
      if (!(await navigator.storage.persisted())) await navigator.storage.persist()
    },
    error: () => undefined,
  })
}
