import { liveQuery } from 'dexie'
import { readable, type Readable } from 'svelte/store'
import { db, isConnectionLost } from './db'

const RETRY_MS = 1000

/**
 * A store that follows a query of the local database. Undefined until the
 * first read is back. A failed read is tried again, after opening the database
 * anew where the connection was lost.
 */
export function live<T>(query: () => Promise<T>): Readable<T | undefined> {
  return readable<T | undefined>(undefined, (set) => {
    let subscription: { unsubscribe(): void } | undefined
    let timer: ReturnType<typeof setTimeout> | undefined
    const follow = () => {
      subscription = liveQuery(query).subscribe({
        next: set,
        error: async (error: unknown) => {
          console.error('The database could not be read.', error)
          if (isConnectionLost(error)) await db.reopen().catch(() => undefined)
          timer = setTimeout(follow, RETRY_MS)
        },
      })
    }
    follow()
    return () => {
      clearTimeout(timer)
      subscription?.unsubscribe()
    }
  })
}
