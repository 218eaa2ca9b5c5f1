/**
 * Starts everything that runs beside the screens: service worker, exchange and
 * its triggers, engine, alerts. The app calls it once, after the first paint.
 */
export function start(): void {
  throw new Error('start')
}

/** Exchanges now ("Try now" on the outbox line). Resolves when that try is over. */
export async function exchangeNow(): Promise<void> {
  throw new Error('exchangeNow')
}
