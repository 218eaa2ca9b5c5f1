/**
 * Every sentence of the app, in English: the walk here; the other pages in the
 * two files beside it, which load with their pages. A translation is another set of the same shape.
 * Sentences that change with the data are functions; measures and dates come
 * in ready-made from units.ts and when.ts, so that a translator meets words
 * only.
 */
import type { ChoreSort, What } from '../types'
import { capital, count, unbroken } from './grammar'
import { simpleOdds } from './odds'
import type { PartOfDay } from './when'

export { capital, count, list } from './grammar'

export const app = {
  name: 'Underlog',
  loading: 'Opening the notebook…',
  forecasting: 'Working out what each bin wants…',
  skip: 'Skip to the page',
  close: 'Close',
  back: 'Back',
  cancel: 'Cancel',
  save: 'Save',
  undo: 'Undo',
  undone: 'Undone. It stays in the notebook, struck.',
  more: 'More…',
  less: 'Fewer',
  broken: (why: string) => `Something went wrong here: ${why}`,
  brokenHelp:
    'What you logged is kept on this device. Load the page again; if it stays broken, export from Needs a look.',
  reload: 'Load again',
  notThere: 'There is no page here.',
  toRound: 'To the round',
  optional: 'optional',
  keys: 'Shortcuts',
  yes: 'yes',
  no: 'no',
}

export const doors = {
  label: 'Pages',
  round: 'Round',
  rack: 'Rack',
  larder: 'Larder',
  away: 'Away',
  notebook: 'Notebook',
  room: 'Room',
}

export const example = {
  label: 'About this room',
  ribbon: 'Example room, all invented',
  remove: 'Remove the example',
  explain:
    'You are looking around in an invented household. Log what you like. Removing it clears everything, and you can set up your own room.',
  sure: 'Remove the example room and everything in it?',
  removing: 'Removing…',
  failed: (why: string) => `The example is still here: ${why}`,
}

export const odds = {
  /** A chance in few words: 1 in 6, hardly any, almost certain. */
  chance(p: number): string {
    if (!(p >= 0.03)) return 'hardly any chance'
    const simple = simpleOdds(p)
    return simple ? `${simple.times}\u00a0in\u00a0${simple.of}` : 'almost certainly'
  },
}

export const when = {
  today: 'today',
  tomorrow: 'tomorrow',
  yesterday: 'yesterday',
  now: 'now',
  parts: {
    morning: 'morning',
    noon: 'noon',
    afternoon: 'afternoon',
    evening: 'evening',
    night: 'night',
  } as Record<PartOfDay, string>,
  /** The part of a day so many days ahead (0 is today). */
  coming(days: number, part: PartOfDay, weekday: string): string {
    const named = when.parts[part]
    if (days === 0) return part === 'noon' ? 'noon' : part === 'night' ? 'tonight' : `this ${named}`
    if (days === 1) return part === 'night' ? 'tomorrow night' : `tomorrow ${named}`
    return `${weekday} ${named}`
  },
  hours: (n: number) => `${n}\u00a0h`,
  minutes: (n: number) => `${n}\u00a0min`,
  days: (n: number) => count(n, 'day', 'days'),
  months: (n: number) => count(n, 'month', 'months'),
  justNow: 'just now',
  lessThanADay: 'less than a day',
  dayAndTime: (day: string, time: string) => `${day}, ${time}`,
}

/** A shelf, counted from the top as place codes count: West, shelf 2. The one way to name it. */
export const shelfOf = (rack: string, shelf: number) => `${rack}, shelf ${shelf}`

const heading: Record<PartOfDay, string> = {
  morning: 'Morning round',
  noon: 'Midday round',
  afternoon: 'Afternoon round',
  evening: 'Evening round',
  night: 'Night round',
}

