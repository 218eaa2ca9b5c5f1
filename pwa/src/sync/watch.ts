import { liveQuery } from 'dexie'
import { db } from '../data/db'
import { go, goAfresh, noteLine } from './courier'

/** Sends the courier for every reason that a page can see: a tap, the start, the network or the page coming back. */
export function watch(): void {
  let before = 0
  liveQuery(() => db.outgoing.count()).subscribe({
    next: (waiting) => {
      if (waiting > before) void go()
      before = waiting
    },
    error: (error) => console.error('The outbox cannot be watched.', error),
  })
  liveQuery(() => db.get('token')).subscribe({
    next: (token) => (token ? goAfresh() : noteLine('signed-out')),
    error: () => undefined,
  })
  window.addEventListener('online', goAfresh)
  window.addEventListener('offline', () => noteLine('no-signal'))
  window.addEventListener('pageshow', goAfresh)
  document.addEventListener('visibilitychange', () => document.visibilityState === 'visible' && goAfresh())
}
