import { db } from '../data/db'
import { countWaiting, drain, type Outcome } from './exchange'
import { IDLE_PAUSE_MS, pauseAfter } from './pause'
import { Away } from './server'
import { lineState, sendingState, type Line } from './state'
import { oneAtATime } from './together'
import { line as words } from '../words/en.line'

export { lineState, sendingState } from './state'

/*
 * When to drain. The courier goes after a tap, at the start, when the network
 * or the page comes back, on a nudge, and again after a failure. One goes at a
 * time, over all tabs and the service worker.
 */
const STUCK_MS = 30_000 // no progress for so long: the drain is given up
const STEAL_MS = 45_000 // a holder that keeps the lock for so long without letting anybody in is dead or frozen
const LOCK = 'underlog-exchange'

let failures = 0
let timer: ReturnType<typeof setTimeout> | undefined

/** Goes now; resolves when this try is over, however it ended. A call during a try makes one more try follow. */
export const go = oneAtATime(attempt)

async function attempt(): Promise<void> {
  clearTimeout(timer)
  sendingState.set(true)
  try {
    const outcome = await drainAlone()
    failures = 0
    lineState.set(outcome === 'signed-out' ? 'signed-out' : 'online')
    if (outcome === 'update-needed') void lookForUpdate()
  } catch (error) {
    failures += 1
    lineState.set(navigator.onLine === false ? 'no-signal' : 'server-away')
    await later(error instanceof Away ? error.retryAfterMs : 0)
    if (!(error instanceof Away)) console.error('The exchange failed and is tried again.', error)
  } finally {
    sendingState.set(false)
  }
}

/** Tries again after a pause that doubles, with jitter so that the phones of a house do not march in step. */
async function later(atLeastMs: number): Promise<void> {
  const unsent = await hasToSend().catch(() => true)
  if (unsent) void askForBackgroundSync()
  const pause = pauseAfter(failures, unsent, Math.random())
  clearTimeout(timer)
  timer = setTimeout(() => void go(), Math.max(pause, Math.min(atLeastMs, 10 * IDLE_PAUSE_MS)))
}

/** What waits, and what a server that came back from an older copy has lost. */
async function hasToSend(): Promise<boolean> {
  return (await countWaiting()) > 0 || (await db.get('reoffer')) === true
}

/** A bonus where the browser has it: the outbox may leave while the app is closed. */
async function askForBackgroundSync(): Promise<void> {
  const registration = await navigator.serviceWorker?.getRegistration()
  const { sync } = (registration ?? {}) as { sync?: { register(tag: string): Promise<void> } }
  await sync?.register('exchange').catch(() => undefined)
}

/** The server speaks another version: the app that it has now does too. What is found waits for the person's word. */
async function lookForUpdate(): Promise<void> {
  const registration = await navigator.serviceWorker?.getRegistration()
  await registration?.update().catch(() => undefined)
}

/** One drain under the lock, given up when it makes no progress. Also for the service worker. */
export async function drainAlone(stuckMs = STUCK_MS, stealMs = STEAL_MS): Promise<Outcome> {
  let begun = false
  const work = () => {
    begun = true
    return watched(stuckMs)
  }
  if (!navigator.locks) return work() // not a secure context: one tab at a time is all there is
  const waited = AbortSignal.timeout(stealMs)
  try {
    return await navigator.locks.request(LOCK, { signal: waited }, work)
  } catch (error) {
    if (begun) throw (error as Error)?.name === 'AbortError' ? new Away(words.anotherTab) : error
    if (!waited.aborted) throw error
    // Stealing is safe: what both offer is known to the server by its id.
    return navigator.locks.request(LOCK, { steal: true }, work)
  }
}

async function watched(stuckMs: number): Promise<Outcome> {
  const giveUp = new AbortController()
  let check: ReturnType<typeof setInterval> | undefined
  let progressAt = Date.now()
  const stuck = new Promise<never>((_, reject) => {
    check = setInterval(() => {
      if (Date.now() - progressAt < stuckMs) return
      giveUp.abort()
      reject(new Away(words.stuck))
    }, stuckMs / 10)
  })
  try {
    const onProgress = () => (progressAt = Date.now())
    return await Promise.race([drain({ signal: giveUp.signal, onProgress }), stuck])
  } finally {
    clearInterval(check)
  }
}

/** Goes without regard to earlier failures: something has changed for the better. */
export function goAfresh(): void {
  failures = 0
  void go()
}

/** What others have found out about the line. */
export function noteLine(found: Line): void {
  lineState.set(found)
}
