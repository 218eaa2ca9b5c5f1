/** The sentences of the Away page. Part of the catalogue en.ts. */
import { odds } from './en'
import { capital, count } from './grammar'

export const away = {
  title: 'Away',
  lead: 'Say when you leave and come back. Each bin is reckoned through to your return, and whoever looks in gets as few visits and as few lids as it takes.',
  ownerOnly: 'The owner of the room plans trips. You can read them here.',
  plan: 'Plan a trip',
  another: 'Plan another trip',
  others: 'Other trips',
  thinking: 'Reckoning through to your return…',
  noEngine: 'The forecast is not there yet.',

  when: 'The trip',
  name: 'Name',
  usualName: 'Away',
  leaves: 'Leaving',
  returns: 'Back',
  days: 'When could somebody come?',
  daysHelp: 'Touch the days. None is fine too: then the room is reckoned without visits.',
  every: 'Any day',
  none: 'No day',
  hours: 'Between',
  and: 'and',
  sitter: 'Who comes',
  call: 'Whom to call if something is wrong',
  bins: 'Bins that the trip is about',
  binsHelp:
    'All of them, unless you untick some. What is not ticked is not reckoned and not on the sitter’s list.',
  binsSome: (n: number, all: number) => `${n} of ${all}`,
  binsNone: 'Tick at least one bin.',
  allBins: 'All bins',
  noBin: 'No bin',
  closed: 'Bins that a sitter should leave shut',
  closedHelp: 'Broods being guarded, fresh young. They are opened only if there is no other way.',
  save: 'Keep this trip',
  saved: 'Trip kept.',
  change: 'Change the trip',
  remove: 'Remove the trip',
  removeSure: 'Remove this trip?',
  removed: 'Trip removed.',
  back: 'Back to the trip as it was',
  unsaved: 'Not kept yet: this is only a try.',
  span: (from: string, to: string, days: number) => `${from} to ${to}, ${count(days, 'day', 'days')}`,
  order: 'The day of coming back lies before the day of leaving.',
  tooLong: (days: number) => `At most ${days} days can be reckoned.`,

  verdictTitle: 'Will the room last?',
  verdicts(lasts: number, setUp: number, visits: number): string {
    const all = lasts + setUp + visits
    if (lasts === all) return all === 1 ? 'The bin lasts as it is.' : `All ${all} bins last as they are.`
    const parts = [
      ...(lasts > 0
        ? [`${lasts} ${lasts === 1 ? 'lasts' : 'last'} as ${lasts === 1 ? 'it is' : 'they are'}`]
        : []),
      ...(setUp > 0 ? [`${setUp} once got ready`] : []),
      ...(visits > 0 ? [`${visits} ${visits === 1 ? 'needs' : 'need'} a visit`] : []),
    ]
    return `Of ${count(all, 'bin', 'bins')}, ${parts.join(', ')}.`
  },
  visitsLine: (visits: number, lids: number) =>
    visits === 0
      ? 'Nobody has to come.'
      : `${count(visits, 'visit', 'visits')}, ${count(lids, 'lid', 'lids')} to lift in all.`,
  harmed(n: number): string {
    if (n < 0.05) return 'No bin is expected to dry through.'
    if (n < 0.95) return `That some bin dries through: ${odds.chance(n)}.`
    return `About ${Math.round(n)} of the bins would dry through.`
  },
  late: (n: number) => `For ${count(n, 'bin', 'bins')} nobody can come in time. Another day would help.`,
  verdict: { lasts: 'lasts', 'lasts if set up': 'lasts once got ready', 'needs visits': 'needs a visit' },
  needs: (n: number) => (n <= 1 ? 'needs a visit' : `needs ${n} visits`),
  lateOne: 'nobody can come in time',
  fine: (n: number) => (n === 1 ? '1 bin lasts as it is: show it' : `${n} bins last as they are: show them`),
  parts: 'On this page',
  to: 'to',
  lookIn:
    'No bin needs it; a long trip has a look in between all the same, for what no forecast knows: a lid left ajar, a torn mesh.',
  legend: 'From leaving to coming back. The fuller a day is coloured, the likelier it has dried through.',
  alone: 'left alone',
  planned: 'with the plan',
  readyMark: 'got ready',
  visitMark: 'visit',
  strip: (name: string, alone: string, planned: string, visits: string) =>
    `${name}: dried through before the return if left alone: ${alone}; with the plan: ${planned}.${visits ? ` Opened ${visits}.` : ''}`,

  setUpTitle: 'Before you leave',
  setUpWhen: (day: string) => `${capital(day)}. The Round asks for these when the day comes.`,
  setUpNone: 'Nothing to get ready.',
  or: (words: string[]) => words.join(' or '),
  dose: (words: string, dose: string) => `${words}: ${dose}`,
  nothingIf: (words: string) => `${words}: leave it`,
  addLeaves: (handfuls: string) => `Add ${handfuls} of leaves.`,
  takeOut: (food: string) => `Take out the ${food}.`,
  renewBefore: (was: string, week: string) =>
    `The renewal of ${was} falls into the trip: the year has room for it before, in the week of ${week}.`,
  renewAfter: (was: string, week: string) =>
    `The renewal of ${was} falls into the trip: it can wait for the week of ${week}.`,
  renewMove: (week: string) => `Move it to the week of ${week}`,
  renewMoved: (bin: string, week: string) => `Renewal of ${bin} moved to the week of ${week}.`,
  foodTitle: 'Food to leave',
  food: (name: string) =>
    `${capital(name)} keeps longest here. Anything else would turn before you are back.`,
  foodNone:
    'No fresh food: everything would turn before you are back. Leaves and a calcium source carry them.',
  foodSprings: (name: string) =>
    `With springtails, ${name} may stay. In bins without them, leave no fresh food.`,

  visitsTitle: 'Visits',
  visitsNone: 'No visit is needed.',
  visit: (day: string, from: string, to: string) => `${day}, ${from} to ${to}`,
  stops: (n: number) => count(n, 'lid', 'lids'),
  feel: (end: string) => `Feel the ${end}.`,
  giveFood: (food: string) => `Put in one piece of ${food}.`,
  keepShut: 'Better left shut: only if it must be.',

  underway: 'What the visits made of the plan',
  oddTitle: 'Not as expected',
  odd: (found: string, when: string, chance: string) => `felt ${found} ${when}. That was called: ${chance}.`,
  changedNone: 'The plan stands as it was.',
  visitNew: (day: string) => `A visit on ${day} is new.`,
  visitGone: (day: string) => `The visit on ${day} is no longer needed.`,
  moved: (was: string, now: string) =>
    now === '' ? `no longer on ${was}` : was === '' ? `now on ${now}` : `${now} instead of ${was}`,
  why: {
    found: (found: string) => `since it was felt ${found}`,
    missed: () => 'since nobody opened it when it was its turn',
    air: () => 'since the room’s air, or what other bins teach, is not as it was',
  } as Record<'found' | 'missed' | 'air', (found: string) => string>,
  harmedWas: (n: number) =>
    n < 0.05 ? 'Before that it was the same.' : `Before that: ${odds.chance(Math.min(n, 1))}.`,

  whatIf: 'What if…',
  asWell: (day: string, visits: number, lids: number, before: number) =>
    visits < before
      ? `…they could come on ${day} as well? ${count(visits, 'visit', 'visits')} instead of ${before}, ${count(lids, 'lid', 'lids')}.`
      : `…they could come on ${day} as well? The same number of visits, ${count(lids, 'lid', 'lids')}.`,
  addDay: (day: string) => `Add ${day}`,
  noBetterDay: 'No other day would spare a visit.',
  cold: (temperature: string) => `…the heating fails, and the room falls to ${temperature}?`,
  hot: (temperature: string) => `…a heat wave comes, and the room reaches ${temperature}?`,
  unfit: (n: number) => `${count(n, 'bin', 'bins')} would be outside what their kind bears.`,
  allFit: 'Every kind here bears that.',
  trades: 'Visits against risk',
  tradesHelp: 'Bins that are expected to dry through, by how often somebody comes.',
  tradeVisits: 'Visits',
  tradeLids: 'Lids',
  tradeHarmed: 'Bins dried through',
  tradeHere: 'the plan',
  few: 'below 0.05',

  afterTitle: 'How it went',
  afterScore: (n: number, brier: string) =>
    `Of the forecasts made on leaving, ${count(n, 'has', 'have')} been checked by a finger. Their mean squared error is ${brier}; always saying one in two would have 0.25.`,
  afterNone: 'No bin has been felt since you left. The first feel of each settles its forecast.',
  after: (found: string, told?: string) =>
    told === undefined
      ? `found ${found} (watered before it was felt: no forecast)`
      : `found ${found} (called dry: ${told})`,
  afterUnfelt: 'not felt yet',
  opened: (n: number) => (n === 0 ? 'nobody opened it' : `opened on ${count(n, 'day', 'days')}`),
  word: { dry: 'dry', barely: 'barely damp', damp: 'damp', soaked: 'soaked' } as Record<string, string>,
}
