/**
 * The server's hint that there is news: its realtime stream, topic "news". It
 * has no replay and closes now and then, so it is only ever a reason to
 * exchange, and every (re)connection is one too.
 */
import { liveQuery } from 'dexie'
import { db } from '../data/db'
import { call } from './server'

const TOPIC = 'news'
const FIRST_PAUSE_MS = 2000
const LONGEST_PAUSE_MS = 60_000

/** Listens while the page is visible and signed in. Answers what ends it. */
export function listen(onNews: () => void): () => void {
  let stream: EventSource | null = null
  let token: string | undefined
  let failures = 0
  let timer: ReturnType<typeof setTimeout> | undefined

  const close = () => {
    clearTimeout(timer)
    stream?.close()
    stream = null
  }

  const retry = () => {
    close()
    failures += 1
    const pause = Math.min(FIRST_PAUSE_MS * 2 ** Math.min(failures, 10), LONGEST_PAUSE_MS)
    timer = setTimeout(open, pause * (0.5 + Math.random() / 2))
  }

  const open = () => {
    close()
    if (!token || document.visibilityState !== 'visible') return
    stream = new EventSource('/api/realtime')
    stream.addEventListener('PB_CONNECT', (event) => {
      const { clientId } = JSON.parse((event as MessageEvent<string>).data) as { clientId: string }
      call('/api/realtime', { method: 'POST', body: { clientId, subscriptions: [TOPIC] } })
        .then(() => {
          failures = 0
          onNews()
        })
        .catch(retry)
    })
    stream.addEventListener(TOPIC, onNews)
    stream.onerror = retry
  }

  document.addEventListener('visibilitychange', open)
  const tokens = liveQuery(() => db.get('token')).subscribe({
    next: (value) => {
      token = value
      open()
    },
    error: () => undefined,
  })

  return () => {
    tokens.unsubscribe()
    document.removeEventListener('visibilitychange', open)
    close()
  }
}
