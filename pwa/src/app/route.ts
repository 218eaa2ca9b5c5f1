import { readable, writable, type Readable } from 'svelte/store'
import { afterPaint } from './paint'
import type { LarderSort } from '../data/larder'
import { readQuery } from '../data/query'

/** Where in the app somebody is: the hash of the address, read. */
export type Route =
  | {
      page:
        | 'welcome'
        | 'round'
        | 'rack'
        | 'notebook'
        | 'needs-a-look'
        | 'room'
        | 'find'
        | 'scan'
        | 'renewals'
        | 'foods'
        | 'drawings'
        | 'pass' // somebody's pass, which is no page of the app: screens/pass/open.ts
        | 'lost'
    }
  | { page: 'stop'; bin: string; of?: string }
  | { page: 'alert'; of: string[]; damp: string[]; wrong?: string[]; in?: string; did?: string }
  | { page: 'bin' | 'edit-bin'; bin: string }
  | { page: 'new-bin'; rack?: string; shelf?: number }
  | { page: 'feeding'; rack?: string; shelf?: number }
  | { page: 'pair'; code?: string }
  | { page: 'labels'; bin?: string }
  | { page: 'away'; trip?: string }
  | { page: 'rehearse'; trip: string }
  | { page: 'larder'; sort?: LarderSort; item?: string }
  | { page: 'kinds'; kind?: string; edit?: true }

const PLAIN = [
  'welcome',
  'rack',
  'notebook',
  'needs-a-look',
  'room',
  'find',
  'scan',
  'renewals',
  'foods',
  'drawings',
] as const

const LARDER = ['batches', 'mixes', 'stock', 'supplies']

