/** What has become of a trip's visits, to the sitter and to the owner. Part of the catalogue en.ts. */
import type { PassChange } from '../sync/passes'
import { list } from './grammar'

const FELT = { dry: 'dry', barely: 'barely damp', damp: 'damp', soaked: 'wet' }

export const planChange = {
  title: (yours: boolean) =>
    yours ? 'Since your last visit the plan has changed' : 'The plan has changed since it was made',
  /** Which day is next, and what else is new or falls away. */
  days(change: PassChange, day: (date: string) => string): string {
    const { was, next } = change
    const more = change.new.filter((date) => date !== next || was === next)
    const less = change.gone.filter((date) => date !== was || was === next)
    const first =
      next === ''
        ? 'Nobody has to come any more.'
        : was === ''
          ? `One more visit is needed: ${day(next)}.`
          : next === was
            ? `Your next visit stays as it was: ${day(next)}.`
            : `Your next visit is ${day(next)}, not ${day(was)}.`
    return [
      first,
      ...(more.length > 0 ? [`New: ${list(more.map(day))}.`] : []),
      ...(less.length > 0 ? [`No longer needed: ${list(less.map(day))}.`] : []),
      ...(next !== '' && next === was && more.length + less.length === 0
        ? ['What is different is which boxes you open on which day.']
        : []),
    ].join(' ')
  },
  found: (places: string[], feel: keyof typeof FELT) =>
    places.length > 4 ? `${places.length} boxes felt ${FELT[feel]}.` : `${list(places)} felt ${FELT[feel]}.`,
  missed: (places: string[]) =>
    `Not opened on the day planned for it: ${places.length > 4 ? `${places.length} boxes` : list(places)}.`,
  air: 'The boxes dry faster or slower than was thought.',

  owner: (visited: boolean, next: string) =>
    `${visited ? 'A visit has changed the plan' : 'The plan of the trip has changed'}: ${next ? `next on ${next}` : 'no more are needed'}`,
}
