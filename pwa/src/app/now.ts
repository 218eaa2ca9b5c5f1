import { derived, readable, type Readable } from 'svelte/store'
import { clockCorrection } from '../data/stores'

const tick = readable(0, (set) => {
  const next = () => set(Date.now())
  const timer = setInterval(next, 30_000)
  document.addEventListener('visibilitychange', next)
  next()
  return () => {
    clearInterval(timer)
    document.removeEventListener('visibilitychange', next)
  }
})

/**
 * The time, refreshed twice a minute and whenever the page is looked at again:
 * the server's where this device's clock is wrong, since entries and days are
 * written and checked by that.
 */
export const now: Readable<Date> = derived(
  [tick, clockCorrection],
  ([, $correction]) => new Date(Date.now() + ($correction ?? 0)),
)
