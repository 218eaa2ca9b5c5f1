/**
 * Which sort of alert is offered to be turned down where the person is. A sort
 * is offered during one visit, and again only when as many more were ignored.
 */
import { derived, type Readable } from 'svelte/store'
import { alertsAtServer, type AlertOffer } from '../sync/alerts'
import type { AlertSort } from '../types'

type Offered = Partial<Record<AlertSort, number>>

/** How many more must have been ignored before a sort is offered anew. */
const MORE = 5

/** Whether an offer was not made before, or enough was ignored since. Fewer than then is a row of its own. */
export function isNews(offer: AlertOffer, offered: Offered): boolean {
  const then = offered[offer.sort]
  return then === undefined || offer.ignored < then || offer.ignored >= then + MORE
}

/** What to offer: that of this visit as long as it stands; none after it was answered. */
export function choose(
  offers: AlertOffer[],
  offered: Offered,
  visit: AlertSort | undefined,
): AlertOffer | undefined {
  return offers.find((offer) => (visit ? offer.sort === visit : isNews(offer, offered)))
}

let visit: AlertSort | undefined

export const offerOfVisit: Readable<AlertOffer | undefined> = derived(alertsAtServer, ($server) => {
  const found = choose($server?.offers ?? [], read(), visit)
  if (found && !visit) {
    visit = found.sort
    write({ ...read(), [found.sort]: found.ignored })
  }
  return found
})

const KEY = 'alerts-offered'

function read(): Offered {
  try {
    return JSON.parse(localStorage.getItem(KEY) ?? '{}') as Offered
  } catch {
    return {} // storage is closed to us (private window)
  }
}

function write(offered: Offered): void {
  try {
    localStorage.setItem(KEY, JSON.stringify(offered))
  } catch {
    // As above: it is offered again with the next visit.
  }
}