export function readRoute(hash: string): Route {
  const [path = '', query = ''] = hash.replace(/^#\/?/, '').split('?')
  const parts = path
    .split('/')
    .filter((part) => part !== '')
    .map(decode)
  const given = new URLSearchParams(query)
  const [first, second, third] = parts
  if (!first) return { page: 'round' }
  if (first === 'alert' && parts.length === 1) return { page: 'alert', ...readQuery(hash) }
  if (first === 'stop' && second && parts.length === 2) {
    const of = given.get('of')
    return of ? { page: 'stop', bin: second, of } : { page: 'stop', bin: second }
  }
  if (first === 'b' && second && parts.length === 2) return { page: 'stop', bin: second }
  if (
    (first === 'bin' && second === 'new' && parts.length === 2) ||
    (first === 'feeding' && parts.length === 1)
  ) {
    const shelf = Number(given.get('shelf'))
    return {
      page: second ? 'new-bin' : 'feeding',
      ...(given.get('rack') ? { rack: given.get('rack')! } : {}),
      ...(shelf > 0 ? { shelf } : {}),
    }
  }
  if (first === 'bin' && second && parts.length === 2) return { page: 'bin', bin: second }
  if (first === 'bin' && second && third === 'edit' && parts.length === 3)
    return { page: 'edit-bin', bin: second }
  if (first === 'labels' && parts.length <= 2)
    return second ? { page: 'labels', bin: second } : { page: 'labels' }
  if (first === 'away' && second && third === 'walk' && parts.length === 3)
    return { page: 'rehearse', trip: second }
  if (readPass(hash) !== null) return { page: 'pass' }
  if (first === 'kinds' && parts.length <= 3 && (!third || third === 'edit'))
    return {
      page: 'kinds',
      ...(second ? { kind: second } : {}),
      ...(third ? { edit: true } : {}),
    }
  if (first === 'away' && parts.length <= 2) return second ? { page: 'away', trip: second } : { page: 'away' }
  if (first === 'larder' && parts.length === 1) return { page: 'larder' }
  if (first === 'larder' && LARDER.includes(second ?? '') && third && parts.length === 3)
    return { page: 'larder', sort: second as LarderSort, item: third }
  if (first === 'pair' && parts.length <= 2) return second ? { page: 'pair', code: second } : { page: 'pair' }
  const plain = PLAIN.find((page) => page === first)
  return plain && parts.length === 1 ? { page: plain } : { page: 'lost' }
}

/** What stands for the secret in the address of a pass, however broken; null in any other address. */
export function readPass(hash: string): string | null {
  const found = /^#\/p(?:\/(.*))?$/.exec(hash)
  return found && (found[1] ?? '')
}

function decode(part: string): string {
  try {
    return decodeURIComponent(part)
  } catch {
    return part
  }
}

/** The addresses, in one place. */
export const to = {
  welcome: '#/welcome',
  round: '#/',
  rack: '#/rack',
  away: '#/away',
  trip: (id: string) => `#/away/${encodeURIComponent(id)}`,
  rehearse: (trip: string) => `#/away/${encodeURIComponent(trip)}/walk`,
  pass: (secret: string) => `#/p/${secret}`,
  larder: '#/larder',
  item: (sort: LarderSort, id: string) => `#/larder/${sort}/${encodeURIComponent(id)}`,
  notebook: '#/notebook',
  needsALook: '#/needs-a-look',
  room: '#/room',
  find: '#/find',
  scan: '#/scan',
  /** What the code on a bin's label says after the address of the app: short, and it tells nobody anything. */
  label: (id: string) => `#/b/${encodeURIComponent(id)}`,
  renewals: '#/renewals',
  kinds: '#/kinds',
  kind: (id: string) => `#/kinds/${encodeURIComponent(id)}`,
  labels: '#/labels',
  labelsOf: (id: string) => `#/labels/${encodeURIComponent(id)}`,
  pair: '#/pair',
  foods: '#/foods',
  feeding: '#/feeding',
  feedingAt: (rack: string, shelf: number) => `#/feeding?rack=${encodeURIComponent(rack)}&shelf=${shelf}`,
  newBin: '#/bin/new',
  newBinAt: (rack: string, shelf: number) => `#/bin/new?rack=${encodeURIComponent(rack)}&shelf=${shelf}`,
  bin: (id: string) => `#/bin/${encodeURIComponent(id)}`,
  editBin: (id: string) => `#/bin/${encodeURIComponent(id)}/edit`,
  alert: ({ of, damp, in: bin }: { of: string[]; damp: string[]; in?: string }) => {
    const query = [
      of.length > 0 && `of=${of.join(',')}`,
      damp.length > 0 && `damp=${damp.join(',')}`,
      bin && `in=${bin}`,
    ]
    return `#/alert?${query.filter(Boolean).join('&')}`
  },
  reports: (ids: string[]) => `#/alert?wrong=${ids.join(',')}`,
  stop: (id: string, of?: string) =>
    `#/stop/${encodeURIComponent(id)}${of ? `?of=${encodeURIComponent(of)}` : ''}`,
}

let steps = 0 // how many pages of ours lie behind this one

const at = readRoute(location.hash)
const bound = writable<Route>(at)

/** Where somebody is bound for, from the moment of the touch: doors and links show it. */
export const heading: Readable<Route> = bound

/** The page that is shown: that follows one picture later, so that no touch waits for a page to be made. */
export const route = readable<Route>(at, (set) => {
  const follow = () => {
    steps++
    const next = readRoute(location.hash)
    bound.set(next)
    afterPaint(() => set(readRoute(location.hash)))
  }
  window.addEventListener('hashchange', follow)
  return () => window.removeEventListener('hashchange', follow)
})

export function go(address: string): void {
  location.hash = address
}

/** Takes the place of the current page, so that Back does not lead through it again. */
export function replace(address: string): void {
  history.replaceState(history.state, '', address)
  window.dispatchEvent(new HashChangeEvent('hashchange'))
}

/** Back to where one came from, or to a page of ours where one came from outside. */
export function leave(otherwise: string): void {
  if (steps > 0) history.back()
  else replace(otherwise)
}
