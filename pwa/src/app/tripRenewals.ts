/**
 * Renewals that fall into a trip that is ahead. Whether another week has room
 * for them is the engine's to say; that they are in the way is seen here, so
 * that the Round need not have the whole trip worked out.
 */
import type { Bin, Chore, Trip } from '../types'
import { dayOf, daysBetween } from '../words/when'

/** From so many days before leaving on they are named on the Round. */
export const NAMED_DAYS = 28

export function tripAhead(trips: Trip[], today: string): Trip | undefined {
  return trips.find((trip) => today <= trip.leaves && daysBetween(today, trip.leaves) <= NAMED_DAYS)
}

/** The bins of a trip whose renewal falls into it and was not put there by hand. */
export function renewalsWithin(trip: Trip, chores: Chore[], bins: Bin[], zone: string): Bin[] {
  const days = new Map(
    chores
      .filter((chore) => chore.chore === 'renew')
      .map((chore) => [chore.bin, dayOf(new Date(planned(chore)), zone)]),
  )
  return bins.filter((bin) => {
    const day = days.get(bin.id) ?? ''
    const theirs = !trip.bins?.length || trip.bins.includes(bin.id)
    return theirs && !bin.deleted && !bin.renew_moved && trip.leaves <= day && day <= trip.returns
  })
}

/** A renewal that is planned is for the week that its window opens in. */
const planned = (chore: Chore) => (chore.why?.code === 'planned' ? chore.opens : chore.due)
