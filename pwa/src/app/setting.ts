import { derived, type Readable } from 'svelte/store'
import { room } from '../data/stores'
import type { Setting } from '../words/phrases'
import { now } from './now'

const device = Intl.DateTimeFormat().resolvedOptions().timeZone || 'UTC'

/** The time zone of this device, for a household that has not said its own. */
export const deviceZone = device

/** Units and time zone for phrasing: the household's, or this device's until its room is known. */
export const setting: Readable<Setting> = derived([room, now], ([$room, $now]) => ({
  now: $now,
  zone: $room?.time_zone || device,
  units: $room?.units ?? guessUnits(),
}))

/** US units where the reader's locale is American, metric elsewhere. */
export function guessUnits(): 'us' | 'metric' {
  return /-US\b/.test(navigator.language) || navigator.language === 'en' ? 'us' : 'metric'
}