export const round = {
  heading: (part: PartOfDay) => heading[part],
  /** The one line on top. */
  headline(stops: number, fine: number, minutes: number): string {
    const hours = Math.round(minutes / 30) / 2
    const time =
      minutes < 2 ? 'About a minute.' : minutes < 100 ? `About ${minutes} minutes.` : `About ${hours} hours.`
    const rest = fine === 0 ? '' : fine === 1 ? ', 1 is fine' : `, ${fine} are fine`
    return `${stops === 1 ? '1 bin wants you' : `${stops} bins want you`}${rest}. ${time}`
  },
  allFine: (bins: number) => (bins === 1 ? 'Your bin is fine.' : `All ${bins} bins are fine.`),
  nothing: 'Leave the lids on. Every needless opening dries a bin and unsettles its animals.',
  walked: (n: number) => `${count(n, 'bin', 'bins')} walked. Good round.`,
  next: (what: string, where: string, day: string) => `Next: ${what.toLowerCase()} at ${where}, ${day}.`,
  begin: (place: string) => `Start at ${unbroken(place)}`,
  resume: (place: string) => `Go on at ${unbroken(place)}`,
  done: 'Done',
  doneWith: (what: string[]) =>
    `Done: ${what.map((one) => one.charAt(0).toLowerCase() + one.slice(1)).join(', ')}`,
  noEngine:
    'The forecast could not be loaded on this device. What you log is kept and sent; load the page again when there is signal.',
  noBins: 'No bins yet',
  noBinsHelp: 'Add the first one. It takes under a minute, and the forecast starts at once.',
  noBinsHelpMore: 'After three bins you will see the walk take shape.',
  addBin: 'Add a bin',
  lookAtRack: 'Look at the rack',
  waterIt: 'Water it',
  feedIt: (food: string) => `Feed ${food}`,
  feedAll: (n: number) => `Feed ${n} bins in one go`,
  askAlerts: 'You put food in. Shall this device remind you tomorrow to look at what is left?',
  askYes: 'Yes, remind me',
  askNo: 'No, I look myself',
  /** A stop of the list as it is read out. */
  stop: (place: string, name: string, parts: string[]) =>
    `${[`${place}, ${name}`, ...parts].filter(Boolean).join('. ')}.`,
}

export const signal = {
  kept: (n: number) => `${count(n, 'entry', 'entries')} kept on this device`,
  noSignal: 'No signal.',
  serverAway: 'The server does not answer.',
  signedOut: 'Signed out.',
  signIn: 'Sign in',
  sending: 'Sending…',
  tryNow: 'Try now',
  allSent: 'Everything is sent.',
  never: 'Not yet in touch with the server.',
  lastSent: (at: string) => `In touch with the server ${at}.`,
  since: (at: string) => `the oldest from ${at}`,
  line: (state: string, kept: string) => `${state} ${kept}.`,
  quiet: (state: string) => `${state} Everything logged so far is sent.`,
  needsALook: (n: number) => `${count(n, 'entry needs', 'entries need')} a look`,
  update: 'A new version is ready.',
  updateNow: 'Use it',
}

export const todo: Record<ChoreSort, string> = {
  feel: 'Feel the damp side',
  leftovers: 'Check leftover food',
  feed: 'Feed',
  leaves: 'Top up leaves',
  renew: 'Renew the substrate',
  look: 'Look in',
  set_up: 'Get ready for the trip',
  escape: 'Look for ways out',
}

export const wants: Record<ChoreSort, string> = {
  feel: 'a feel of the damp side',
  leftovers: 'a look at leftovers',
  feed: 'feeding',
  leaves: 'leaves',
  renew: 'new substrate',
  look: 'a look in',
  set_up: 'getting ready for a trip',
  escape: 'a look for ways out',
}

export const reason = {
  dryNow: (chance: string) => `Damp side dry by now: ${chance}`,
  dryBy: (day: string, chance: string) => `Dry by ${day}: ${chance}`,
  feelBy: (day: string) => `Worth a feel by ${day}`,
  neverFelt: 'Never felt yet: a reading starts its forecast',
  lying: (food: string, span: string, chance: string) =>
    `${capital(food)} for ${span}, ${chance} mouldy by now`,
  lyingClean: (food: string, span: string) => `${capital(food)} for ${span}, hardly any chance of mould yet`,
  lyingMouldy: (food: string, span: string) => `${capital(food)} for ${span}, almost certainly mouldy by now`,
  leftover: 'Food was put in about a day ago',
  feed: 'Due for a meal',
  leaves: (chance: string) => `Leaves bare by now: ${chance}`,
  renew: (months: string) => `Substrate ${months} old`,
  renewUnknown: 'Nobody wrote down when the substrate was new',
  look: (span: string) => `Not opened for ${span}`,
  lookEver: 'Never opened yet, as far as the notebook knows',
}

export const readings: Record<string, string> = {
  dry: 'dry',
  barely: 'barely',
  damp: 'damp',
  soaked: 'soaked',
  'all gone': 'all gone',
  'some left': 'some left',
  untouched: 'untouched',
  none: 'none',
  specks: 'specks',
  furry: 'furry',
  bare: 'bare',
  thin: 'thin',
  plenty: 'plenty',
  fresh: 'fresh',
  mixed: 'mixed',
  'mostly frass': 'mostly frass',
  left: 'left',
  right: 'right',
  front: 'front',
  back: 'back',
  lid: 'lid',
  side: 'wall',
  rectangle: 'cut-out',
  round: 'holes',
  box: 'box',
  us: 'tablespoons, inches, °F',
  metric: 'millilitres, millimetres, °C',
  north: 'north of the equator',
  south: 'south of the equator',
  wet: 'never dry',
  humid: 'humid',
  moderate: 'in between',
  arid: 'dry-leaning',
}

