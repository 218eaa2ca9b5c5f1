/** Codes on labels: what a bin's code says, and which bin a code that was read means. */
import type { Bin } from '../types'
import { atPlace } from './find'
import { readRoute, to } from './route'

/** What the label of a bin says: this app's address and the bin's id, which means nothing to a stranger. */
export function codeOf(bin: string, origin: string): string {
  return `${origin}/${to.label(bin)}`
}

export type Read = { bin: Bin } | { unknown: 'bin' | 'other' }

/**
 * The bin that a code means. The address before the # is not looked at: a
 * label stays good when the server moves. A plain place code will do as well.
 */
export function readCode(text: string, bins: Bin[]): Read {
  const hash = text.indexOf('#/')
  if (hash >= 0) {
    const route = readRoute(text.slice(hash))
    if (route.page === 'stop' || route.page === 'bin') {
      const bin = bins.find((one) => one.id === route.bin)
      return bin ? { bin } : { unknown: 'bin' }
    }
  }
  const bin = text.length < 30 ? atPlace(bins, text) : undefined
  return bin ? { bin } : { unknown: 'other' }
}
