/** Links by which other programs follow a calendar (backend/calendar). */
import { call } from './server'

const ROUTE = '/api/underlog/calendars'

export interface CalendarLink {
  id: string
  person: string
  name: string
  of: 'room' | 'trip'
  trip?: string
  made_at: string
  seen_at?: string // when it was last asked for
  path?: string // told once, when it is made
}

/** One's own; to the owner, everybody's. */
export const listCalendars = (): Promise<CalendarLink[]> => call<CalendarLink[]>(ROUTE)

export const addCalendar = (wish: {
  name: string
  of: 'room' | 'trip'
  trip?: string
}): Promise<CalendarLink> => call<CalendarLink>(ROUTE, { method: 'POST', body: wish })

/** Another secret under the same name; the one before is worthless then. */
export const renewCalendar = (id: string): Promise<CalendarLink> =>
  call<CalendarLink>(`${ROUTE}/${encodeURIComponent(id)}/link`, { method: 'POST' })

export const removeCalendar = async (id: string): Promise<void> => {
  await call(`${ROUTE}/${encodeURIComponent(id)}`, { method: 'DELETE' })
}

/** The address that calendar programs are given. */
export const addressOf = (path: string, origin: string): string => origin + path

/** The same for programs that subscribe when they are handed such a link. */
export const webcalOf = (address: string): string => address.replace(/^https?:/, 'webcal:')

/** Whether an origin leads to the asking machine itself. */
export function isOnlyHere(origin: string): boolean {
  const { hostname } = new URL(origin)
  return hostname === 'localhost' || hostname.endsWith('.localhost') || /^127\.|^\[::1\]$/.test(hostname)
}
