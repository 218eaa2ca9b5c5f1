import { readable } from 'svelte/store'

/** The time, refreshed twice a minute and whenever the page is looked at again. */
export const now = readable(new Date(), (set) => {
  const tick = () => set(new Date())
  const timer = setInterval(tick, 30_000)
  document.addEventListener('visibilitychange', tick)
  tick()
  return () => {
    clearInterval(timer)
    document.removeEventListener('visibilitychange', tick)
  }
})
