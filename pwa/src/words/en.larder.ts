/** The sentences of the larder: leaves, mixes, food and supplies. Part of the catalogue en.ts. */
import type { Doubt, Supply } from '../types'
import { capital, count, list } from './grammar'

const BETWEEN = '\u2013'

export const larder = {
  title: 'Larder',
  foods: 'All foods, and how fast they mould',
  lead: 'What you keep for the bins. Write down what you gather, mix and buy, and each bin’s page can say what went into it, and this page when you run out.',
  add: 'Put something in',
  sorts: { batches: 'Leaves', mixes: 'Substrate mix', stock: 'Food', supplies: 'Supply' },
  headings: { batches: 'Leaves', mixes: 'Substrate mixes', stock: 'Food', supplies: 'Supplies' },
  empty: {
    batches:
      'Gather leaves, write down where and when, heat them, and give the batch a number. If bins go wrong later, you can see which ones got it.',
    mixes:
      'A mix is a recipe and one making of it. Renew a bin with it, and the bin remembers what it stands on.',
    stock: 'Food with a day to use it by. What goes off first is offered first.',
    supplies:
      'Springtail cultures, calcium, spare bins, labels: whatever you would hate to find gone on a Sunday.',
  },
  finished: (n: number) => `Used up (${n})`,
  leavesPace: (amount: string) => `The bins use about ${amount} of leaves a week.`,
  mixPace: (amount: string) => `Renewals take about ${amount} of substrate a month.`,
  next: 'What runs out',
  nextNone: 'Nothing runs out within a year, as far as anybody can say.',
  nextHelp:
    'The bar is when it runs out: with odds of one in ten before its left end, nine in ten before its right. The mark is the even bet.',
  noEngine: 'The forecast is not there yet.',

  left: (amount: string, low: string, high: string) =>
    low === high ? `About ${amount} left` : `About ${amount} left (${low}${BETWEEN}${high})`,
  gone: 'Used up',
  shareLeft: (percent: number) => `About ${percent} % of it left`,
  unknownLeft: 'How much there is was not written down.',
  runsOut: (about: string) => `Runs out about ${about}`,
  runsOutSpan: (about: string, from: string, to: string) =>
    `Runs out about ${about}, between ${from} and ${to}`,
  runsOutOpen: (about: string, from: string) => `Runs out about ${about}, hardly before ${from}`,
  outNow: 'Likely out by now',
  lastsLong: 'Lasts for more than two years at this pace',
  noPace: 'When it runs out shows once a few uses are written down.',
  pace: (amount: string, uses: number) =>
    `At ${amount} a week, from ${uses === 0 ? 'what the bins’ gauges say' : `${count(uses, 'use', 'uses')} and the bins’ gauges`}.`,
  useBy: (day: string) => `Use by ${day}`,
  pastUseBy: (day: string) => `Its day was ${day}: look, smell, and when in doubt leave it out`,
  tooMuch: (day: string) => `At this pace some will be left on ${day}`,
  soon: 'Low',

  doubtful: 'Think twice',
  doubts: {
    sprayed: 'sprayed',
    'spray unknown': 'spraying not known',
    'tree unknown': 'tree not known',
    'place unknown': 'place not known',
    'not heated': 'not heated',
    'heated too little': 'heated less than is usual',
  } satisfies Record<Doubt, string>,
  doubtLine: (doubts: Doubt[]) => capital(list(doubts.map((doubt) => larder.doubts[doubt]))),
  caution(doubts: Doubt[]): string {
    if (doubts.includes('sprayed'))
      return 'Leaves that were sprayed can kill a whole bin. Better keep them out.'
    if (
      doubts.includes('spray unknown') ||
      doubts.includes('tree unknown') ||
      doubts.includes('place unknown')
    )
      return 'Only leaves from known, unsprayed, non-toxic trees are safe. If you are not sure, leave them out.'
    if (doubts.length > 0)
      return 'Leaves that were not heated can bring mites, spiders, snails and worms along.'
    return ''
  },
  useAnyway: 'You can still use it. The bin’s page will show it.',

  // ---- a batch of leaves
  name: 'Name',
  batchName: (n: number) => `Leaves ${n}`,
  tree: 'Tree',
  trees: [
    'Oak',
    'Beech',
    'Hornbeam',
    'Maple',
    'Birch',
    'Alder',
    'Hazel',
    'Lime',
    'Magnolia',
    'Indian almond',
  ],
  place: 'Where from',
  placeHelp: 'A wood, a street, a shop. Away from roads and sprayed fields.',
  gathered: 'Gathered on',
  sprayed: 'Was it sprayed?',
  sprayedWords: { no: 'no', unknown: 'don’t know', yes: 'yes' },
  heated: 'Heated?',
  heatUsual: (temperature: string) => `half an hour at ${temperature}`,
  heatNot: 'not yet',
  heatOther: 'otherwise',
  heatC: 'How hot',
  heatMinutes: 'How long',
  heatCaution:
    'Stay with the oven: dry leaves catch fire. A thin layer on a tray, a little damp, nothing touching the heating rods, a window open. Heated is not sterile: it only thins out what came along. Keep the tray and tools away from your kitchen things.',
  heatPractice: (temperature: string) =>
    `Common practice: ${temperature} for half an hour once it is hot all through.`,
  gatherCaution:
    'Only from trees you know, that are not toxic and that nobody sprays. Not from roadsides, not where gathering is not allowed. Wash your hands after.',
  amount: 'How much',
  units: {
    handfuls: 'handfuls',
    litres: 'litres',
    pieces: 'pieces',
    grams: 'grams',
    cultures: 'cultures',
  } as Record<string, string>,
  unit: 'In',
  note: 'Note',

  // ---- a mix
  mixName: 'House mix',
  parts: 'What is in it',
  partsHelp: 'Parts by volume: 4, 2 and 1 is fine.',
  part: 'Ingredient',
  share: 'Parts',
  partOf: (percent: number) => `${percent} %`,
  fromBatch: 'From leaf batch',
  noBatch: 'none',
  addPart: 'Another ingredient',
  removePart: (name: string) => `Leave out ${name || 'this ingredient'}`,
  ingredients: [
    'Flake soil',
    'Leaf mould',
    'Rotten white wood',
    'Coco fibre',
    'Topsoil without fertiliser',
    'Sphagnum moss',
    'Charcoal',
    'Sand',
    'Crushed limestone',
    'Leaves, crushed',
  ],
  mixed: 'Mixed on',
  volume: 'How much in all',
  mixCaution:
    'Mould and frass dust irritate: dampen it first, keep the air moving, and wear a mask if you have asthma or a weak immune system. Old substrate never goes outdoors.',
  again: 'Mix it again',

  // ---- food
  food: 'Which food',
  moreFoods: 'Other foods…',
  useByLabel: 'Use by',
  useByChips: [
    { days: 2, text: 'in 2 days' },
    { days: 7, text: 'in a week' },
    { days: 30, text: 'in a month' },
    { days: 0, text: 'keeps' },
  ],
  useByDay: 'Another day',
  kept: 'Kept',
  keptWords: { shelf: 'on the shelf', fridge: 'in the fridge', freezer: 'in the freezer' },
  foodCaution:
    'Shrimp, fish and shell can set off a shellfish allergy: wear gloves. Wash what you feed, and keep the knife and board apart from your own.',

  // ---- supplies
  supply: 'What is it',
  classes: {
    springtails: 'springtails',
    calcium: 'calcium',
    leaves: 'leaves',
    'wood and moss': 'wood and moss',
    substrate: 'substrate',
    bins: 'spare bins',
    labels: 'labels',
    other: 'something else',
  } satisfies Record<Supply['class'], string>,
  supplyNames: {
    springtails: 'Springtail culture',
    calcium: 'Cuttlebone',
    leaves: 'Bought leaves',
    'wood and moss': 'Rotten wood',
    substrate: 'Bag of soil',
    bins: 'Spare bins',
    labels: 'Label paper',
    other: '',
  } satisfies Record<Supply['class'], string>,
  supplyUnits: {
    springtails: 'cultures',
    calcium: 'pieces',
    leaves: 'handfuls',
    'wood and moss': 'pieces',
    substrate: 'litres',
    bins: 'pieces',
    labels: 'pieces',
    other: 'pieces',
  } satisfies Record<Supply['class'], NonNullable<Supply['unit']>>,
  lasts: 'How long does that usually last?',
  lastsChips: [
    { days: 14, text: 'two weeks' },
    { days: 60, text: 'two months' },
    { days: 180, text: 'half a year' },
    { days: 0, text: 'no idea' },
  ],
  supplyCaution:
    'Never release animals, cultures or used substrate outdoors. Sending or carrying animals, leaves or soil elsewhere may need a permit: ask your authority.',

  // ---- the page of one thing
  back: 'Larder',
  save: 'Keep it',
  saved: (name: string) => `${name} is in the larder.`,
  changed: 'Changed.',
  cancel: 'Back',
  edit: 'Change',
  finish: 'It is used up',
  finishOn: (day: string) => `Used up on ${day}`,
  unfinish: 'There is some left',
  remove: 'Remove',
  removeSure: (name: string) => `Remove ${name}? The entries that name it stay.`,
  removed: 'Removed.',
  take: 'Took one',
  putIn: 'Put one in',
  forBin: 'For bin',
  noBin: 'no bin',
  took: (name: string) => `Took one: ${name}`,
  put: (name: string) => `Put one in: ${name}`,
  look: 'A look in the box',
  lookWords: { 'nearly out': 'nearly out', low: 'low', enough: 'enough' },
  looked: (name: string, word: string) => `${name}: ${word}`,
  where: {
    batches: 'Which bins got it',
    mixes: 'Which bins stand on it',
    stock: 'Where it went',
    supplies: 'Where it went',
  },
  nowhere: 'Nowhere yet.',
  bins: (n: number) => count(n, 'bin', 'bins'),
  through: (mix: string) => `in ${mix}`,
  goneBin: 'a bin that is gone',
  noSuch: 'This is not in the larder any more.',
  facts: {
    tree: 'Tree',
    place: 'From',
    gathered: 'Gathered',
    sprayed: 'Sprayed',
    heated: 'Heated',
    started: 'Begun',
    mixed: 'Mixed',
    kept: 'Kept',
    got: 'Since',
    note: 'Note',
  },
  heatedFact: (temperature: string, minutes: number) =>
    `${temperature}, ${count(minutes, 'minute', 'minutes')}`,
  heatedNot: 'no',

  // ---- at the stop
  from: 'From',
  unnamed: 'not named',
  mixAtStop: 'With',

  // ---- on a bin's page
  wentIn: 'What went in',
  wentInNone: 'No leaf batch or mix was named for this bin yet. Choose one when you add leaves or renew.',
  before: (day: string) => `In the 60 days before ${day}`,
  beforeHelp:
    'If this bin goes wrong, look here first: what went in before, and which other bins got the same.',
  beforeDay: 'Before',
  beforeNone: 'Nothing from the larder went in then.',
  others: (n: number) =>
    n === 0 ? 'no other bin got it' : `${count(n, 'other bin', 'other bins')} got it too`,
  showAll: (n: number) => `All ${n}`,
}

/** Amounts in a thing's own unit, as people say them. */
export function rounded(n: number, unit = ''): string {
  if (unit === 'grams') return String(n < 20 ? Math.round(n) : Math.round(n / 5) * 5)
  const halves = String(n < 10 ? Math.round(n * 2) / 2 : Math.round(n))
  return halves.replace(/^0\.5$/, '½').replace('.5', '½')
}

const ONE: Record<string, string> = {
  handfuls: 'handful',
  litres: 'litre',
  pieces: 'piece',
  grams: 'gram',
  cultures: 'culture',
}

export function amountOf(n: number, unit = ''): string {
  const text = rounded(n, unit)
  return [text, text === '1' || text === '½' ? (ONE[unit] ?? unit) : unit].filter(Boolean).join('\u00a0')
}