export const said: Record<What, string> = {
  feel: 'Damp side felt',
  water: 'Watered',
  feed: 'Fed',
  leftovers: 'Leftovers',
  leaves: 'Leaves looked at',
  'add leaves': 'Leaves added',
  substrate: 'Substrate looked at',
  renew: 'Substrate renewed',
  young: 'Young seen',
  seen: 'Seen',
  'add wood': 'Wood or bark added',
  escape: 'Ways out checked',
  climate: 'Air read',
  look: 'Looked in',
  note: 'Note',
  photo: 'Photo',
  larder: 'Larder',
  strike: 'Struck',
}

export const amounts = {
  pieces: (n: number) => count(n, 'piece', 'pieces'),
  handfuls: (n: number, written: string) => `${written} ${n > 1 ? 'handfuls' : 'handful'}`,
}

/** One entry as one line of the notebook. */
export const line = {
  feel: (word: string) => `Damp side feels ${word}`,
  water: (dose: string) => `Watered, ${dose}`,
  feed: (food: string, pieces: number, side: string) =>
    `Fed ${food}${pieces > 1 ? `, ${amounts.pieces(pieces)}` : ''}${side ? `, on the ${side} side` : ''}`,
  leftovers: (food: string, left: string, mould: string, removed: boolean) =>
    `${food === '' ? 'Leftovers' : capital(food)}: ${left}${mould && mould !== 'none' ? `, mould: ${mould}` : ''}${removed ? ', taken out' : ''}`,
  leaves: (word: string) => `Leaves: ${word}`,
  addLeaves: (handfuls: string, batch: string) => `Added ${handfuls} of leaves${batch ? ` (${batch})` : ''}`,
  substrate: (word: string) => `Substrate: ${word}`,
  renew: (mix: string) => `Renewed the substrate${mix ? ` (${mix})` : ''}`,
  climate: (parts: string[]) => `Air: ${parts.join(', ')}`,
  look: 'Looked in, all well',
  photo: 'Took a photo',
  larder: (found: string, used: number, added: number) =>
    `Larder: ${[found, used ? `took ${used}` : '', added ? `put in ${added}` : ''].filter(Boolean).join(', ')}`,
  strike: 'Struck an entry',
  seen: (word: string, count: number, place: string) =>
    `Seen: ${word}${count > 0 ? `, about ${count}` : ''}${place ? `, ${place}` : ''}`,
  tight: 'Rim, mesh and lid are tight',
  wayOut: (ways: string[]) => `Way out found: ${ways.join(', ')}`,
}

export const drawing = {
  title: (name: string) => `Section through ${name}`,
  dampSide: { left: 'damp side', right: 'damp side', front: 'damp, front', back: 'damp, back' },
  end: { left: 'left', right: 'right', front: 'front', back: 'back' },
  damp: (end: string, low: number, high: number) =>
    low === high
      ? `Damp from the ${end}, over ${high} % of the floor`
      : `Damp from the ${end}, over ${low} to ${high} % of the floor`,
  dryChance: (chance: string) => `the damp side dry already: ${chance}`,
  leaves: { bare: 'bare of leaves', thin: 'thin leaves', plenty: 'plenty of leaves' },
  soil: { fresh: 'fresh substrate', mixed: 'substrate mixed with frass', frass: 'substrate mostly frass' },
  food: (food: string, span: string, gone: string, mouldy: string) =>
    `${food} for ${span}, eaten: ${gone}, mouldy: ${mouldy}`,
  noFood: 'no food lying',
  lidCut: (n: number, mesh: boolean) =>
    `${count(n, 'cut-out', 'cut-outs')}${mesh ? ' with mesh' : ''} in the lid`,
  lidHoles: (n: number) => `${count(n, 'hole', 'holes')} in the lid`,
  wallCut: (n: number, mesh: boolean) =>
    `${count(n, 'cut-out', 'cut-outs')}${mesh ? ' with mesh' : ''} in the wall`,
  wallHoles: (n: number) => `${count(n, 'hole', 'holes')} in the wall`,
  noVents: 'no vents but the gap of the lid',
  springtails: 'springtails',
  unknown: 'No forecast yet',
}
