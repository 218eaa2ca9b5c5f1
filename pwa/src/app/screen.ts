import { readable } from 'svelte/store'

/** Wide enough for two pages side by side. */
export const wide = readable(false, (set) => {
  const query = matchMedia('(min-width: 1100px)')
  const follow = () => set(query.matches)
  follow()
  query.addEventListener('change', follow)
  return () => query.removeEventListener('change', follow)
})
