/** A trip as a form holds it: days as 2006-01-02, and what can be reckoned of it. */
import { limits } from '../data/limits'
import type { Away, Trip } from '../types'
import { DAY } from '../words/when'

export const LONGEST_TRIP = 90

/** A day moved by so many days. */
export function addDays(day: string, days: number): string {
  return new Date(Date.parse(`${day}T00:00:00Z`) + days * DAY).toISOString().slice(0, 10)
}

/** The days of a trip from leaving to coming back; none where they are the wrong way round. */
export function daysOf(trip: Pick<Trip, 'leaves' | 'returns'>): string[] {
  const count = Math.round((Date.parse(trip.returns) - Date.parse(trip.leaves)) / DAY)
  if (!(count >= 0 && count <= LONGEST_TRIP)) return []
  return Array.from({ length: count + 1 }, (_, i) => addDays(trip.leaves, i))
}

/** The days on which somebody can still come; on the last day the owner is back. */
export function visitDays(trip: Pick<Trip, 'leaves' | 'returns'>, today: string): string[] {
  return daysOf(trip)
    .slice(0, -1)
    .filter((day) => day >= today)
}

/** A new trip: in three days, for ten, with nobody coming yet. */
export function newTrip(today: string, name: string): Trip {
  return { ...limits.trip, id: '', name, leaves: addDays(today, 3), returns: addDays(today, 13), days: [] }
}

/** The trip that matters at a day: the one that is on or comes next, or else the last. */
export function currentTrip(trips: Trip[], today: string): Trip | undefined {
  return trips.find((trip) => trip.returns >= today) ?? trips[trips.length - 1]
}

/** Which of two trades is better: fewer bins that nobody reaches, fewer visits, fewer lids, less risk. */
export function isBetter(a: Away, b: Away): boolean {
  const late = (one: Away) => one.bins.filter((bin) => bin.late).length
  const keys: ((one: Away) => number)[] = [late, (one) => one.plan.visits, (one) => one.plan.lids]
  for (const key of keys) if (key(a) !== key(b)) return key(a) < key(b)
  return false
}

/** How dark a day of a strip is: 0 for hardly any chance to 4. */
export function shade(odds: number): number {
  return [0.03, 0.1, 0.25, 0.5].filter((from) => odds >= from).length
}
