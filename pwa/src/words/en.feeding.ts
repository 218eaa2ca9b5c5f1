/** What to feed, and why; the page that feeds a shelf; the foods. Part of the catalogue en.ts. */
import type { Food, PickBan } from '../types'
import { capital, count, list } from './grammar'

const SERVINGS: Record<NonNullable<Food['serving']>, [string, string]> = {
  piece: ['piece', 'pieces'],
  pinch: ['pinch', 'pinches'],
  spoon: ['spoon', 'spoons'],
}

/** 3 pieces, 1 pinch. */
export function servings(n: number, serving: Food['serving']): string {
  return count(n, ...SERVINGS[serving ?? 'piece'])
}

const oneIn = (share: number) => count(Math.max(2, Math.round(1 / share)), 'meal', 'meals')

export const pick = {
  'by hand': () => 'your choice',
  protein: (share: number) => `protein is due, about one in ${oneIn(share)} here`,
  plants: () => 'enough protein lately',
  variety: (days: number) =>
    days > 0 ? `not had for ${count(Math.round(days), 'day', 'days')}` : 'new here',
  'use first': (day: string) => (day ? `use it up by ${day}` : 'does not keep in the kitchen'),
  keeps: () => 'stays clean the longest',
  liked: () => 'others were left lying',
  'same board': () => 'cut up for others anyway',
  'in turn': () => 'its turn',
  next: (food: string, why: string[]) => `${capital(food)}: ${list(why)}`,
  none: 'Nothing at hand fits this bin today.',
  calcium: (food: string) => `Calcium is due: ${food}`,
  shareOf: (share: number, low: number, high: number, looks: number) => {
    const pct = (x: number) => Math.round(100 * x)
    return looks < 1
      ? `About ${pct(share)} % of its meals should be protein, going by its kind.`
      : `About ${pct(share)} % of its meals should be protein (${pct(low)} to ${pct(high)} %), going by its kind and by what it has eaten.`
  },
}

const bans: Record<PickBan, string> = {
  'last meal': 'it was the last meal',
  'would mould': 'it would be mouldy by the next look',
  'past use-by': 'past its use-by day',
  'none left': 'none left',
}

export const feeding = {
  title: 'Feed the shelf',
  scope: 'Which bins',
  due: 'All that are due',
  waiting: 'Working out who gets what…',
  noEngine:
    'The forecast could not be loaded on this device, so nothing can be suggested. Feed at the stops instead.',
  nobody: 'No bin is due for a meal. Choose a shelf to feed it anyway.',
  ready: 'Get ready',
  readyHelp: 'Cut it small. Wash what was sprayed, or leave it.',
  amount: (amount: string, grams: number) =>
    grams > 0 ? `${amount}, about ${grams < 1 ? grams.toFixed(1) : Math.round(grams)}\u00a0g` : amount,
  forBins: (n: number) => `for ${count(n, 'bin', 'bins')}`,
  instead: (food: string) => `Something else instead of ${food}`,
  hand: 'In the kitchen',
  handHelp: 'Tap what you have today; the rest follows.',
  useBy: (day: string) => `use by ${day}`,
  walk: 'Who gets what',
  given: (amount: string, food: string) => `${amount} of ${food}`,
  change: 'Change',
  changeAt: (place: string) => `Change ${place}`,
  done: 'Done',
  food: 'Food',
  chosen: 'As suggested',
  notFor: (food: string, why: PickBan) => `${food} (${bans[why]})`,
  leaveOut: 'Leave it out',
  putBack: 'Feed it after all',
  out: 'Left out.',
  early: (due: string) => `Not due until ${due}.`,
  anyway: 'Feed it anyway',
  lookFirst: (food: string, span: string) => `Look first: ${food} has been in for ${span}.`,
  lookAt: (place: string) => `Look at ${place}`,
  nothing: 'Nothing at hand fits: it would be the last meal again, or turn mouldy.',
  onlyLook: 'Nothing to feed here before somebody has looked.',
  log: (n: number) => `All fed: ${count(n, 'bin', 'bins')}`,
  fed: (n: number) => `${count(n, 'bin is', 'bins are')} fed`,
  again: (when: string) => `Have a look at what is left ${when}.`,
  undo: 'Undo the feeding',
  round: 'To the round',
  failed: (why: string) => `Nothing was logged: ${why}`,
  away: 'You leave before the next look: only what lasts until you are back is on the list.',
}

export const foodsPage = {
  title: 'Foods',
  door: 'Foods, and how fast they mould',
  lead: 'How fast each food turns mouldy here, and what to mind with it.',
  rules:
    'Plain food only: nothing salted, seasoned, oiled or sprayed. Wash it, keep the board and knife off the kitchen’s, and take out what turns.',
  add: 'Add a food',
  newTitle: 'A new food',
  editTitle: (name: string) => `Edit ${name}`,
  edit: 'Edit',
  classes: {
    fruit: 'Fruit',
    vegetable: 'Vegetables',
    root: 'Roots',
    grain: 'Grain',
    protein: 'Protein',
    mineral: 'Calcium',
    staple: 'Leaves and wood',
  } as Record<Food['class'], string>,
  believed: 'Usual',
  taught: 'In this room',
  hours: (n: number) => (n < 60 ? `${Math.round(n)}\u00a0h` : `${Math.round(n / 24)}\u00a0days`),
  days: (n: number) => count(n, 'day', 'days'),
  pace: (food: string, usual: string, from: string, to: string, here: string) =>
    `${food}: mould shows after about ${usual} in a usual bin, after ${from} to ${to} here, ${here} in the middle`,
  never: 'Stays in; mould does not matter.',
  looks: (looks: number, mouldy: number, eaten: number) =>
    looks === 0
      ? 'Nobody has looked at it here yet; what other foods did here says a little.'
      : `${count(looks, 'look', 'looks')} here: mould on ${mouldy}, ${Math.round(100 * eaten)} % eaten at the first look.`,
  offMenu: 'Never suggested.',
  name: 'Name',
  class: 'What it is',
  caution: 'What to mind',
  serving: 'One portion is counted in',
  servings: { piece: 'pieces', pinch: 'pinches', spoon: 'spoons' },
  servingG: 'One weighs, in grams',
  perishable: 'Does not keep in the kitchen',
  stays: 'Stays in the bin for good',
  menu: 'Suggest it',
  remove: 'Remove',
  removed: (name: string) => `${name} is removed.`,
  saved: (name: string) => `${name} is saved.`,
  known: (name: string) => `There is a food called ${name} already.`,
  axis: 'Hours until mould shows: the line runs from 1 in 10 to 9 in 10, the mark is the middle.',
}
