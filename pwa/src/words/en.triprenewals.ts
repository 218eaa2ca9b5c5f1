/** Renewals in the way of a trip, in a line above the round. Part of the catalogue en.ts. */
import { count, list } from './grammar'

export const tripRenewals = {
  within: (bins: string[]) =>
    bins.length > 3
      ? `${bins.length} renewals fall into the trip.`
      : `${bins.length === 1 ? 'The renewal' : 'The renewals'} of ${list(bins)} ${bins.length === 1 ? 'falls' : 'fall'} into the trip.`,
  move: (n: number) => (n === 1 ? 'Move it out of the way' : 'Move them out of the way'),
  moved: (n: number) => `${count(n, 'renewal', 'renewals')} moved out of the way of the trip.`,
  nowhere: 'The year has no better week for them.',
}
