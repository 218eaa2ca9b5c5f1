/** The words of the Kinds page. Part of the catalogue; loaded with that page. */
import { count } from './grammar'

export const kinds = {
  title: 'Kinds',
  lead: 'What each kind usually wants, and where that was read. They are starting points: your bins know better, and what you change stays yours.',
  find: 'Find a kind',
  none: 'No kind is like that.',
  add: 'Add a kind of your own',
  own: 'yours',
  edited: (n: number) => `${count(n, 'value', 'values')} yours`,
  isopods: 'Isopods',
  springtails: 'Springtails',
  inBins: (n: number) => `in ${count(n, 'bin', 'bins')}`,
  gone: 'There is no such kind here.',
  all: 'All kinds',
  edit: 'Change values',
  bins: 'Bins of this kind',
  lines:
    'Trade names and colour forms often are no species. Write them as the line of a bin, in your own words.',
  ownHelp: 'This kind is one of yours. Nothing is known of it but what you wrote.',
  yours: 'Yours.',
  ships: (value: string, source: string) => `Shipped as ${value} (${source}).`,
  putBack: 'Put back',
  putBackOf: (what: string) => `Put back: ${what}`,
  isBack: (what: string) => `${what} is as it shipped.`,
  unknown: 'not known',
  noSource: 'no source given',
  remark: 'Remark',
}

/** Values of a kind: what they are called, and what they mean. */
export const values: Record<string, string> = {
  moisture: 'Moisture',
  air: 'Air through the lid',
  temperature: 'Temperature',
  brood: 'Young a brood',
  eggs: 'Eggs a batch',
  brood_days: 'From laying to young, near 22 °C',
  maturity: 'From young to breeding',
  appetite: 'Appetite for protein',
  climbs: 'Climbs',
  guards: 'Guards its brood',
}

export const worded = {
  range: (low: string, high: string, unit: string) =>
    `${low === high ? low : `${low} to ${high}`}${unit ? ` ${unit}` : ''}`,
  moisture: {
    wet: 'never dry',
    humid: 'humid, a small dry corner',
    moderate: 'one damp side, one dry side',
    arid: 'dry-leaning, a damp corner',
  } as Record<string, string>,
  air: {
    closed: 'a loose lid, no holes',
    little: 'a few small holes',
    moderate: 'holes or a small cut-out',
    much: 'a large cut-out and holes in the sides',
  } as Record<string, string>,
  appetite: (n: number) => (n < 1.3 ? 'little' : n < 1.8 ? 'little to some' : n < 2.5 ? 'some' : 'much'),
  climbs: (yes: boolean) => (yes ? 'readily: watch stems that reach the rim' : 'not much'),
  guards: (yes: boolean) => (yes ? 'yes: disturb a guarded corner as little as you can' : 'no'),
  animal: { isopod: 'isopod', springtail: 'springtail' } as Record<string, string>,
}

export const kindForm = {
  title: (name: string) => `Change ${name}`,
  newTitle: 'A kind of your own',
  name: 'Name',
  nameHint: 'A scientific name if you are sure of it; else what you call it.',
  animal: 'Animal',
  source: 'Remark or source',
  sourceHint: 'Where your values come from, in your own words.',
  least: (what: string) => `${what}, least`,
  most: (what: string) => `${what}, most`,
  save: 'Save the kind',
  saved: (name: string) => `${name} is saved.`,
  remove: 'Take it off the list',
  removed: (name: string) => `${name} is off the list.`,
  inUse: (n: number) => `${count(n, 'bin is', 'bins are')} of this kind; give those another first.`,
  look: 'Look at the marked fields.',
}

/** Said where somebody may think of letting animals go or sending them. */
export const cautions = {
  title: 'Before any leave your room',
  list: [
    'Never let animals, used substrate or leaves from a bin go outdoors, not even where a kind lives wild: strains, mites and moulds travel with them. Freeze surplus for several days before you throw it away.',
    'Keeping, moving, sending or bringing in live animals may need a permit or be forbidden where you live or where they go. Rules differ by place and change; ask your plant health or wildlife authority first.',
    'This app gives no clearance and knows no legal lists. Local rules come before anything that it says.',
  ],
}
