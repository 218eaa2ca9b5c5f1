import { writable } from 'svelte/store'

/** What the screens see of the exchange. Kept apart from it, so that the first screen loads none of its code. */
export type Line = 'online' | 'no-signal' | 'server-away' | 'signed-out'

export const lineState = writable<Line>('online')
export const sendingState = writable(false)
/** A new version of the app waits for the person's word. */
export const updateReady = writable(false)
