import { writable, type Writable } from 'svelte/store'

/** A choice that belongs to this device alone and survives a reload. */
function kept<T extends string>(key: string, first: T, allowed: readonly T[]): Writable<T> {
  let value = first
  try {
    const stored = localStorage.getItem(key) as T | null
    if (stored && allowed.includes(stored)) value = stored
  } catch {
    // Storage is closed to us (private window): the choice lasts for this visit.
  }
  const store = writable(value)
  store.subscribe((next) => {
    try {
      localStorage.setItem(key, next)
    } catch {
      // As above.
    }
  })
  return store
}

export const LIGHTS = ['day', 'dusk', 'red'] as const
export type Light = (typeof LIGHTS)[number]

/** index.html reads the same key before the first paint. */
export const light = kept<Light>('light', 'day', LIGHTS)

/** Whether single letters work as shortcuts (WCAG 2.1.4: they can be turned off). */
export const letters = kept<'on' | 'off'>('letters', 'on', ['on', 'off'])

/** Whether this device was asked about alerts. It is asked once; Room has the switch for later. */
export const asked = kept<'yes' | 'no'>('alerts-asked', 'no', ['yes', 'no'])

/** Whether the hint to keep the app on the home screen was read. */
export const installRead = kept<'yes' | 'no'>('install-read', 'no', ['yes', 'no'])

/** Whether the first steps were put away before they were all done. */
export const stepsDone = kept<'yes' | 'no'>('steps-done', 'no', ['yes', 'no'])

export function followLight(): void {
  light.subscribe((value) => {
    document.documentElement.dataset['light'] = value
    const paper = getComputedStyle(document.documentElement).getPropertyValue('--paper').trim()
    if (paper) document.querySelector('meta[name="theme-color"]')?.setAttribute('content', paper)
  })
}

/** Whether a key belongs to a field that is being typed in, or to the browser. */
export function isTyping(event: KeyboardEvent): boolean {
  const field =
    event.target instanceof Element && event.target.closest('input:not([type="checkbox"]), select, textarea')
  return Boolean(field) || event.ctrlKey || event.metaKey || event.altKey
}
